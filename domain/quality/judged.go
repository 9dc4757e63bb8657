package quality

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"strconv"
	"sync"
	"time"

	"github.com/hashicorp/golang-lru/v2/simplelru"

	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// Judged keeps what lots came to on a day, each by all that was looked at to find it. So an
// entry has only those lots judged again that it says something of. It holds no figure of its
// own: with everything forgotten, every answer is the same. Any number of goroutines may use
// it at once; nobody may change what it keeps.
type Judged struct {
	mu sync.Mutex
	// found are answers, those that nobody asked for longest go first.
	found *simplelru.LRU[lookedAt, judged]
	// sets are how many rule sets the answers are by, all together.
	sets int
}

// judged is an answer by some rule sets.
type judged struct {
	answer any
	sets   int
}

// mostJudged bounds what is kept, in rule sets that answers are by. Of a lot whose figures age,
// one takes some 300 bytes (measured), so that all take some 40 MB.
const mostJudged = 1 << 17

// NewJudged keeps nothing yet.
func NewJudged() *Judged {
	j := new(Judged)
	j.found, _ = simplelru.NewLRU(mostJudged, func(_ lookedAt, had judged) { j.sets -= had.sets }) // fails for no size at all only
	return j
}

// Forget throws all of it away.
func (j *Judged) Forget() {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.found.Purge()
}

func (j *Judged) get(key lookedAt) (any, bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	had, known := j.found.Get(key)
	return had.answer, known
}

func (j *Judged) keep(key lookedAt, answer any, sets int) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.found.Remove(key) // another reader may have found it meanwhile
	j.found.Add(key, judged{answer, sets})
	for j.sets += sets; j.sets > mostJudged; {
		j.found.RemoveOldest()
	}
}

// DayOf is DayOf, but that what is kept of a lot is taken, and kept.
func (j *Judged) DayOf(b *ledger.Book, on standard.Date) *Day {
	d := DayOf(b, on)
	d.judged = j
	return d
}

// lookedAt is a digest of all that is looked at to answer something.
type lookedAt [sha256.Size]byte

// asKept returns what is kept of a question about a lot on the day, by rule sets, or else what
// work makes of it.
func asKept[T any](d *Day, question string, lot ledger.ID, sets []ledger.Resolved, work func() (T, error)) (T, error) {
	if d.judged == nil {
		return work()
	}
	l := looking{}
	l.text(question)
	l.room = append(l.room, d.lookedAt(lot)...)
	for _, set := range sets {
		l.text(set.ID)
		l.whole(int64(set.Version))
		l.entry(d.book, set.Entry)
	}
	key := lookedAt(sha256.Sum256(l.room))
	if had, known := d.judged.get(key); known {
		return had.(T), nil
	}
	made, err := work()
	if err == nil {
		d.judged.keep(key, made, 1+len(sets))
	}
	return made, err
}

// looking writes down what is looked at, so that two that differ in anything read differently.
type looking struct{ room []byte }

func (l *looking) text(s string) {
	l.room = append(binary.AppendUvarint(l.room, uint64(len(s))), s...)
}

func (l *looking) id(id ledger.ID) { l.room = append(l.room, id[:]...) }

func (l *looking) entry(b *ledger.Book, id ledger.ID) {
	l.id(id)
	if e, _ := b.Entry(id); e != nil {
		l.room = append(l.room, e.Digest[:]...)
	}
}

func (l *looking) whole(n int64) { l.room = binary.LittleEndian.AppendUint64(l.room, uint64(n)) }

func (l *looking) number(v float64) { l.whole(int64(math.Float64bits(v))) }

// perhaps writes a figure that may be missing.
func (l *looking) perhaps(v *float64) {
	l.text(strconv.FormatBool(v != nil))
	if v != nil {
		l.number(*v)
	}
}

func (l *looking) instant(at time.Time) {
	if at.IsZero() {
		l.whole(math.MinInt64)
		return
	}
	l.whole(at.UnixMicro())
}

// lookedAt is a digest of what is read of a lot.
func (d *Day) lookedAt(lot ledger.ID) []byte {
	return digestOnce(d.lots, d.book.Root(lot), func(l *looking) { l.lot(d, lot) })
}

// store is a digest of what the climate of a store is read from.
func (d *Day) store(store ledger.ID) []byte {
	root := d.book.Root(store)
	return digestOnce(d.stores, root, func(l *looking) {
		l.id(root)
		if room := ledger.Named[ledger.Room](d.book, root); room != nil { // also of one that was withdrawn
			l.text(room.Name)
			l.perhaps(room.UsualTemperatureC)
			l.perhaps(room.ColdestMonthMeanC)
			l.perhaps(room.WarmestMonthMeanC)
			l.whole(int64(room.WarmestMonth))
		}
		for _, p := range d.climate.logged(root) {
			l.instant(p.At)
			l.number(p.TemperatureC)
		}
	})
}

func digestOnce(of map[ledger.ID][]byte, id ledger.ID, write func(*looking)) []byte {
	digest, known := of[id]
	if !known {
		l := looking{}
		write(&l)
		sum := sha256.Sum256(l.room)
		digest = sum[:]
		of[id] = digest
	}
	return digest
}

// lot writes down what Gather and FermentationOf read of a lot: the day, the lot as it stands,
// its containers with what is in them, its readings and the climate of its store. What an entry
// says never changes, so its ID and its digest stand for it: of two outfits either may have an
// entry of the same ID that says something else.
func (l *looking) lot(d *Day, lot ledger.ID) {
	b := d.book
	until := endOf(d.on, b.Location())
	l.text(string(d.on))
	l.text(b.Location().String())
	l.id(b.Root(lot))
	basis := b.Basis(lot, until)
	l.entry(b, basis.Lot)
	l.whole(int64(len(basis.Fills)))
	for _, fill := range basis.Fills {
		l.container(b, fill, until)
	}
	l.whole(int64(len(basis.Readings)))
	for _, reading := range basis.Readings {
		l.entry(b, reading)
		if e, _ := b.Entry(reading); e != nil { // its container may be filled on a later day
			l.text(b.Name(e.Body.(*ledger.Reading).On.ID))
		}
	}
	if e := b.InForce(lot); e != nil && e.Kind == ledger.KindLot {
		l.room = append(l.room, d.store(e.Body.(*ledger.Lot).StoreID)...)
	}
}

func (l *looking) container(b *ledger.Book, fill ledger.ID, until time.Time) {
	l.id(b.Root(fill))
	l.text(b.Name(fill))
	l.instant(b.LastFilled(fill, until))
	h, _ := b.State().Holder(fill)
	l.whole(h.Grams)
	l.number(h.Belief.Moisture.Mean)
	l.number(h.Belief.Moisture.Variance)
	l.text(strconv.FormatBool(b.State().CameFermenting(fill)))
	m, layers := tankReading(b, fill)
	if m == nil {
		m = &ledger.MoistureReading{Pct: math.Inf(-1)} // which no reading is
	}
	l.number(m.Pct)
	l.number(m.StdUncertaintyPct)
	l.number(layers)
}

// Answer is what a rule set says of a lot.
type Answer struct {
	Outcome standard.Outcome
	Grade   string
}

// Answers holds a lot against rule sets on the day, by simple acceptance, in the order of the
// sets.
func (d *Day) Answers(lot ledger.ID, sets []ledger.Resolved) ([]Answer, error) {
	return asKept(d, "answers", lot, sets, func() ([]Answer, error) {
		evidence, err := d.Evidence(lot)
		if err != nil {
			return nil, err
		}
		out := make([]Answer, len(sets))
		for i, set := range sets {
			check, err := set.Check(evidence, d.on, standard.SimpleAcceptance())
			if err != nil {
				return nil, err
			}
			out[i] = Answer{check.Outcome, check.Grade}
		}
		return out, nil
	})
}
