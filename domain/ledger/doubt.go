package ledger

import (
	"bytes"
	"cmp"
	"math"
	"slices"

	"pullbook/domain/estimate"
)

// Explanation is what may lie behind something odd.
type Explanation struct {
	Why   Why
	Place Place
	// Entry is the entry that would be wrong, where it is another than the one
	// that the flag is about.
	Entry ID
	// Value is the figure that would fit, where there is one.
	Value float64
}

// Why names an explanation.
type Why string

const (
	// OtherTank: the reading fits another tank: it was booked to the wrong one,
	// or a hose was on the wrong one.
	OtherTank Why = "fits_another_tank"
	// DigitSlip: two digits changed places.
	DigitSlip Why = "digits_swapped"
	// OtherRun: it belongs to the run that is Place, which lacks as much.
	OtherRun Why = "of_another_run"
	// Layers: the sample was not like the rest.
	Layers Why = "not_mixed"
	// HoseElsewhere: what Entry booked into this tank went into another.
	HoseElsewhere Why = "hose_on_another_tank"
	// HoseHere: what Entry booked into Place went into this tank.
	HoseHere Why = "hose_on_this_tank"
	// DrawnElsewhere: it was drawn from Place, which had enough.
	DrawnElsewhere Why = "drawn_from_another_tank"
	// Pounds: pounds were written down as kilograms, or the other way round.
	Pounds Why = "pounds_for_kilograms"
	// Twice: the same was written down twice.
	Twice Why = "entered_twice"
	// NotBooked: something was not written down: honey moved, or supers of Place.
	NotBooked Why = "not_written_down"
	// TooManyBooked: more supers were booked into it than went in.
	TooManyBooked Why = "more_written_down"
	// TareInNet: the container's own weight was counted as honey.
	TareInNet Why = "tare_counted_as_honey"
	// NotFull: the container was not filled.
	NotFull Why = "not_full"
)

// mostExplanations is how many explanations a flag carries.
const mostExplanations = 3

// Unfitting is from how many standard deviations on a reading does not fit what
// the book expects: of good readings one in 370 would lie beyond.
const Unfitting = 3.0

// Fitting is up to how many it does.
const Fitting = 1.5

// believe holds a reading against what the book expects of the honey, and lets
// it correct that.
func (s *State) believe(f *fact, r *Reading) {
	root := s.book.at(r.On.ID)
	if root == nil {
		return
	}
	if r.Moisture != nil {
		if trust, _ := s.book.Trust(r.InstrumentID, f.OccurredAt); trust != Trusted {
			s.flag(Flag{Code: InstrumentDoubtful, Entry: f.root.ID, On: r.On, Unit: "%", Found: r.Moisture.Pct})
		}
	}
	switch root.Kind {
	case KindTank, KindFill:
		switch h := s.looks(root); {
		case h.Grams > 0:
			s.correct(f, r, s.touch(root), true)
		case root.Kind == KindTank && root.subject.(*Tank).Use != Sump: // through a sump honey only passes
			s.flag(s.readEmpty(f, r, root))
		}
	case KindLot:
		s.besideLot(f, r, root)
		for _, fill := range s.book.fills[root.ID] {
			if s.holders[fill.root.slot].Grams > 0 {
				s.correct(f, r, s.touch(fill.root), false)
			}
		}
	case KindRun, KindPull:
		s.beside(f, r, root)
	}
}

// correct lets a reading correct what the book expects of one holder's honey.
func (s *State) correct(f *fact, r *Reading, h grip, say bool) {
	s.warm(h, f.at)
	if r.Moisture != nil {
		s.byLayers()
		instrument, sample := s.book.instrumentVariance(f, r), sampleVariance(r, s.layers.of(h.root))
		e := h.Belief.water.Held
		off, sd := r.Moisture.Pct-e.Mean, math.Sqrt(e.Variance+instrument+sample)
		water, verdict := h.Belief.water.take(r.Moisture.Pct, instrument, sample)
		switch {
		case verdict == estimate.Against && say:
			s.flag(s.unfitting(f, r, h, sd))
		case verdict == estimate.Fits:
			s.learnt(h.root, r, off*off, e.Variance+instrument, sample)
			s.learntFrames(h.Belief.water.frames, off*off, sd*sd)
		}
		h.Belief = h.Belief.with(water)
	}
	for _, m := range r.Measured {
		if odd := s.correctLaboratory(h, m); odd != nil {
			odd.Entry, odd.On = f.root.ID, r.On
			s.flagOnce(*odd)
		}
	}
}

// besideLot holds a reading of a lot against what the book expects of its containers
// that are here, together.
func (s *State) besideLot(f *fact, r *Reading, lot *fact) {
	s.widely()
	if r.Moisture == nil {
		return
	}
	all := Holder{Place: Place{PlaceLot, lot.ID}}
	for _, fill := range s.book.fills[lot.ID] {
		if h := &s.holders[fill.root.slot]; h.Grams > 0 {
			all.Belief = mixed(all.Belief, all.Grams, h.Belief, h.Grams, false)
			all.Grams += h.Grams
		}
	}
	if all.Grams == 0 {
		return
	}
	variance := s.book.instrumentVariance(f, r) + sampleVariance(r, s.layers.container.of())
	if _, verdict := all.Belief.water.Take(r.Moisture.Pct, variance, Unfitting); verdict == estimate.Against {
		s.flag(s.unfitting(f, r, grip{&all, lot}, math.Sqrt(all.Belief.water.Held.Variance+variance)))
	}
}

// unfitting says what a reading that does not fit its holder may be.
func (s *State) unfitting(f *fact, r *Reading, h grip, sd float64) Flag {
	s.widely()
	pct, expected := r.Moisture.Pct, h.Belief.Moisture.Mean
	flag := Flag{Code: ReadingUnexpected, Entry: f.root.ID, On: h.Place, Unit: "%",
		Expected: expected, Found: pct, MassG: h.Grams, Unlikely: unlikely((pct - expected) / sd)}
	explain := func(e ...Explanation) { flag.Likely = append(flag.Likely, e...) }
	if r.Moisture.Scale == ScaleMoisture {
		fits := func(pct float64) bool { return math.Abs(pct-expected) < Fitting*sd }
		if swapped, ok := swapIn(r.Moisture.AsRead, partsShown(r.Moisture.AsRead), fits); ok {
			explain(Explanation{Why: DigitSlip, Value: swapped})
		}
	}
	if h.root.Kind == KindTank {
		explain(s.fitsTanks(f, r, h)...)
		explain(s.misread(h, pct, sd, f.at)...)
	}
	explain(Explanation{Why: Layers})
	return flag.trimmed()
}

// readEmpty says what a reading of a tank that the book has empty may be: of another
// tank, or of honey that nobody wrote down.
func (s *State) readEmpty(f *fact, r *Reading, tank *fact) Flag {
	at := Place{PlaceTank, tank.ID}
	flag := Flag{Code: ReadEmpty, Entry: f.root.ID, On: at, Unit: "%"}
	if r.Moisture != nil {
		flag.Found = r.Moisture.Pct
		flag.Likely = s.fitsTanks(f, r, grip{&Holder{Place: at}, tank})
	}
	flag.Likely = append(flag.Likely, Explanation{Why: NotBooked, Place: at})
	return flag.trimmed()
}

// fitsTanks are the other tanks that a reading fits, the nearest first, not more
// than are told.
func (s *State) fitsTanks(f *fact, r *Reading, h grip) (out []Explanation) {
	s.widely()
	instrument := s.book.instrumentVariance(f, r)
	away := func(e Explanation) float64 { return math.Abs(r.Moisture.Pct - e.Value) }
	for _, root := range s.book.roots[kindIndex[KindTank]] {
		o := &s.holders[root.slot]
		if root == h.root || o.Grams == 0 {
			continue
		}
		spread := math.Sqrt(o.Belief.Moisture.Variance + instrument + sampleVariance(r, s.layers.of(root)))
		if math.Abs(r.Moisture.Pct-o.Belief.Moisture.Mean) >= Fitting*spread {
			continue
		}
		e := Explanation{Why: OtherTank, Place: o.Place, Value: o.Belief.Moisture.Mean}
		place, _ := slices.BinarySearchFunc(out, e, func(a, b Explanation) int {
			return cmp.Or(cmp.Compare(away(a), away(b)), bytes.Compare(a.Place.ID[:], b.Place.ID[:]))
		})
		out = slices.Insert(out, place, e)
		out = out[:min(len(out), mostExplanations)]
	}
	return out
}

// How well a laboratory measures where it does not say: of HMF a tenth
// (Horwitz at 15 to 40 mg/kg is 9 to 11 percent), of diastase an eighth (20 to
// 30 percent is accepted between laboratories); domain/standard/README.md.
const (
	hmfLaboratorySD      = 0.10
	diastaseLaboratorySD = 0.12
)

// correctLaboratory lets a laboratory's figure correct the belief: from here on warmth is
// counted from it. It returns what is odd about a figure that does not fit.
func (s *State) correctLaboratory(h grip, m Measured) *Flag {
	of, relative := &h.Belief.hmf, hmfLaboratorySD
	switch m.Quantity {
	case "hmf_mg_per_kg":
	case "diastase_gothe":
		of, relative = &h.Belief.diastase, diastaseLaboratorySD
	default:
		return nil
	}
	value, sd := m.Value, m.SD()
	if m.LessThan { // what is below a limit is taken as half of it, half known
		value, sd = m.Value/2, m.Value/2
	}
	if sd == 0 {
		sd = max(relative*value, 0.1)
	}
	expected, verdict := of.contested().Held, estimate.Fits
	if *of, verdict = of.take(value, sd*sd, plausibles[m.Quantity].usual(m)); verdict != estimate.Against {
		return nil
	}
	off := (value - expected.Mean) / math.Sqrt(expected.Variance+sd*sd)
	return &Flag{Code: ResultUnlikeEarlier, Quantity: m.Quantity, Unit: m.unit(), Expected: math.Round(10*expected.Mean) / 10, Found: m.Value, Unlikely: unlikely(off)}
}

// beside holds a reading on a run or pull against those taken of it before, and
// that on a run against those on its boxes.
func (s *State) beside(f *fact, r *Reading, root *fact) {
	if r.Moisture == nil {
		return
	}
	s.byLayers()
	known, again := s.read[root.ID]
	expected, boxes := known.Held, estimate.Unknown()
	if !again {
		known = unreadMoisture
		if root.Kind == KindRun {
			boxes = s.boxesRead(root)
		}
		expected = boxes
	}
	instrument, sample := s.book.instrumentVariance(f, r), sampleVariance(r, usualLayering)
	next, verdict := known.takeBeside(boxes, r.Moisture.Pct, instrument, sample)
	put(s, s.read, root.ID, next)
	if !expected.Known() {
		return
	}
	off, sd := r.Moisture.Pct-expected.Mean, math.Sqrt(expected.Variance+instrument+sample)
	switch {
	case verdict == estimate.Against:
		h := grip{&Holder{Place: Place{placeOf(root.Kind), root.ID}, Belief: Belief{Moisture: expected}}, root}
		if root.Kind == KindRun {
			h.Grams = s.looks(root).OutG
		}
		flag := s.unfitting(f, r, h, sd)
		flag.Entries = append(flag.Entries, s.readBefore(f, root)...)
		s.flag(flag)
	case !again:
		drying := s.layers.of(root)
		s.learnt(root, r, off*off, sd*sd-drying, drying)
	}
}

// mostReadBefore is how many of the readings before one are named beside it. A run
// or pull may have very many, and each may be odd.
const mostReadBefore = 20

// readBefore are the last readings of moisture on a run or pull before one.
func (s *State) readBefore(f, root *fact) (out []ID) {
	s.widely()
	readings := s.book.readings[root.ID]
	i, _ := slices.BinarySearchFunc(readings, f, order)
	for i--; i >= 0 && len(out) < mostReadBefore; i-- {
		if readings[i].Body.(*Reading).Moisture != nil {
			out = append(out, readings[i].root.ID)
		}
	}
	slices.Reverse(out)
	return out
}

// boxesRead is what to expect of a run's honey by what was read on all its
// pulls before.
func (s *State) boxesRead(run *fact) estimate.Estimate {
	var mean, variance float64
	for _, p := range s.book.Harvest(run.ID).Mix.Parts {
		known, read := s.read[p.Origin]
		if !read {
			return estimate.Unknown()
		}
		of := known.Estimate()
		mean += p.Share * of.Mean
		variance += p.Share * p.Share * of.Variance
	}
	return estimate.Estimate{Mean: mean, Variance: variance + s.layers.of(run)}
}
