package calculator

import (
	"math"

	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/domain/fault"
	"pullbook/domain/honey"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// CalculateColour is the class of a colour reading.
func (s Handler) CalculateColour(ctx echo.Context, in openapi.CalculateColourParams) error {
	return calculate(s.Service, ctx, in, colourAnswer)
}

func colourAnswer(in openapi.CalculateColourParams) (out openapi.ColourAnswer, err error) {
	read, err := oneOf("query:", map[string]bool{
		"colour_mm_pfund": in.ColourMmPfund != nil, "absorbance_635nm": in.Absorbance635Nm != nil, "optical_density_560nm": in.OpticalDensity560Nm != nil,
	})
	if err != nil {
		return out, err
	}
	scale, err := scaleOf(in.Scale)
	if err != nil {
		return out, err
	}
	sd := wire.OrZero(in.StdUncertainty)
	if err := uncertaintyFault("std_uncertainty", sd, 50); err != nil {
		return out, err
	}
	out.Formulas, out.Flags, out.Cautions = []openapi.FormulaUsed{formulaColour(wire.OrDefault(in.Scale, openapi.UnitedStates))}, []openapi.CalculatorFlag{}, []string{}
	if read == "optical_density_560nm" {
		return opticalDensityAnswer(out, *in.OpticalDensity560Nm, sd, wire.OrDefault(in.Scale, openapi.UnitedStates))
	}
	pfund := wire.OrZero(in.ColourMmPfund)
	if read == "absorbance_635nm" {
		out.Formulas = append(out.Formulas, formulaAbsorbance)
		if pfund, err = honey.PfundFromAbsorbance(*in.Absorbance635Nm); err != nil {
			return out, askedColour.Refusal(err)
		}
		sd, err = absorbanceAsPfund(sd)
		if err != nil {
			return out, askedColour.Refusal(err)
		}
		out.Absorbance635Nm = new(rounded(*in.Absorbance635Nm))
	}
	class, err := scale.Class(pfund)
	if err != nil {
		return out, askedColour.Refusal(err)
	}
	if read == "colour_mm_pfund" {
		absorbance, err := honey.AbsorbanceFromPfund(pfund)
		if err != nil {
			return out, askedColour.Refusal(err)
		}
		out.Absorbance635Nm = new(rounded(absorbance))
	}
	ranges := []figureAsked{{honey.PfundWedge, pfund}}
	if read == "absorbance_635nm" {
		ranges = append(ranges, figureAsked{honey.AbsorbanceLine, *in.Absorbance635Nm})
	}
	out.ValidFor, out.Flags = validFor(out.Flags, ranges...)
	out.Class, out.ColourMmPfund, out.ColourStdUncertaintyMmPfund = classOut(class), new(rounded(pfund)), new(rounded(sd))
	return out, setEnds(&out, pfund, sd, darkestMM, scale.Class)
}

// The ends of what domain/honey takes.
const (
	darkestMM             = 140
	darkestOpticalDensity = 6
)

// absorbanceAsPfund is how many millimetres so much absorbance comes to, by the
// slope of the line.
func absorbanceAsPfund(sd float64) (float64, error) {
	low, err := honey.PfundFromAbsorbance(0.2)
	if err != nil {
		return 0, err
	}
	high, err := honey.PfundFromAbsorbance(0.3)
	return sd * (high - low) / 0.1, err
}

func opticalDensityAnswer(out openapi.ColourAnswer, density, sd float64, scale openapi.ColourScale) (openapi.ColourAnswer, error) {
	if scale != openapi.UnitedStates {
		return out, unanswerable(fault.Field{Pointer: "query:scale", Sent: scale, Message: message.F("Optical density has classes on the scale united_states only.")})
	}
	class, err := honey.USColourFromOpticalDensity(density)
	if err != nil {
		return out, askedColour.Refusal(err)
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.OpticalDensityClasses, density})
	out.Class = classOut(class)
	return out, setEnds(&out, density, sd, darkestOpticalDensity, honey.USColourFromOpticalDensity)
}

// setEnds names the lightest and the darkest class within two standard
// uncertainties of a reading.
func setEnds(out *openapi.ColourAnswer, reading, sd, most float64, class func(float64) (honey.ColourClass, error)) error {
	lightest, err := class(max(0, reading-2*sd))
	if err != nil {
		return err
	}
	darkest, err := class(min(most, reading+2*sd))
	out.Lightest, out.Darkest = lightest.Name, darkest.Name
	return err
}

func classOut(c honey.ColourClass) openapi.ColourClass {
	out := openapi.ColourClass{Name: c.Name, OverMmPfund: c.OverMM}
	if !math.IsInf(c.ToMM, 1) {
		out.ToMmPfund = &c.ToMM
	}
	return out
}

// CalculateColourClasses lists the classes of a scale.
func (s Handler) CalculateColourClasses(ctx echo.Context, in openapi.CalculateColourClassesParams) error {
	return calculate(s.Service, ctx, in, colourClassesAnswer)
}

func colourClassesAnswer(in openapi.CalculateColourClassesParams) (out openapi.ColourClassesAnswer, err error) {
	scale, err := scaleOf(in.Scale)
	if err != nil {
		return out, err
	}
	out.Formulas, out.Flags, out.Cautions = []openapi.FormulaUsed{formulaColour(wire.OrDefault(in.Scale, openapi.UnitedStates))}, []openapi.CalculatorFlag{}, []string{}
	for mm := 0.0; !math.IsInf(mm, 1); {
		class, err := scale.Class(mm)
		if err != nil {
			return out, err
		}
		out.Classes = append(out.Classes, classOut(class))
		mm = math.Nextafter(class.ToMM, math.Inf(1)) // just over its end begins the next
	}
	return out, nil
}

func scaleOf(asked *openapi.ColourScale) (honey.ColourScale, error) {
	switch scale := wire.OrDefault(asked, openapi.UnitedStates); scale {
	case openapi.UnitedStates:
		return honey.USColour, nil
	case openapi.CanadaBulk:
		return honey.CanadaBulkColour, nil
	case openapi.CanadaConsumer:
		return honey.CanadaConsumerColour, nil
	default:
		return 0, unanswerable(fault.Field{Pointer: "query:scale", Sent: scale, Message: message.F("This should be one of united_states, canada_bulk, canada_consumer.")})
	}
}

var askedColour = asked{fields: map[string]string{
	"colour": "query:colour_mm_pfund", "absorbance at 635 nm": "query:absorbance_635nm", "optical density at 560 nm": "query:optical_density_560nm",
}, otherwise: "query:colour_mm_pfund"}
