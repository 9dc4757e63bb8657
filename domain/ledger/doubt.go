package ledger

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/estimate"
)

// Explanation is what may lie behind something odd.
type Explanation struct {
	Why   Why
	Place Place
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
	// Layers: the sample was not like the rest.
	Layers Why = "not_mixed"
)

// mostExplanations is how many explanations a flag carries.
const mostExplanations = 3

// unfitting is from how many standard deviations on a reading does not fit what
// the book expects; a thousandth of good readings would lie beyond 3.3.
const unfitting = 3.5

// fitting is up to how many it does.
const fitting = 1.5

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
		if h := s.holders[root.slot]; h.Mix != nil && h.Grams > 0 {
			s.correct(f, r, s.touch(root), true)
		}
	case KindLot:
		for _, fill := range s.book.fills[root.ID] {
			if h := s.holders[fill.root.slot]; h.Mix != nil && h.Grams > 0 {
				s.correct(f, r, s.touch(fill.root), false)
			}
		}
	}
}

// correct lets a reading correct what the book expects of one holder's honey.
func (s *State) correct(f *fact, r *Reading, h grip, say bool) {
	s.warm(h, f.at)
	if r.Moisture != nil {
		variance := s.book.readingVariance(f, r)
		e := h.Belief.Moisture
		off := r.Moisture.Pct - e.Mean
		if sd := math.Sqrt(e.Variance + variance); math.Abs(off) > unfitting*sd {
			if say {
				s.flag(s.unfitting(f, r, h, sd))
			}
			// One of the two is wrong, and nobody knows yet which: believe
			// neither much, so that the next reading decides.
			e.Variance = max(e.Variance, off*off/4)
		}
		if c, err := e.Correct(r.Moisture.Pct, variance); err == nil {
			h.Belief.Moisture = c.Posterior
		}
	}
	for _, m := range r.Measured {
		s.correctLaboratory(h, m)
	}
}

// unfitting says what a reading that does not fit its holder may be.
func (s *State) unfitting(f *fact, r *Reading, h grip, sd float64) Flag {
	pct, expected := r.Moisture.Pct, h.Belief.Moisture.Mean
	flag := Flag{Code: ReadingUnexpected, Entry: f.root.ID, On: h.Place, Unit: "%",
		Expected: expected, Found: pct, MassG: h.Grams,
		Unlikely: 2 * distuv.UnitNormal.Survival(math.Abs(pct-expected)/sd)}
	n := 0
	explain := func(e Explanation) {
		if n < mostExplanations {
			flag.Likely[n] = e
			n++
		}
	}
	if swapped := swapDigits(r.Moisture.AsRead); r.Moisture.Scale == ScaleMoisture && math.Abs(swapped-expected) < fitting*sd {
		explain(Explanation{Why: DigitSlip, Value: swapped})
	}
	for _, root := range s.book.roots[kindIndex[KindTank]] {
		o := s.holders[root.slot]
		if root == h.root || o.Grams == 0 || o.Mix == nil || h.root.Kind != KindTank {
			continue
		}
		spread := math.Sqrt(o.Belief.Moisture.Variance + s.book.readingVariance(f, r))
		if math.Abs(pct-o.Belief.Moisture.Mean) < fitting*spread {
			explain(Explanation{Why: OtherTank, Place: o.Place, Value: o.Belief.Moisture.Mean})
		}
	}
	explain(Explanation{Why: Layers})
	return flag
}

// swapDigits changes the last two of a moisture's three digits: 17.6 to 16.7.
func swapDigits(pct float64) float64 {
	tenths := int(math.Round(pct * 10))
	return float64(tenths/100*100+tenths%10*10+tenths/10%10) / 10
}

// How well a laboratory measures where it does not say: of HMF a tenth
// (Horwitz at 15 to 40 mg/kg is 9 to 11 percent), of diastase an eighth (20 to
// 30 percent is accepted between laboratories); domain/standard/README.md.
const (
	hmfLaboratorySD      = 0.10
	diastaseLaboratorySD = 0.12
)

// correctLaboratory lets a laboratory's figure correct the belief. From here on
// warmth is counted from it.
func (s *State) correctLaboratory(h grip, m Measured) {
	sd := m.StdUncertainty
	value := m.Value
	if m.LessThan { // what is below a limit is taken as half of it, half known
		value, sd = m.Value/2, m.Value/2
	}
	take := func(e estimate.Estimate, relative float64) estimate.Estimate {
		if sd == 0 {
			sd = max(relative*value, 0.1)
		}
		c, err := e.Correct(value, sd*sd)
		if err != nil {
			return e
		}
		return c.Posterior
	}
	b := &h.Belief
	switch m.Quantity {
	case "hmf_mg_per_kg":
		b.hmf, b.formed = take(b.HMF(), hmfLaboratorySD), 0
	case "diastase_gothe":
		b.diastase, b.lost = take(b.Diastase(), diastaseLaboratorySD), 0
	}
}
