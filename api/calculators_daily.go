package api

import (
	"fmt"

	"pullbook/domain/honey"
	"pullbook/openapi"
)

// dailyQuestions are the forms of the page with what they start out with.
func dailyQuestions(f figures, tanks []gaugedTank) []dailyQuestion {
	return []dailyQuestion{
		refractometerQuestion(f), dipQuestion(f, tanks), warmingQuestion(f), hmfQuestion(f),
	}
}

func refractometerQuestion(f figures) dailyQuestion {
	form := &calculatorForm{ID: "moisture", Title: "Refracto\u00admeter correction", Button: "Correct",
		Note: "What the instrument showed, as moisture at 20 \u00b0C.",
		Inputs: []calculatorInput{
			{Name: "scale", Label: "The instrument shows", Value: "refractive_index", Options: []calculatorOption{
				{Value: "refractive_index", Label: "refractive index"}, {Value: "brix_deg", Label: "degrees Brix"}, {Value: "honey_scale_pct", Label: "moisture (honey scale)"},
			}},
			{Name: "reading", Label: "Reading", Note: "1.4935, 81.2 or 17.4"},
			{Name: "sample_temperature_c", Label: "Sample", Unit: "\u00b0C", Value: "20"},
			{Name: "compensated", Label: "Temperature compensation", Value: "no", Options: []calculatorOption{
				{Value: "no", Label: "none: correct it"}, {Value: "yes", Label: "the instrument did it"},
			}},
			{Name: "instrument_std_uncertainty", Label: "Standard uncertainty", Note: "in the unit of the scale", Optional: true},
		}}
	answer := func(form *calculatorForm) (*calculatorAnswer, error) {
		in := openapi.CalculateMoistureParams{
			SampleTemperatureC: form.number("sample_temperature_c"), InstrumentStdUncertainty: form.number("instrument_std_uncertainty"),
			Compensated: ptr(form.text("compensated") == "yes"),
		}
		reading := form.number("reading")
		switch form.text("scale") {
		case "brix_deg":
			in.BrixDeg = reading
		case "honey_scale_pct":
			in.HoneyScalePct = reading
		default:
			in.RefractiveIndex = reading
		}
		if !form.complete() {
			return nil, nil
		}
		m, err := moistureAnswer(in)
		if err != nil {
			return nil, err
		}
		return (&calculatorAnswer{
			Headline: f.number(m.MoisturePct, 2) + " %", Beside: "moisture at 20 \u00b0C, \u00b1 " + f.number(m.StdUncertaintyPct, 2) + " (one standard uncertainty)",
			Lines: []calculatorLine{{Name: "refractive index at 20 \u00b0C", Figure: f.number(m.RefractiveIndexAt20C, 4)}},
		}).shown(m.Formulas, m.Flags, m.Cautions), nil
	}
	return dailyQuestion{form, answer, map[string]string{"refractive_index": "reading", "brix_deg": "reading", "honey_scale_pct": "reading"}}
}

func dipQuestion(f figures, tanks []gaugedTank) dailyQuestion {
	which := calculatorInput{Name: "tank", Label: "Tank"}
	for _, t := range tanks {
		which.Options = append(which.Options, calculatorOption{Value: t.id, Label: t.tank.Name})
	}
	which.Options = append(which.Options, calculatorOption{Value: "upright_cylinder", Label: "an upright cylinder of these measures"},
		calculatorOption{Value: "lying_cylinder", Label: "a lying cylinder of these measures"}, calculatorOption{Value: "box", Label: "a box of these measures"})
	which.Value = which.Options[0].Value
	form := &calculatorForm{ID: "dip", Title: "Dip to kilograms", Button: "Work out", Note: "The dip is from the lowest point inside up to the honey under the foam, with the tank level.",
		Inputs: []calculatorInput{
			which,
			{Name: "dip_cm", Label: "Dip", Unit: "cm"},
			{Name: "moisture_pct", Label: "Moisture", Unit: "%", Value: "17.4"},
			{Name: "temperature_c", Label: "Honey", Unit: "\u00b0C", Value: "25"},
			{Name: "dip_std_uncertainty_cm", Label: "Dip known to", Unit: "cm", Value: "0.5"},
			{Name: "diameter_cm", Label: "Diameter", Unit: "cm", Note: "of a cylinder", Optional: true},
			{Name: "height_cm", Label: "Height", Unit: "cm", Note: "upright cylinder, box", Optional: true},
			{Name: "length_cm", Label: "Length", Unit: "cm", Note: "lying cylinder, box", Optional: true},
			{Name: "width_cm", Label: "Width", Unit: "cm", Note: "of a box", Optional: true},
			{Name: "dish_depth_cm", Label: "Dished ends", Unit: "cm", Note: "of a lying cylinder", Optional: true},
		}}
	answer := func(form *calculatorForm) (*calculatorAnswer, error) {
		in := openapi.CalculateDipParams{
			Form: openapi.TankForm(form.text("tank")), DiameterCm: form.number("diameter_cm"), LengthCm: form.number("length_cm"),
			WidthCm: form.number("width_cm"), HeightCm: form.number("height_cm"), DishDepthCm: form.number("dish_depth_cm"),
			DipStdUncertaintyCm: form.number("dip_std_uncertainty_cm"), TemperatureC: form.number("temperature_c"),
		}
		dip, moisture := form.number("dip_cm"), form.number("moisture_pct")
		if !form.complete() {
			return nil, nil
		}
		in.DipCm, in.MoisturePct = *dip, *moisture
		content, err := dipOf(in, tanks)
		if err != nil {
			return nil, err
		}
		return dipShown(f, content), nil
	}
	return dailyQuestion{form, answer, map[string]string{"form": "tank", "dip_table_cm": "tank", "dip_table_l": "tank"}}
}

// dipOf gauges one of the outfit's tanks, or one of the measures given.
func dipOf(in openapi.CalculateDipParams, tanks []gaugedTank) (openapi.DipAnswer, error) {
	for _, t := range tanks {
		if t.id != string(in.Form) {
			continue
		}
		tank, err := t.tank.Shape.Gauge()
		if err != nil {
			return openapi.DipAnswer{}, askedDip("").refusal(err)
		}
		return contentAnswer(openapi.TankForm(t.tank.Shape.Form), tank, in.DipCm, *in.DipStdUncertaintyCm, in.MoisturePct, *in.TemperatureC)
	}
	return dipAnswer(in)
}

func dipShown(f figures, d openapi.DipAnswer) *calculatorAnswer {
	const gramsPerKg = 1000
	kilograms := f.number(d.MassKg, 1) + " kg"
	pounds := f.number(d.MassLb, 1) + " lb"
	uncertainty := f.number(d.StdUncertaintyKg, 1) + " kg"
	if f.grams != gramsPerKg {
		kilograms, pounds = pounds, kilograms
		uncertainty = f.number(d.StdUncertaintyKg/honey.KilogramsPerPound, 1) + " lb"
	}
	return (&calculatorAnswer{
		Headline: kilograms, Beside: fmt.Sprintf("(%s), \u00b1 %s (one standard uncertainty)", pounds, uncertainty),
		Lines: []calculatorLine{
			{Name: "volume", Figure: f.number(d.VolumeL, 1) + " L"},
			{Name: "to the rim", Figure: fmt.Sprintf("%s L, %s kg", f.number(d.FullL, 1), f.number(d.FullKg, 1))},
		},
	}).shown(d.Formulas, d.Flags, d.Cautions)
}
