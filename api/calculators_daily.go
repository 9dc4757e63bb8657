package api

import (
	"pullbook/domain/message"
	"pullbook/domain/units"
	"pullbook/openapi"
)

// dailyQuestions are the forms of the page with what they start out with.
func dailyQuestions(f figures, tanks []gaugedTank) []dailyQuestion {
	return []dailyQuestion{
		refractometerQuestion(f), dipQuestion(f, tanks), warmingQuestion(f), hmfQuestion(f),
	}
}

func refractometerQuestion(f figures) dailyQuestion {
	form := &calculatorForm{figures: f, ID: "moisture", Title: f.say("Refracto\u00admeter correction"), Button: f.say("Correct"),
		Note: f.say("What the instrument showed, as moisture at %s.", message.Celsius(20)),
		Inputs: []calculatorInput{
			{Name: "scale", Label: f.say("The instrument shows"), Value: "refractive_index", Options: []calculatorOption{
				{Value: "refractive_index", Label: f.say("refractive index")}, {Value: "brix_deg", Label: f.say("degrees Brix")}, {Value: "honey_scale_pct", Label: f.say("moisture (honey scale)")},
			}},
			{Name: "reading", Label: f.say("Reading"), Note: f.say("%s, %s or %s", f.typed(1.4935, 4), f.typed(81.2, 1), f.typed(17.4, 1))},
			f.inUnit("°C", "sample_temperature_c", f.say("Sample"), 20, 0),
			{Name: "compensated", Label: f.say("Temperature compensation"), Value: "no", Options: []calculatorOption{
				{Value: "no", Label: f.say("none: correct it")}, {Value: "yes", Label: f.say("the instrument did it")},
			}},
			{Name: "instrument_std_uncertainty", Label: f.say("Standard uncertainty"), Note: f.say("in the unit of the scale"), Optional: true},
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
			Headline: f.number(m.MoisturePct, 2) + " %", Beside: f.say("moisture at %s, \u00b1 %s (one standard uncertainty)", message.Celsius(20), f.number(m.StdUncertaintyPct, 2)),
			Lines: []calculatorLine{{Name: f.say("refractive index at %s", message.Celsius(20)), Figure: f.number(m.RefractiveIndexAt20C, 4)}},
		}).shown(f, m.Formulas, m.Flags, m.Cautions), nil
	}
	return dailyQuestion{form, answer, map[string]string{"refractive_index": "reading", "brix_deg": "reading", "honey_scale_pct": "reading"}}
}

func dipQuestion(f figures, tanks []gaugedTank) dailyQuestion {
	which := calculatorInput{Name: "tank", Label: f.say("Tank")}
	for _, t := range tanks {
		which.Options = append(which.Options, calculatorOption{Value: t.id, Label: t.tank.Name})
	}
	which.Options = append(which.Options, calculatorOption{Value: "upright_cylinder", Label: f.say("an upright cylinder of these measures")},
		calculatorOption{Value: "lying_cylinder", Label: f.say("a lying cylinder of these measures")}, calculatorOption{Value: "box", Label: f.say("a box of these measures")})
	which.Value = which.Options[0].Value
	form := &calculatorForm{figures: f, ID: "dip", Title: f.say("Dip to weight"), Button: f.say("Work out"), Note: f.say("The dip is from the lowest point inside up to the honey under the foam, with the tank level."),
		Inputs: []calculatorInput{
			which,
			f.emptyInUnit("cm", "dip_cm", f.say("Dip")),
			{Name: "moisture_pct", Label: f.say("Moisture"), Unit: "%", Value: f.typed(17.4, 1)},
			f.inUnit("°C", "temperature_c", f.say("Honey"), 25, 0),
			f.inUnit("cm", "dip_std_uncertainty_cm", f.say("Dip known to"), 0.5, 1),
			f.emptyInUnit("cm", "diameter_cm", f.say("Diameter")).may(f.say("of a cylinder")),
			f.emptyInUnit("cm", "height_cm", f.say("Height")).may(f.say("upright cylinder, box")),
			f.emptyInUnit("cm", "length_cm", f.say("Length")).may(f.say("lying cylinder, box")),
			f.emptyInUnit("cm", "width_cm", f.say("Width")).may(f.say("of a box")),
			f.emptyInUnit("cm", "dish_depth_cm", f.say("Dished ends")).may(f.say("of a lying cylinder")),
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
		uncertainty = f.number(d.StdUncertaintyKg/units.KilogramsPerPound, 1) + " lb"
	}
	return (&calculatorAnswer{
		Headline: kilograms, Beside: f.say("(%s), \u00b1 %s (one standard uncertainty)", pounds, uncertainty),
		Lines: []calculatorLine{
			{Name: f.say("volume"), Figure: f.litres(d.VolumeL)},
			{Name: f.say("to the rim"), Figure: f.litres(d.FullL) + ", " + f.number(d.FullKg*1000/f.grams, 1) + " " + f.Mass},
		},
	}).shown(f, d.Formulas, d.Flags, d.Cautions)
}

// litres is a volume to a tenth, in the outfit's unit.
func (f figures) litres(l float64) string {
	if f.us() {
		l /= litresPerGallon
	}
	return f.number(l, 1) + " " + f.Volume
}
