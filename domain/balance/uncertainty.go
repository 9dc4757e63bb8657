package balance

import (
	"math"

	"pullbook/domain/ledger"
)

// How far weights may be off, as standard deviations, where the book does not
// say. All are common practice except for those with a source.
const (
	// A stack of full boxes on a hoist, as a share of its gross: by itself, and
	// as the hoist is set.
	hoistShare, hoistCommonShare = 0.004, 0.0015
	// An empty box beside the tare of its kind, in kilograms: from box to box,
	// and all of an outfit's together.
	boxTareKg, boxTareCommonKg = 0.5, 0.25
	// How full a box is beside the others of its pull, where a pull went into
	// several runs.
	boxFullnessShare = 0.15
	// Boxes that were counted and not weighed hold what they usually do, give or
	// take this share: from pull to pull, and all of a season's together.
	countShare, countCommonShare = 0.20, 0.10

	// The dip stick, and how much of the capacity that is where no shape is known.
	dipCM, dipCapacityShare = 0.4, 0.003
	// A tank on a scale.
	tankScaleShare = 0.002
	// Honey thrown away is weighed in a bucket.
	wasteShare, wasteKg = 0.02, 0.3

	// A container on its scale in kilograms where no balance is set up, and as
	// the scale is set.
	containerKg, containerCommonShare = 0.3, 0.0003
	// A tare that is just that of the kind was not weighed.
	standardTareShare = 0.08

	// Cappings wax on a scale.
	waxShare, waxKg = 0.03, 0.3
)

// What nobody weighs but is known to be within bounds, in percent of the honey
// that went into a run, with its standard deviation: by itself and for all of
// an outfit's runs together.
const (
	// Honey left in cappings, on the floor and on the line, and water dried off:
	// a gap of 1 to 3 percent from full box to drum is ordinary (common practice).
	lossPct, lossOwnPct, lossCommonPct = 2.0, 0.6, 0.5
	// Cappings that were not weighed: 1 to 2 lb of wax for 100 lb of honey, more
	// where they were not drained (yields-and-weights, a popular handbook).
	waxPct, waxOwnPct = 1.5, 0.6
	// What clings to a tank that is washed, in percent of its capacity: up to 2
	// (common practice, as in the ledger).
	clingsPct, clingsOwnPct = 1.0, 0.6
)

// part is a part of a weight's error, named by where it comes from. Weights
// whose errors come from one place err together.
type part struct {
	source string
	kg     float64
}

// kgPerCM is the honey in a centimetre of a tank, on average over its height;
// 0 where its shape is not known.
func kgPerCM(t *ledger.Tank) float64 {
	if t.Shape == nil {
		return 0
	}
	height := t.Shape.HeightCM
	switch s := t.Shape; {
	case s.Form == "lying_cylinder":
		height = s.DiameterCM
	case s.Form == "dip_table" && len(s.DipTable) > 0:
		height = s.DipTable[len(s.DipTable)-1].DepthCM
	}
	if height <= 0 {
		return 0
	}
	return kg(t.CapacityG) / height
}

// dipKg is how far a dip of a tank may be off.
func dipKg(t *ledger.Tank) float64 {
	if per := kgPerCM(t); per > 0 {
		return dipCM * per
	}
	return max(dipCapacityShare*kg(t.CapacityG), 0.1)
}

// riseKg is how far a mass may be off that was had from the rise or fall of a
// tank between two dips.
func riseKg(t *ledger.Tank) float64 { return math.Sqrt2 * dipKg(t) }

// levelKg is how far a stocktake may be off.
func levelKg(t *ledger.Tank, s *ledger.Stocktake) float64 {
	switch {
	case s.UncertaintyG > 0:
		return kg(s.UncertaintyG)
	case s.Method == "scale":
		return max(tankScaleShare*kg(s.MassG), 0.5)
	}
	return dipKg(t)
}

// balances gives the uncertainty of the finest and of the coarsest balance that
// is set up: the finest weighs containers, the coarsest boxes. Both are 0 where
// there is none.
func balances(b *ledger.Book) (finest, coarsest float64) {
	b.InForceOf(ledger.KindInstrument, func(_ ledger.ID, e *ledger.Entry) bool {
		x := e.Body.(*ledger.Instrument)
		if u := x.ScaleStdUncertainty(); x.Scale == "kg" && u > 0 {
			if finest == 0 || u < finest {
				finest = u
			}
			coarsest = max(coarsest, u)
		}
		return true
	})
	return finest, coarsest
}

func kg(grams int64) float64 { return float64(grams) / 1000 }
