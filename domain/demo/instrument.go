package demo

import (
	"math"
	"math/rand/v2"

	"pullbook/domain/honey"
	"pullbook/domain/ledger"
)

// The errors of the instruments, one standard deviation each. They are what
// the set-up says of them, so that the book's tests can be held against them.
const (
	benchSD       = 0.0002 // refractive index
	handHeldSD    = 0.15   // points of moisture
	drumScaleSDKg = 0.15
	// dipSDCM is of one dip: the stick, the foam line and the eye.
	dipSDCM   = 0.3
	loggerSDC = 0.3
	// sampleSDC is of the thermometer held to a sample.
	sampleSDC  = 0.5
	colourSDMM = 1.0
	// hoistShare is of a stack of full boxes on the hoist.
	hoistShare = 0.004
	hmfSDShare = 0.05
	hmfSDMg    = 0.25
	diastaseSD = 1.0
)

// instrument is a refractometer. Its drift is what it truly reads too much, in
// points of moisture.
type instrument struct {
	id         ledger.ID
	honeyScale bool
}

// read is what the refractometer shows of honey of a true moisture.
func (i instrument) read(rng *rand.Rand, truePct, driftPct float64) *ledger.MoistureReading {
	seen := truePct + driftPct + honey.MethodRepeatabilityPct*rng.NormFloat64()
	if i.honeyScale {
		shown := rounded(seen+handHeldSD*rng.NormFloat64(), 1)
		return i.moisture(shown, 20, "moisture")
	}
	sampleC := within(23+2.5*rng.NormFloat64(), 17, 30)
	index, err := honey.RefractiveIndex(within(seen, 13.2, 24.8), sampleC)
	if err != nil {
		panic(err) // clamped above
	}
	shown := rounded(index+benchSD*rng.NormFloat64(), 4)
	return i.moisture(shown, rounded(sampleC+sampleSDC*rng.NormFloat64(), 1), "refractive_index")
}

// moisture is the reading as the book keeps it.
func (i instrument) moisture(shown, sampleC float64, scale string) *ledger.MoistureReading {
	var m honey.Moisture
	var err error
	if i.honeyScale {
		m, err = honey.FromHoneyScale(shown, sampleC, honey.Refractometer{Compensated: true, ScaleStdUncertainty: handHeldSD})
	} else {
		m, err = honey.FromRefractiveIndex(shown, sampleC, honey.Refractometer{ScaleStdUncertainty: benchSD, ThermometerStdUncertaintyC: sampleSDC})
	}
	if err != nil {
		panic(err) // no invented honey is near the ends of the table
	}
	r := &ledger.MoistureReading{Scale: scale, AsRead: shown, Compensated: i.honeyScale,
		Pct: m.Pct, StdUncertaintyPct: m.StdUncertaintyPct, Formula: m.Formula}
	if !i.honeyScale {
		r.SampleC = &sampleC
	}
	return r
}

func rounded(x float64, digits int) float64 {
	p := math.Pow10(digits)
	return math.Round(x*p) / p
}

// grams is kilograms as a scale with that step shows them.
func grams(kg, stepKg float64) int64 {
	return int64(math.Round(math.Round(kg/stepKg) * stepKg * 1000))
}
