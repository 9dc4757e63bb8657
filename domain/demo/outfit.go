package demo

import (
	"time"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// Options say what to make up. A zero field takes the value of Ordinary.
type Options struct {
	// Name of the outfit.
	Name string
	// Seed decides everything that is left to chance.
	Seed uint64
	// Location is the outfit's time zone.
	Location *time.Location
	// FirstYear is the year of the first season; a season is a calendar year.
	FirstYear int
	// Seasons is how many seasons follow one another.
	Seasons int
	// Outline is how many of the first seasons are told in outline only: a
	// fifth of the pulls and runs, no loads and no temperature logs.
	Outline int
	// Houses is how many honey houses the outfit has, each with its own yards,
	// tanks and store. Yards, Supers and Runs are those of one house.
	Houses int
	// Yards is how many yards a house works.
	Yards int
	// Supers is how many supers a house pulls in a full season.
	Supers int
	// Runs is how many runs a house extracts in a full season.
	Runs int
	// UnlikeSupers is by how much seasons differ in their supers, as the standard deviation of the logarithm, and
	// UnlikeDays by how many days a season is earlier or later, as a standard deviation. Zero, all are alike.
	UnlikeSupers, UnlikeDays float64
	// Happenings adds, to the first house's last season, what goes wrong in a
	// real one: a correction, a withdrawal, a late entry, a tank overdrawn,
	// flags accepted, a refractometer found wrong, a yard too wet to sell.
	Happenings bool
	// Import marks entries as taken over from older records, so that only the
	// one that shall look late does.
	Import bool
	// ToldInFull has the house say more of itself than the seasons that findings are counted
	// on: the year of its store, a cone under its small tank, and a residue that one buyer asks for.
	ToldInFull bool
}

// Ordinary is an outfit with one house and one full season: about 3,000 supers
// from 30 yards in 60 runs.
func Ordinary(seed uint64) Options {
	return Options{
		Name: "Sedge Hollow Honey", Seed: seed, Location: time.FixedZone("UTC-6", -6*3600),
		FirstYear: 2026, Seasons: 1, Houses: 1, Yards: 30, Supers: 3000, Runs: 60,
	}
}

// Sized is an outfit whose book has about that many entries: ten full seasons
// from 200,000 entries on, one below that.
func Sized(seed uint64, entries int) Options {
	o := Ordinary(seed)
	if entries >= 200_000 {
		o.Seasons, o.FirstYear = 10, 2017
	}
	each := entries / o.Seasons
	o.Houses = max(1, each/entriesPerHouse)
	if o.Houses == 1 {
		share := float64(each-entriesAnyway) / float64(entriesPerHouse-entriesAnyway)
		o.Yards, o.Supers, o.Runs = scaled(o.Yards, share), scaled(o.Supers, share), scaled(o.Runs, share)
	}
	return o
}

// entriesPerHouse is about what one house writes in an ordinary season;
// entriesAnyway of them it writes however little it extracts: checks of
// instruments and logs of the rooms.
const (
	entriesPerHouse = 2250
	entriesAnyway   = 250
)

func scaled(n int, by float64) int { return max(2, int(float64(n)*by+0.5)) }

// Example is the outfit of the demonstration: last year in outline, 2026 in full
// with all that really happens.
func Example(location *time.Location) *Book {
	o := Ordinary(26)
	o.Location = location
	o.FirstYear, o.Seasons, o.Outline = 2025, 2, 1
	o.Happenings, o.Import, o.ToldInFull = true, true, true
	return Outfit(o)
}

func (o Options) filled() Options {
	d := Ordinary(o.Seed)
	put := func(v *int, to int) {
		if *v == 0 {
			*v = to
		}
	}
	put(&o.FirstYear, d.FirstYear)
	put(&o.Seasons, d.Seasons)
	put(&o.Houses, d.Houses)
	put(&o.Yards, d.Yards)
	put(&o.Supers, d.Supers)
	put(&o.Runs, d.Runs)
	if o.Name == "" {
		o.Name = d.Name
	}
	if o.Location == nil {
		o.Location = d.Location
	}
	return o
}

// Book is a made-up outfit's entries, with what was true.
type Book struct {
	Name     string
	Location *time.Location
	// Entries are in the order in which they were recorded. Number, digest and
	// RecordedAt are left to whoever records them.
	Entries []*ledger.Entry
	// Delays says how long after it happened each entry was written down.
	Delays []time.Duration
	Truth  Truth
	// MovedDays is by how many days the book was moved in time, so that its work goes on at a given instant.
	MovedDays int
}

// Truth is what was so, whatever was written down.
type Truth struct {
	// HoneyG is the honey that truly came out of a pull's supers, by pull.
	HoneyG map[ledger.ID]int64
	// MoisturePct is the true moisture of what a reading was taken of, by
	// reading.
	MoisturePct map[ledger.ID]float64
	// LevelG is what a tank truly held when a stocktake was taken, by stocktake.
	LevelG map[ledger.ID]int64
	// PullShares is what of the honey in a container truly came from each pull, 0 to 1,
	// by fill.
	PullShares map[ledger.ID]map[ledger.ID]float64
	// Tanks says, for each reading of a tank and each movement into one, how
	// moist and how full every tank of that house was, by entry.
	Tanks map[ledger.ID][]TankTruth
}

// TankTruth is how a tank stood at an instant.
type TankTruth struct {
	Tank        ledger.ID
	MassG       int64
	MoisturePct float64
	CapacityG   int64
}

// Recorded gives the entries as a book would hold them: numbered, and recorded
// when Delays say.
func (b *Book) Recorded() []*ledger.Entry {
	out := make([]*ledger.Entry, len(b.Entries))
	copies := make([]ledger.Entry, len(b.Entries))
	for i, e := range b.Entries {
		copies[i] = *e
		copies[i].Number = int64(i) + 1
		copies[i].RecordedAt = e.OccurredAt.Add(b.Delays[i])
		out[i] = &copies[i]
	}
	return out
}

// Outfit makes up an outfit and its seasons.
func Outfit(o Options) *Book {
	o = o.filled()
	w := newWriter(o)
	houses := make([]*house, o.Houses)
	shared := setUpOutfit(w, o)
	for i := range houses {
		houses[i] = setUpHouse(w, o, shared, i)
	}
	for s := range o.Seasons {
		for _, h := range houses {
			newSeason(h, s).tell()
		}
	}
	return w.book()
}

// idSpace is the name space of all made-up ids.
var idSpace = uuid.NewSHA1(uuid.NameSpaceURL, []byte("urn:pullbook:invented"))
