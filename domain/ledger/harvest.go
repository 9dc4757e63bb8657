package ledger

import (
	"slices"
	"sort"
	"time"
)

// Allocation says how the honey of a run was shared among pulls.
type Allocation string

const (
	// Weighed: by the net weight of the boxes, all of which were weighed.
	Weighed Allocation = "weighed"
	// SharedOut: by supers times the usual net weight of their kind.
	SharedOut Allocation = "shared out"
	// OnePull: all of it came from one pull.
	OnePull Allocation = "one pull"
	// NoSupers: no supers were booked into the run.
	NoSupers Allocation = "no supers booked"
)

// Harvest is where a run's honey came from.
type Harvest struct {
	Mix *Mix
	How Allocation
	// FullG is the most that the boxes could hold.
	FullG int64
}

// Harvest says where a run's honey came from. What went into the run counts
// whenever it was written down.
func (b *Book) Harvest(run ID) Harvest {
	root := b.rootID(run)
	if r := b.runs[root]; r != nil {
		return r.Harvest
	}
	return Harvest{Mix: pure(root), How: NoSupers}
}

// share brings up to date what is worked out from the index: how runs are shared out
// and what places' temperatures come to.
func (b *Book) share() {
	b.shareStale()
	b.setMeters()
}

// shareStale shares out the honey of the runs of which something changed.
func (b *Book) shareStale() {
	for _, r := range b.stale {
		r.Harvest = b.shareOut(r)
	}
	b.stale = nil
}

// shareOut splits a run's honey among the pulls whose supers went in: by the
// net weight of their boxes where all were weighed, else by what their boxes
// usually hold.
func (b *Book) shareOut(r *runFacts) Harvest {
	h := Harvest{How: Weighed}
	usual := map[ID]float64{}
	for _, f := range r.supers {
		s := f.Body.(*RunSupers)
		if kind := body[SuperKind](b, s.SuperKindID); kind != nil {
			usual[b.rootID(s.PullID)] += float64(s.Supers) * float64(kind.UsualNetG)
			h.FullG += int64(s.Supers) * kind.FullestNetG
		}
	}
	weights := make(map[ID]float64, len(usual))
	r.shouldG = 0
	for _, f := range r.supers {
		r.shouldG += b.superG(f.Body.(*RunSupers))
	}
	for pull, w := range usual {
		fullness := b.netPerUsual(pull)
		if fullness == 0 {
			h.How, weights = SharedOut, usual
			break
		}
		weights[pull] = w * fullness
	}
	if h.Mix = mixOf(weights); h.Mix == nil {
		h.Mix, h.How = pure(r.id), NoSupers
	} else if len(h.Mix.Parts) == 1 {
		h.How = OnePull
	}
	return h
}

// superG is what supers should give, in grams: by weight where their pull was
// weighed, else what they usually hold.
func (b *Book) superG(s *RunSupers) float64 {
	kind := body[SuperKind](b, s.SuperKindID)
	if kind == nil {
		return 0
	}
	usual := float64(s.Supers) * float64(kind.UsualNetG)
	if full := b.netPerUsual(s.PullID); full > 0 {
		return usual * full
	}
	return usual
}

// netPerUsual is a pull's weighed honey over what its supers usually hold; 0
// where it was not weighed, or weighs less than its empty boxes.
func (b *Book) netPerUsual(pull ID) float64 {
	p := body[Pull](b, pull)
	if p == nil || p.GrossG == 0 {
		return 0
	}
	net, usual := p.GrossG, int64(0)
	for _, c := range p.Supers {
		if k := body[SuperKind](b, c.SuperKindID); k != nil {
			net -= int64(c.Supers) * k.TareG
			usual += int64(c.Supers) * k.UsualNetG
		}
	}
	if net <= 0 || usual == 0 {
		return 0
	}
	return float64(net) / float64(usual)
}

// mixOf makes shares of weights; nil where they come to nothing.
func mixOf(weights map[ID]float64) *Mix {
	parts := make([]Part, 0, len(weights))
	for o, w := range weights {
		if w > 0 {
			parts = append(parts, Part{o, w})
		}
	}
	if len(parts) == 0 {
		return nil
	}
	slices.SortFunc(parts, func(a, b Part) int { return slices.Compare(a.Origin[:], b.Origin[:]) })
	return &Mix{toOne(parts)}
}

// harvest is the make-up of what comes out of a run.
func (s *State) harvest(f *fact, run grip, grams int64) *Mix {
	h := s.book.Harvest(run.Place.ID)
	switch {
	case h.How == NoSupers:
		s.flag(Flag{Code: RunWithoutSupers, Entry: f.root.ID, On: run.Place, Unit: "kg",
			Found: kg(run.OutG), MassG: grams})
	case run.OutG > h.FullG:
		s.flag(Flag{Code: RunTooRich, Entry: f.root.ID, On: run.Place, Unit: "kg",
			Expected: kg(h.FullG), Found: kg(run.OutG), MassG: run.OutG - h.FullG})
	}
	return h.Mix
}

func (s *State) runSupers(f *fact, r *RunSupers) {
	key := superKey{s.book.rootID(r.PullID), s.book.rootID(r.SuperKindID)}
	put(s, s.used, key, s.used[key]+r.Supers)
	if left := s.SupersLeft(r.PullID, r.SuperKindID); left < 0 {
		var mass int64
		if k := body[SuperKind](s.book, r.SuperKindID); k != nil {
			mass = int64(-left) * k.UsualNetG
		}
		s.flag(Flag{Code: SupersOverrun, Entry: f.root.ID, On: Place{PlacePull, key.pull}, Unit: "supers",
			Expected: float64(left + r.Supers), Found: float64(r.Supers), MassG: mass})
	}
}

// quickestLoad is the least time between two loads of a sixty-frame extractor;
// common practice is ten minutes and more of spinning alone.
const quickestLoad = 6 * time.Minute

func (s *State) load(f *fact, l *Load) {
	run := s.book.rootID(l.RunID)
	number, frames := loadKey{run, l.Load, -1, -1}, loadKey{run, -1, l.FramesLeft, l.FramesRight}
	var twin *fact
	if same := s.loads[number]; len(same) > 0 {
		twin = same[0]
	}
	alike := s.loads[frames]
	soon := sort.Search(len(alike), func(i int) bool { return f.at-alike[i].at < quickestLoad.Microseconds() })
	if soon < len(alike) && (twin == nil || order(alike[soon], twin) < 0) {
		twin = alike[soon]
	}
	if twin != nil {
		s.flag(Flag{Code: LoadTwice, Entry: f.root.ID, On: Place{PlaceRun, run}, Unit: "min",
			Expected: quickestLoad.Minutes(), Found: f.OccurredAt.Sub(twin.OccurredAt).Minutes(), MassG: 0})
	}
	for _, key := range []loadKey{number, frames} {
		put(s, s.loads, key, append(s.loads[key], f))
	}
}

// pullSlack is how far a pull's gross may pass what its boxes hold before it
// is odd: scales and boxes differ.
const pullSlack = 1.02

func (s *State) pull(f *fact, p *Pull) {
	if p.GrossG == 0 {
		return
	}
	var tare, usual, fullest int64
	for _, c := range p.Supers {
		k := body[SuperKind](s.book, c.SuperKindID)
		if k == nil {
			return
		}
		tare += int64(c.Supers) * k.TareG
		usual += int64(c.Supers) * (k.TareG + k.UsualNetG)
		fullest += int64(c.Supers) * (k.TareG + k.FullestNetG)
	}
	flag := Flag{Entry: f.root.ID, On: Place{PlacePull, f.root.ID}, Unit: "kg", Expected: kg(usual), Found: kg(p.GrossG)}
	switch {
	case looksLikePounds(float64(p.GrossG) / float64(usual)):
		flag.Code, flag.MassG = PoundsForKilograms, abs(p.GrossG-usual)
	case float64(p.GrossG) > pullSlack*float64(fullest):
		flag.Code, flag.Expected, flag.MassG = PullTooHeavy, kg(fullest), p.GrossG-fullest
	case p.GrossG < tare:
		flag.Code, flag.Expected, flag.MassG = PullTooLight, kg(tare), usual-p.GrossG
	default:
		return
	}
	s.flag(flag)
}

// looksLikePounds reports whether a weight over the usual is near the number of
// pounds in a kilogram, or its inverse.
func looksLikePounds(ratio float64) bool {
	return 1.98 < ratio && ratio < 2.43 || 0.41 < ratio && ratio < 0.50
}

// nearGross is how near to the usual gross a net must be to look like one.
const nearGross = 4000

// filledKgPerL is what containers hold by their volume when they are full as usual: a
// drum of 208 L 295 kg, a pail of 20 L 27 kg (common practice).
const filledKgPerL = 1.4

// usualNetG is what a container of the kind usually holds, by its volume where nobody
// said so.
func (k *ContainerKind) usualNetG() int64 {
	if k.UsualNetG > 0 {
		return k.UsualNetG
	}
	return int64(filledKgPerL * float64(k.VolumeML))
}

func (s *State) oddFill(f *fact, fill *Fill) {
	k := body[ContainerKind](s.book, fill.ContainerKindID)
	if k == nil {
		return
	}
	net, usual := fill.NetG(), k.usualNetG()
	flag := Flag{Entry: f.root.ID, On: Place{PlaceContainer, f.root.ID}, Unit: "kg",
		Expected: kg(usual), Found: kg(net), MassG: abs(net - usual)}
	switch {
	case looksLikePounds(float64(net) / float64(usual)):
		flag.Code = PoundsForKilograms
	case k.UsualNetG > 0 && k.TareG > nearGross && abs(net-k.UsualNetG-k.TareG) <= nearGross:
		flag.Code = GrossAsNet
	default:
		return
	}
	s.flag(flag)
}

// Ordinary moisture of honey, percent by mass; outside it a reading is looked
// at twice (common practice; a survey of 1,063 honeys ran from 13.4 to 26.6:
// Crane 1980).
const (
	driestOrdinary  = 14.5
	wettestOrdinary = 21.0
)

func (s *State) reading(f *fact, r *Reading) {
	if m := r.Moisture; m != nil && (m.Pct < driestOrdinary || m.Pct > wettestOrdinary) {
		flag := Flag{Code: MoistureUnusual, Entry: f.root.ID, On: r.On, Unit: "%", Expected: driestOrdinary, Found: m.Pct}
		if m.Pct > wettestOrdinary {
			flag.Expected = wettestOrdinary
		}
		if h, ok := s.Holder(r.On.ID); ok {
			flag.MassG = h.Grams
		}
		s.flag(flag)
	}
	if len(r.Measured) > 0 || r.AnalysedOn != "" || r.On.Kind == PlaceLot {
		s.widely() // what was measured before, or filled, counts
	}
	s.oddInstrument(f, r)
	s.oddResults(f, r)
	s.analysedTooEarly(f, r)
}

func abs(x int64) int64 {
	if x < 0 {
		return -x
	}
	return x
}
