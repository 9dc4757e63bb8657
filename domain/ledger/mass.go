package ledger

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/units"
)

// How well honey is weighed, as standard deviations; common practice. A dip is
// read to half a centimetre in a tank of a metre or so.
const (
	dipShare      = 0.005 // of the tank's capacity, one dip
	fillShare     = 0.002 // of a container's net
	fillKg        = 0.2   // and this
	unweighedPart = 0.10  // of what is skimmed, spilt or guessed
)

// filledVariance is how far a container's net may be off, in kilograms squared.
func filledVariance(netG int64) float64 {
	a, b := fillShare*kg(netG), fillKg
	return a*a + b*b
}

// movedVariance is how far the mass of a movement may be off, in kilograms
// squared. It is worked out from the rise or fall of a tank between two dips; of the
// smaller tank where there are two.
func movedVariance(grams int64, from, to *fact) float64 {
	if from.Kind == KindFill {
		return filledVariance(grams)
	}
	sd := unweighedPart * kg(grams)
	for _, root := range []*fact{from, to} {
		if root == nil {
			continue
		}
		if t, ok := root.subject.(*Tank); ok {
			sd = min(sd, math.Sqrt2*dipShare*kg(t.CapacityG))
		}
	}
	return sd * sd
}

// stocktakeVariance is how far a stocktake may be off, in kilograms squared.
func stocktakeVariance(t *Stocktake, tank *Tank) float64 {
	sd := kg(t.UncertaintyG)
	if sd == 0 && tank != nil {
		sd = dipShare * kg(tank.CapacityG)
	}
	return max(sd*sd, 1)
}

// farOff is from how many standard deviations on a figure is far off: of good
// figures one in sixteen thousand would be.
const farOff = 4

// unlikely is the probability that chance alone is as far off as z standard
// deviations, either way. It is never 0, which says that it was not reckoned.
func unlikely(z float64) float64 {
	return max(2*distuv.UnitNormal.Survival(math.Abs(z)), math.SmallestNonzeroFloat64)
}

// residual holds a stocktake against what the book has in the tank. From there
// on the tank is known as well as the stocktake.
func (s *State) residual(f *fact, t *Stocktake, h grip) {
	tank, _ := h.root.subject.(*Tank)
	dip := stocktakeVariance(t, tank)
	off, sd := kg(t.MassG-h.Grams), math.Sqrt(h.MassVariance+dip)
	h.MassVariance = dip
	if math.Abs(off) <= farOff*sd {
		return
	}
	flag := Flag{Code: StocktakeFarOff, Entry: f.root.ID, On: h.Place, Unit: "kg",
		Expected: kg(h.Grams), Found: kg(t.MassG), MassG: abs(t.MassG - h.Grams), Unlikely: unlikely(off / sd)}
	flag.Likely = append(flag.Likely, s.misrouted(h, off, math.Hypot(sd, poursVary*off), f.at)...)
	if t.DepthCM != nil {
		fits := func(cm float64) bool { return math.Abs(kg(t.MassG)*cm / *t.DepthCM - kg(h.Grams)) < Fitting*sd }
		if depth, ok := swapIn(*t.DepthCM, partsShown(*t.DepthCM), fits); ok {
			flag.Likely = append(flag.Likely, Explanation{Why: DigitSlip, Value: depth})
		}
	}
	flag.Likely = append(flag.Likely, Explanation{Why: NotBooked, Place: h.Place, Value: math.Abs(off)})
	s.flag(flag.trimmed())
}

// poursVary is how far a movement may be from a difference that it explains, of
// that difference.
const poursVary = 0.03

// short says how unlikely it is that more was drawn from a holder than it had, and why
// it may be.
func (s *State) short(f *fact, flag Flag, h grip) Flag {
	missing := kg(flag.MassG)
	if h.Place.Kind != PlaceTank {
		flag.Likely = append(flag.Likely, goneBefore(h)...)
	} else {
		flag.Unlikely = unlikely(missing / math.Sqrt(h.MassVariance))
		if inPounds := flag.Found / poundsPerKilogram; f.Kind == KindMovement && flag.Entry == f.root.ID && inPounds <= flag.Expected && missing > flag.Found/4 {
			flag.Likely = append(flag.Likely, Explanation{Why: Pounds, Entry: f.root.ID, Value: inPounds})
		}
		flag.Likely = append(flag.Likely, s.misrouted(h, missing, max(math.Sqrt(h.MassVariance), poursVary*missing), f.at)...)
		flag.Likely = append(flag.Likely, s.drawnElsewhere(h, flag.Found)...)
		flag.Likely = append(flag.Likely, Explanation{Why: NotBooked, Place: h.Place, Value: missing})
	}
	return flag.trimmed()
}

// goneBefore is what took the honey of a container before.
func goneBefore(h grip) []Explanation {
	if h.Gone == nil {
		return nil
	}
	return []Explanation{{Why: Twice, Entry: h.Gone.ID}}
}

// drawnElsewhere is the one other tank that had so much, where there is just one: it
// may have been drawn from that.
func (s *State) drawnElsewhere(h grip, kilograms float64) (out []Explanation) {
	s.looksAtTanks()
	for _, root := range s.book.roots[kindIndex[KindTank]] {
		o := s.looks(root)
		if root == h.root || kg(o.Grams) < kilograms {
			continue
		}
		if len(out) == 1 {
			return nil
		}
		out = append(out, Explanation{Why: DrawnElsewhere, Place: o.Place, Value: kg(o.Grams)})
	}
	return out
}

// tooFull says why more may be booked into a tank than it can hold.
func (s *State) tooFull(f *fact, flag Flag, h grip) Flag {
	excess := kg(flag.MassG)
	flag.Unlikely = unlikely(excess / math.Sqrt(h.MassVariance))
	flag.Likely = append(flag.Likely, s.misrouted(h, -excess, max(math.Sqrt(h.MassVariance), poursVary*excess), f.at)...)
	flag.Likely = append(flag.Likely, Explanation{Why: NotBooked, Place: h.Place, Value: excess})
	return flag.trimmed()
}

const poundsPerKilogram = 1 / units.KilogramsPerPound

// trimmed leaves the likeliest explanations, and lists the entries they name.
func (f Flag) trimmed() Flag {
	f.Likely = f.Likely[:min(len(f.Likely), mostExplanations)]
	for _, e := range f.Likely {
		if e.Entry != (ID{}) && e.Entry != f.Entry {
			f.Entries = append(f.Entries, e.Entry)
		}
	}
	return f
}
