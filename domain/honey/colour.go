package honey

import (
	"math"
	"slices"
)

// ColourClass is a band of a published colour scale on the Pfund grader: over
// OverMM, up to and including ToMM. The lightest includes 0, the darkest has
// no upper end.
type ColourClass struct {
	Name         string
	OverMM, ToMM float64
}

// ColourScale is a published set of colour classes.
type ColourScale int

const (
	// USColour is the United States Standards for Grades of Extracted Honey
	// (1985), Table I.
	USColour ColourScale = iota
	// CanadaBulkColour is the Canadian Grade Compendium, Volume 6, Table 2:
	// honey other than consumer prepackaged (bands from memory).
	CanadaBulkColour
	// CanadaConsumerColour is Table 1 of the same: consumer prepackaged honey
	// (bands from memory).
	CanadaConsumerColour
)

var darkest = math.Inf(1)

var colourScales = [...][]ColourClass{
	USColour: {
		{"Water White", 0, 8}, {"Extra White", 8, 17}, {"White", 17, 34},
		{"Extra Light Amber", 34, 50}, {"Light Amber", 50, 85}, {"Amber", 85, 114},
		{"Dark Amber", 114, darkest},
	},
	CanadaBulkColour: {
		{"Extra White", 0, 13}, {"White", 13, 30}, {"Golden", 30, 50},
		{"Light Amber", 50, 85}, {"Dark Amber", 85, 114}, {"Dark", 114, darkest},
	},
	CanadaConsumerColour: {
		{"White", 0, 30}, {"Golden", 30, 50}, {"Amber", 50, 85}, {"Dark", 85, darkest},
	},
}

// The wedge of the Pfund grader ends at about 140 mm (common practice).
const pfundMaxMM = 140.0

// PfundWedge is what the Pfund grader shows; AbsorbanceLine where the line of
// PfundFromAbsorbance is above nothing; OpticalDensityClasses where the US standard
// prints classes, the darkest of which has no end.
var (
	PfundWedge            = Range{Of: "colour", Unit: "mm Pfund", From: 0, To: pfundMaxMM}
	AbsorbanceLine        = Range{Of: "absorbance at 635 nm", From: 0.104, To: 0.481}
	OpticalDensityClasses = Range{Of: "optical density at 560 nm", From: 0, To: 6}
)

// Class returns the class of a Pfund reading of 0 to 140 mm.
func (s ColourScale) Class(pfundMM float64) (ColourClass, error) {
	if err := pfundRange(pfundMM); err != nil {
		return ColourClass{}, err
	}
	classes := colourScales[s] // the last has no end
	return classes[slices.IndexFunc(classes, func(c ColourClass) bool { return pfundMM <= c.ToMM })], nil
}

func pfundRange(pfundMM float64) error {
	if within(pfundMM, 0, pfundMaxMM) {
		return nil
	}
	return &RangeError{Quantity: "colour", Unit: "mm Pfund", Got: pfundMM, Min: 0, Max: pfundMaxMM}
}

// opticalDensityTo holds the upper optical density of each US class but the
// darkest: 560 nm, 3.15 cm of caramel in glycerin that matches the honey,
// against pure glycerin (US standard, Table I).
var opticalDensityTo = [...]float64{0.0945, 0.189, 0.378, 0.595, 1.389, 3.008}

// USColourFromOpticalDensity returns the US class for an optical density of 0
// to 6 at 560 nm and 3.15 cm.
func USColourFromOpticalDensity(opticalDensity float64) (ColourClass, error) {
	if !within(opticalDensity, 0, 6) {
		return ColourClass{}, &RangeError{Quantity: "optical density at 560 nm", Got: opticalDensity, Min: 0, Max: 6}
	}
	classes := colourScales[USColour]
	for i, to := range opticalDensityTo {
		if opticalDensity <= to {
			return classes[i], nil
		}
	}
	return classes[len(classes)-1], nil
}

// mm Pfund = -38.70 + 371.39 A (White 1984, from memory): absorbance at 635 nm
// of honey diluted to 50 % by mass, 1 cm, against water.
const (
	pfundAtZeroMM       = -38.70
	pfundMMPerAbsorb    = 371.39
	absorbanceAtZeroMM  = -pfundAtZeroMM / pfundMMPerAbsorb
	absorbanceAtPfundMM = (pfundMaxMM - pfundAtZeroMM) / pfundMMPerAbsorb
)

// PfundFromAbsorbance returns mm Pfund for the absorbance at 635 nm, 0 to
// 0.481. The line starts at an absorbance of 0.104; lighter honey is 0 mm.
func PfundFromAbsorbance(absorbance635nm float64) (float64, error) {
	if !within(absorbance635nm, 0, absorbanceAtPfundMM) {
		return 0, &RangeError{Quantity: "absorbance at 635 nm", Got: absorbance635nm, Min: 0, Max: absorbanceAtPfundMM}
	}
	return min(pfundMaxMM, max(0, pfundAtZeroMM+pfundMMPerAbsorb*absorbance635nm)), nil
}

// AbsorbanceFromPfund is PfundFromAbsorbance turned round: 0 to 140 mm. Nothing
// (0 mm) answers with the highest absorbance that still reads 0.
func AbsorbanceFromPfund(pfundMM float64) (float64, error) {
	if err := pfundRange(pfundMM); err != nil {
		return 0, err
	}
	return absorbanceAtZeroMM + pfundMM/pfundMMPerAbsorb, nil
}
