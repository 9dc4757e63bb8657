package honey

import "math"

// Moisture is the water content of honey in g per 100 g with its standard
// uncertainty (one standard deviation, in the same points), and the name of
// the way it was reached.
type Moisture struct {
	Pct, StdUncertaintyPct float64
	Formula                string
	// BeyondTable is true where the published table does not go as far.
	BeyondTable bool
}

// Refractometer says what a reading was taken with. The zero value is an
// ordinary hand-held instrument without temperature compensation.
type Refractometer struct {
	// Compensated instruments have already referred their reading to 20 C and
	// must not be corrected a second time.
	Compensated bool

	// ScaleStdUncertainty is the instrument's standard uncertainty in the unit
	// of its scale: its certificate's expanded uncertainty halved. Nothing
	// given (0) means a hand-held one: 0.0005 of refractive index, 0.2 Brix or
	// 0.2 points of moisture (common practice).
	ScaleStdUncertainty float64

	// ThermometerStdUncertaintyC is that of the sample's temperature; nothing
	// given (0) means half a degree; 10 is the most.
	ThermometerStdUncertaintyC float64
}

const (
	handHeldIndex       = 0.0005
	handHeldBrix        = 0.2
	handHeldHoneyPct    = 0.2
	thermometerC        = 0.5
	formulaIndex        = "honey refractive index table, AOAC 969.38"
	formulaBrix         = "sucrose scale of ICUMSA 1974, then honey refractive index table, AOAC 969.38"
	formulaHoneyScale   = "honey refractive index table, AOAC 969.38, both ways"
	formulaHoneyScale20 = "honey scale as read"
	formulaNoTable      = ", where no published table goes"
	formulaBeyond       = ", carried on from its last row by Wedmore 1955"
)

// beyondTable is the standard uncertainty for each point of moisture that a
// figure lies beyond the table: a twentieth of it (a judgement; sucrose solutions
// of the same index stay 1.6 points off at 40 % as they are at 25).
const beyondTable = 0.05

// MethodRepeatabilityPct is the standard deviation of repeated refractometer
// readings of one honey by one person: the repeatability limit of about 0.2
// points (International Honey Commission, from memory) divided by 2.8.
const MethodRepeatabilityPct = 0.07

// FromRefractiveIndex returns the moisture for a refractive index read at
// sampleTemperatureC (10 to 40).
//
// The reading is referred to 20 C by adding IndexPerC for each degree above,
// unless the instrument did so itself, and looked up in the table of AOAC
// 969.38 (13 to 25 %), linear between its rows. Beyond the table, from 5 to 40 %,
// it goes on by Wedmore's equation. The standard uncertainty joins, in quadrature,
// the instrument's, the thermometer's, MethodRepeatabilityPct and, beyond the
// table, 0.05 for each point of moisture from its end.
func FromRefractiveIndex(index, sampleTemperatureC float64, with Refractometer) (Moisture, error) {
	correction, scale, err := with.prepare(sampleTemperatureC, handHeldIndex, "of index")
	if err != nil {
		return Moisture{}, err
	}
	if err := indexRange(index, correction); err != nil {
		return Moisture{}, err
	}
	return with.moisture(index+correction, scale, formulaIndex), nil
}

// FromBrix returns the moisture for a reading in degrees Brix (the sucrose
// scale) taken at sampleTemperatureC (10 to 40): Brix to refractive index
// after ICUMSA 1974, then as FromRefractiveIndex: 58.4 to 92.9 Brix at 20 C.
//
// A compensated Brix instrument corrects as for sucrose, which differs from
// honey by less than its own uncertainty.
func FromBrix(brix, sampleTemperatureC float64, with Refractometer) (Moisture, error) {
	correction, scale, err := with.prepare(sampleTemperatureC, handHeldBrix, "Brix")
	if err != nil {
		return Moisture{}, err
	}
	index := sucroseIndex(brix)
	if !within(brix, brixMin, brixMax) || indexRange(index, correction) != nil {
		return Moisture{}, brixRangeError(brix, correction)
	}
	perBrix := (sucroseIndex(brix+0.05) - sucroseIndex(brix-0.05)) / 0.1
	return with.moisture(index+correction, scale*perBrix, formulaBrix), nil
}

func brixRangeError(brix, correction float64) error {
	return &RangeError{Quantity: "Brix", Unit: "degrees", Got: brix,
		Min: max(brixMin, brixOf(lowestIndex-correction)),
		Max: min(brixMax, brixOf(highestIndex-correction)), Hint: brixHint(brix)}
}

func brixHint(brix float64) Hint {
	switch {
	case within(brix, tableMinPct, tableMaxPct):
		return Hint{Format: "it looks like a honey moisture scale in %%"}
	case within(brix, 1.30, 1.55):
		return Hint{Format: "it looks like a refractive index"}
	case within(brix, 0.7, 0.9):
		return Hint{Format: "it looks like a fraction: send it in degrees, as 81.2"}
	}
	return Hint{}
}

// FromHoneyScale returns the moisture for a reading on a honey moisture scale
// (5 to 40 %) taken at sampleTemperatureC (10 to 40). Without compensation
// the reading is turned back into the refractive index it stands for, referred
// to 20 C and turned into moisture again: about 0.09 points less for each
// degree above 20 C.
func FromHoneyScale(readingPct, sampleTemperatureC float64, with Refractometer) (Moisture, error) {
	correction, scale, err := with.prepare(sampleTemperatureC, handHeldHoneyPct, "%")
	if err != nil {
		return Moisture{}, err
	}
	low, high := PossibleMoistureMinPct, PossibleMoistureMaxPct
	if correction > 0 {
		low = moistureAt20(highestIndex - correction)
	}
	if correction < 0 {
		high = moistureAt20(lowestIndex - correction)
	}
	if !within(readingPct, low, high) {
		return Moisture{}, &RangeError{Quantity: "honey scale reading", Unit: "%", Got: readingPct, Min: low, Max: high,
			Hint: honeyScaleHint(readingPct, low, high)}
	}
	index := indexAt20(readingPct)
	perPct := 1 / moisturePerIndex(index)
	if with.Compensated {
		result := with.moisture(index, scale*perPct, formulaHoneyScale20)
		result.Pct = readingPct
		if result.BeyondTable {
			result.Formula = formulaHoneyScale20 + formulaNoTable
		}
		return result, nil
	}
	return with.moisture(index+correction, scale*perPct, formulaHoneyScale), nil
}

func honeyScaleHint(reading, low, high float64) Hint {
	switch {
	case within(reading, 70, 90):
		return Hint{Format: "it looks like degrees Brix"}
	case within(reading, 1.30, 1.55):
		return Hint{Format: "it looks like a refractive index"}
	}
	return fractionHint(reading, low, high)
}

// prepare returns what must be added to a refractive index to refer it to 20 C,
// and the instrument's standard uncertainty in the unit of its scale.
func (r Refractometer) prepare(sampleTemperatureC, handHeld float64, unit string) (correction, scale float64, err error) {
	if err := uncertaintyRange("instrument uncertainty", unit, r.ScaleStdUncertainty, 25*handHeld); err != nil {
		return 0, 0, err
	}
	if err := uncertaintyRange("thermometer uncertainty", "C", r.ThermometerStdUncertaintyC, 10); err != nil {
		return 0, 0, err
	}
	if err := temperatureRange(sampleTemperatureC, CorrectionMinC, CorrectionMaxC); err != nil {
		return 0, 0, err
	}
	if scale = r.ScaleStdUncertainty; scale == 0 {
		scale = handHeld
	}
	if !r.Compensated {
		correction = IndexPerC * (sampleTemperatureC - 20)
	}
	return correction, scale, nil
}

// moisture joins the uncertainties in quadrature (JCGM 100, uncorrelated).
func (r Refractometer) moisture(indexAt20C, indexStdUncertainty float64, formula string) Moisture {
	slope := moisturePerIndex(indexAt20C)
	instrument := slope * indexStdUncertainty
	thermometer := 0.0
	if !r.Compensated {
		degrees := r.ThermometerStdUncertaintyC
		if degrees == 0 {
			degrees = thermometerC
		}
		thermometer = slope * IndexPerC * degrees
	}
	pct := moistureAt20(indexAt20C)
	beyond := beyondTable * IndexMoisture.beyond(pct)
	if beyond > 0 {
		formula += formulaBeyond
	}
	variance := instrument*instrument + thermometer*thermometer + MethodRepeatabilityPct*MethodRepeatabilityPct + beyond*beyond
	return Moisture{Pct: pct, StdUncertaintyPct: math.Sqrt(variance), Formula: formula, BeyondTable: beyond > 0}
}
