package pages

import (
	"pullbook/api/calculator"
	"pullbook/api/locale"
	"pullbook/domain/message"
	"pullbook/domain/units"
	"pullbook/openapi"
)

// dailyQuestions are the forms of the page with what they start out with.
func dailyQuestions(f locale.Voice, tanks []gaugedTank) []dailyQuestion {
	return []dailyQuestion{
		refractometerQuestion(f), dipQuestion(f, tanks), warmingQuestion(f), standingQuestion(f), hmfQuestion(f),
	}
}

func refractometerQuestion(f locale.Voice) dailyQuestion {
	form := &askForm{figures: f, ID: "moisture", Title: f.Say("Refracto\u00admeter correction"), Button: f.Say("Correct"),
		Note: f.Say("What the instrument showed, as moisture at %s.", message.Celsius(20)),
		Inputs: []askInput{
			{Name: "scale", Label: f.Say("The instrument shows"), Value: "refractive_index", Options: []askOption{
				{Value: "refractive_index", Label: f.Say("refractive index")}, {Value: "brix_deg", Label: f.Say("degrees Brix")}, {Value: "honey_scale_pct", Label: f.Say("moisture (honey scale)")},
			}},
			{Name: "reading", Label: f.Say("Reading"), Note: f.Say("%s, %s or %s", f.Typed(1.4935, 4), f.Typed(81.2, 1), f.Typed(17.4, 1))},
			inUnit(f, "°C", "sample_temperature_c", f.Say("Sample"), 20, 0),
			{Name: "compensated", Label: f.Say("Temperature compensation"), Value: "no", Options: []askOption{
				{Value: "no", Label: f.Say("none: correct it")}, {Value: "yes", Label: f.Say("the instrument did it")},
			}},
			{Name: "instrument_std_uncertainty", Label: f.Say("Standard uncertainty"), Note: f.Say("in the unit of the scale"), Optional: true},
		}}
	answer := func(form *askForm) (*calculatorAnswer, error) {
		in := openapi.CalculateMoistureParams{
			SampleTemperatureC: form.number("sample_temperature_c"), InstrumentStdUncertainty: form.number("instrument_std_uncertainty"),
			Compensated: new(form.text("compensated") == "yes"),
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
		m, err := calculator.MoistureAnswer(in)
		if err != nil {
			return nil, err
		}
		return (&calculatorAnswer{
			Headline: f.Number(m.MoisturePct, 2) + " %", Beside: f.Say("moisture at %s, \u00b1 %s (one standard uncertainty)", message.Celsius(20), f.Number(m.StdUncertaintyPct, 2)),
			Lines: []calculatorLine{{Name: f.Say("refractive index at %s", message.Celsius(20)), Figure: f.Number(m.RefractiveIndexAt20C, 4)}},
		}).shown(f, m.Formulas, m.Flags, m.Cautions).holding(f, m.ValidFor), nil
	}
	return dailyQuestion{form, answer, map[string]string{"refractive_index": "reading", "brix_deg": "reading", "honey_scale_pct": "reading"}}
}

func dipQuestion(f locale.Voice, tanks []gaugedTank) dailyQuestion {
	which := askInput{Name: "tank", Label: f.Say("Tank")}
	for _, t := range tanks {
		which.Options = append(which.Options, askOption{Value: t.id, Label: t.tank.Name})
	}
	which.Options = append(which.Options, askOption{Value: "upright_cylinder", Label: f.Say("an upright cylinder of these measures")},
		askOption{Value: "cone_bottom", Label: f.Say("an upright cylinder over a cone, of these measures")},
		askOption{Value: "lying_cylinder", Label: f.Say("a lying cylinder of these measures")}, askOption{Value: "box", Label: f.Say("a box of these measures")})
	which.Value = which.Options[0].Value
	form := &askForm{figures: f, ID: "dip", Title: f.Say("Dip to weight"), Button: f.Say("Work out"), Note: f.Say("The dip is from the lowest point inside up to the honey under the foam, with the tank level."),
		Inputs: []askInput{
			which,
			emptyInUnit(f, "cm", "dip_cm", f.Say("Dip")),
			{Name: "moisture_pct", Label: f.Say("Moisture"), Unit: "%", Value: f.Typed(17.4, 1)},
			inUnit(f, "°C", "temperature_c", f.Say("Honey"), 25, 0),
			inUnit(f, "cm", "dip_std_uncertainty_cm", f.Say("Dip known to"), 0.5, 1),
			emptyInUnit(f, "cm", "diameter_cm", f.Say("Diameter")).may(f.Say("of a cylinder")),
			emptyInUnit(f, "cm", "height_cm", f.Say("Height")).may(f.Say("upright cylinder, box; over a cone the whole height")),
			emptyInUnit(f, "cm", "cone_depth_cm", f.Say("Depth of the cone")).may(f.Say("of a cone at the bottom")),
			emptyInUnit(f, "cm", "length_cm", f.Say("Length")).may(f.Say("lying cylinder, box")),
			emptyInUnit(f, "cm", "width_cm", f.Say("Width")).may(f.Say("of a box")),
			emptyInUnit(f, "cm", "dish_depth_cm", f.Say("Dished ends")).may(f.Say("of a lying cylinder")),
		}}
	answer := func(form *askForm) (*calculatorAnswer, error) {
		in := openapi.CalculateDipParams{
			Form: openapi.TankForm(form.text("tank")), DiameterCm: form.number("diameter_cm"), LengthCm: form.number("length_cm"),
			WidthCm: form.number("width_cm"), HeightCm: form.number("height_cm"), DishDepthCm: form.number("dish_depth_cm"), ConeDepthCm: form.number("cone_depth_cm"),
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
			return openapi.DipAnswer{}, calculator.AskedDip("").Refusal(err)
		}
		return calculator.ContentAnswer(openapi.TankForm(t.tank.Shape.Form), tank, in.DipCm, *in.DipStdUncertaintyCm, in.MoisturePct, *in.TemperatureC)
	}
	return calculator.DipAnswer(in)
}

func dipShown(f locale.Voice, d openapi.DipAnswer) *calculatorAnswer {
	const gramsPerKg = 1000
	kilograms := f.Number(d.MassKg, 1) + " kg"
	pounds := f.Number(d.MassLb, 1) + " lb"
	uncertainty := f.Number(d.StdUncertaintyKg, 1) + " kg"
	if f.GramsPerUnit != gramsPerKg {
		kilograms, pounds = pounds, kilograms
		uncertainty = f.Number(d.StdUncertaintyKg/units.KilogramsPerPound, 1) + " lb"
	}
	return (&calculatorAnswer{
		Headline: kilograms, Beside: f.Say("(%s), \u00b1 %s (one standard uncertainty)", pounds, uncertainty),
		Lines: []calculatorLine{
			{Name: f.Say("volume"), Figure: litres(f, d.VolumeL)},
			{Name: f.Say("to the rim"), Figure: litres(f, d.FullL) + ", " + f.Number(d.FullKg*1000/f.GramsPerUnit, 1) + " " + f.Mass},
		},
	}).shown(f, d.Formulas, d.Flags, d.Cautions).holding(f, d.ValidFor)
}

// litres is a volume to a tenth, in the outfit's unit.
func litres(f locale.Voice, l float64) string {
	return f.Number(f.ToUnit("L", l), 1) + " " + f.Volume
}
