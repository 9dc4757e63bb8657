package pages

import (
	"math"
	"time"

	"pullbook/api/calculator"
	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/wire"
	"pullbook/domain/heat"
	"pullbook/openapi"
)

func band(f locale.Voice, b openapi.Band) string {
	return f.Say("%s (%s to %s)", f.Number(b.Middle, 1), f.Number(b.Low, 1), f.Number(b.High, 1))
}

// lasts writes hours as a person says them.
func lasts(f locale.Voice, hours float64) string {
	const day, year = 24, 24 * 365.25
	switch {
	case hours < 3*day:
		return f.Say("%s hours", f.Number(hours, 1))
	case hours < 2*year:
		return f.Say("%s days", f.Number(hours/day, 1))
	case hours < 100*year:
		return f.Say("%s years", f.Number(hours/year, 1))
	}
	return f.Say("more than 100 years")
}

func warmingQuestion(f locale.Voice) dailyQuestion {
	form := &askForm{figures: f, ID: "warming", Title: f.Say("Warming a tank"), Button: f.Say("Warm it"),
		Note: f.Say("One temperature for the whole tank. How much hotter the honey at the wall is, and how much of it, is an allowance that you state."),
		Inputs: []askInput{
			inUnit(f, "kg", "mass_kg", f.Say("Honey"), 1200, 0),
			{Name: "moisture_pct", Label: f.Say("Moisture"), Unit: "%", Value: f.Typed(17.4, 1)},
			inUnit(f, "°C", "start_temperature_c", f.Say("Starts at"), 22, 0),
			inUnit(f, "°C", "control_c", f.Say("Thermostat"), 45, 0),
			{Name: "heater_w", Label: f.Say("Heater"), Unit: "W", Value: "2500"},
			inUnit(f, "°C", "ambient_c", f.Say("Room"), 18, 0),
			{Name: "hours", Label: f.Say("For"), Unit: f.Say("hours"), Value: "36"},
			inUnit(f, "m2", "area_m2", f.Say("Outer surface"), 6, 0),
			inUnit(f, "mm", "insulation_mm", f.Say("Insulation"), 50, 0),
			{Name: "loss_w_per_k", Label: f.Say("Or its heat loss"), Unit: "W/K", Note: f.Say("in place of surface and insulation"), Optional: true},
			inUnit(f, "K", "wall_allowance_k", f.Say("Wall hotter by"), 10, 0),
			{Name: "wall_share", Label: f.Say("Share at the wall"), Note: f.Say("of 1"), Value: f.Typed(0.1, 1)},
			{Name: "hmf_mg_per_kg", Label: f.Say("HMF now"), Unit: "mg/kg", Value: "5"},
			{Name: "diastase_gothe", Label: f.Say("Diastase now"), Unit: "DN", Optional: true},
		}}
	answer := func(form *askForm) (*calculatorAnswer, error) {
		in := warmingOf(form)
		if !form.complete() {
			return nil, nil
		}
		w, err := calculator.WarmingAnswer(in)
		if err != nil {
			return nil, err
		}
		return warmingShown(f, in, w), nil
	}
	return dailyQuestion{form, answer, nil}
}

// warmingOf is the question that the form asks. It is whole only where the form
// is complete.
func warmingOf(form *askForm) *openapi.WarmingQuestion {
	must := func(name string) float64 { return wire.OrZero(form.number(name)) }
	in := &openapi.WarmingQuestion{
		Tank: openapi.WarmingTank{
			MassKg: must("mass_kg"), MoisturePct: must("moisture_pct"), LossWPerK: form.number("loss_w_per_k"),
			WallAllowanceK: form.number("wall_allowance_k"), WallShare: form.number("wall_share"),
		},
		StartTemperatureC: must("start_temperature_c"),
		Stages:            []openapi.WarmingStage{{Hours: must("hours"), HeaterW: must("heater_w"), ControlC: form.number("control_c"), AmbientC: must("ambient_c")}},
		Honey:             &openapi.HoneyState{HmfMgPerKg: form.number("hmf_mg_per_kg"), DiastaseGothe: form.number("diastase_gothe")},
		CurvePoints:       new(chartPoints),
	}
	if in.Tank.LossWPerK == nil {
		in.Tank.Surface = &openapi.WarmingSurface{AreaM2: must("area_m2"), InsulationMm: must("insulation_mm")}
	}
	return in
}

// chartPoints make a curve that looks smooth.
const chartPoints = 121

func warmingShown(f locale.Voice, in *openapi.WarmingQuestion, w openapi.WarmingAnswer) *calculatorAnswer {
	stage, control := w.Stages[0], *in.Stages[0].ControlC
	out := &calculatorAnswer{
		Headline: warmText(f, stage.EndTemperatureC.Middle),
		Beside:   f.Say("after %s", lasts(f, in.Stages[0].Hours)),
		Table:    chart.HeatRows(f, w.Curve),
	}
	if low, high := warmText(f, stage.EndTemperatureC.Low), warmText(f, stage.EndTemperatureC.High); low != high {
		out.Beside = f.Say("%s; %s to %s with the least and the most specific heat that honey has", out.Beside, low, high)
	}
	if h := stage.HoursToControl; h != nil {
		out.Lines = append(out.Lines, calculatorLine{f.Say("reaches %s after", warmText(f, control)), band(f, *h) + " h", ""})
	}
	if c := stage.CeilingC; c != nil {
		out.Lines = append(out.Lines, calculatorLine{f.Say("hottest that this heater could hold"), warmText(f, *c), f.Say("without a thermostat")})
	}
	out.Lines = append(out.Lines,
		calculatorLine{f.Say("heat from the heater"), band(f, w.Energy.HeaterKwh) + " kWh", f.Say("%s kWh of it lost to the room", f.Number(w.Energy.LostKwh, 1))},
		calculatorLine{f.Say("heat loss of the tank"), f.Number(w.LossWPerK, 1) + " W/K", ""},
	)
	for _, one := range []struct {
		name string
		is   openapi.HoneyForecast
	}{{f.Say("at the mean temperature"), w.Effect.Mean}, {f.Say("stirred, with the share at the wall"), w.Effect.Mixed}, {f.Say("at the wall all along, the worst case"), w.Effect.Wall}} {
		out.Lines = append(out.Lines, calculatorLine{f.Say("HMF afterwards, mg/kg"), band(f, one.is.HmfMgPerKg), one.name})
		if one.is.DiastaseGothe != nil {
			out.Lines = append(out.Lines, calculatorLine{f.Say("diastase afterwards, DN"), band(f, *one.is.DiastaseGothe), one.name})
		}
	}
	end := w.Curve[len(w.Curve)-1]
	out.ChartText = f.Say("Temperature from %s to %s and HMF from %s to %s mg/kg over %s hours. The table below has the figures.",
		warmText(f, in.StartTemperatureC), warmText(f, end.TemperatureC), f.Number(wire.OrZero(in.Honey.HmfMgPerKg), 1), band(f, end.Forecast.HmfMgPerKg), f.Number(end.Hours, 1))
	return out.shown(f, w.Formulas, w.Flags, w.Cautions).holding(f, w.ValidFor)
}

// warm is a temperature to a tenth, in the outfit's unit.
func warmText(f locale.Voice, celsius float64) string {
	return f.Number(f.Degrees(celsius), 1) + " " + f.Temperature
}

func hmfQuestion(f locale.Voice) dailyQuestion {
	form := &askForm{figures: f, ID: "hmf", Title: f.Say("Hours until HMF passes a limit"), Button: f.Say("Work out"), Note: f.Say("Kept at one temperature."),
		Inputs: []askInput{
			{Name: "hmf_mg_per_kg", Label: f.Say("HMF now"), Unit: "mg/kg", Value: "5"},
			{Name: "hmf_limit_mg_per_kg", Label: f.Say("Limit"), Unit: "mg/kg", Value: "40"},
			inUnit(f, "°C", "temperature_c", f.Say("Honey"), 45, 0),
		}}
	answer := func(form *askForm) (*calculatorAnswer, error) {
		in := hmfHoursOf(form)
		if !form.complete() {
			return nil, nil
		}
		until, err := calculator.HoursUntilHMFAnswer(in)
		if err != nil {
			return nil, err
		}
		return hmfShown(f, in, until)
	}
	return dailyQuestion{form, answer, nil}
}

func hmfHoursOf(form *askForm) openapi.CalculateHoursUntilHMFParams {
	return openapi.CalculateHoursUntilHMFParams{
		HmfMgPerKg: wire.OrZero(form.number("hmf_mg_per_kg")), HmfLimitMgPerKg: form.number("hmf_limit_mg_per_kg"), TemperatureC: wire.OrZero(form.number("temperature_c")),
	}
}

func hmfShown(f locale.Voice, in openapi.CalculateHoursUntilHMFParams, until openapi.HoursUntilAnswer) (*calculatorAnswer, error) {
	limit := f.Number(*in.HmfLimitMgPerKg, 1)
	out := &calculatorAnswer{Headline: lasts(f, until.Hours.Middle), Beside: f.Say("until HMF passes %s mg/kg in a middling honey", limit), Lines: []calculatorLine{
		{f.Say("a fast honey passes it after"), lasts(f, until.Hours.Low), f.Say("work by this one")},
		{f.Say("a slow honey passes it after"), lasts(f, until.Hours.High), f.Say("nine honeys in ten lie between the two")},
	}}
	if until.Hours.Middle > 0 {
		curve, err := holdingCurve(in, until.Hours)
		if err != nil {
			return nil, err
		}
		out.Table = chart.HeatRows(f, curve)
		out.ChartText = f.Say("HMF at %s from %s mg/kg up to the limit of %s: a fast honey is there after %s, a middling one after %s. The table below has the figures.",
			warmText(f, in.TemperatureC), f.Number(in.HmfMgPerKg, 1), limit, lasts(f, until.Hours.Low), lasts(f, until.Hours.Middle))
	}
	return out.shown(f, until.Formulas, until.Flags, until.Cautions).holding(f, until.ValidFor), nil
}

// holdingCurve is honey held at a temperature until a slow one has passed the
// limit, or for the ten years beyond which nothing was measured.
func holdingCurve(in openapi.CalculateHoursUntilHMFParams, until openapi.Band) ([]openapi.HeatCurvePoint, error) {
	const tenYears = 10 * 365.25 * 24
	hours := math.Min(1.1*until.High, tenYears)
	start := time.Unix(0, 0)
	end := start.Add(max(time.Second, time.Duration(hours*float64(time.Hour))))
	h, err := heat.FromSetPoints([]heat.SetPoint{{From: start, To: end, TemperatureC: in.TemperatureC}}, nil)
	if err != nil {
		return nil, err
	}
	return calculator.HeatCurve(heat.Default(), heat.State{HMFMgPerKg: in.HmfMgPerKg}, h, chartPoints)
}
