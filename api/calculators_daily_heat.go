package api

import (
	"math"
	"time"

	"pullbook/domain/heat"
	"pullbook/openapi"
)

// heatRow is a line of the table under a chart.
type heatRow struct{ Hours, Temperature, Low, Middle, High string }

// rowsUnderChart are enough to read the course off without the chart.
const rowsUnderChart = 9

func heatRows(f figures, curve []openapi.HeatCurvePoint) []heatRow {
	var out []heatRow
	for i := range rowsUnderChart {
		p := curve[i*(len(curve)-1)/(rowsUnderChart-1)]
		hmf := p.Forecast.HmfMgPerKg
		out = append(out, heatRow{f.number(p.Hours, 1), f.number(f.degrees(p.TemperatureC), 1), f.number(hmf.Low, 1), f.number(hmf.Middle, 1), f.number(hmf.High, 1)})
	}
	return out
}

func (f figures) band(b openapi.Band, places int) string {
	return f.say("%s (%s to %s)", f.number(b.Middle, places), f.number(b.Low, places), f.number(b.High, places))
}

// lasts writes hours as a person says them.
func (f figures) lasts(hours float64) string {
	const day, year = 24, 24 * 365.25
	switch {
	case hours < 3*day:
		return f.say("%s hours", f.number(hours, 1))
	case hours < 2*year:
		return f.say("%s days", f.number(hours/day, 1))
	case hours < 100*year:
		return f.say("%s years", f.number(hours/year, 1))
	}
	return f.say("more than 100 years")
}

func warmingQuestion(f figures) dailyQuestion {
	form := &calculatorForm{figures: f, ID: "warming", Title: f.say("Warming a tank"), Button: f.say("Warm it"),
		Note: f.say("One temperature for the whole tank. How much hotter the honey at the wall is, and how much of it, is an allowance that you state."),
		Inputs: []calculatorInput{
			f.inUnit("kg", "mass_kg", f.say("Honey"), 1200, 0),
			{Name: "moisture_pct", Label: f.say("Moisture"), Unit: "%", Value: f.typed(17.4, 1)},
			f.inUnit("°C", "start_temperature_c", f.say("Starts at"), 22, 0),
			f.inUnit("°C", "control_c", f.say("Thermostat"), 45, 0),
			{Name: "heater_w", Label: f.say("Heater"), Unit: "W", Value: "2500"},
			f.inUnit("°C", "ambient_c", f.say("Room"), 18, 0),
			{Name: "hours", Label: f.say("For"), Unit: f.say("hours"), Value: "36"},
			f.inUnit("m2", "area_m2", f.say("Outer surface"), 6, 0),
			f.inUnit("mm", "insulation_mm", f.say("Insulation"), 50, 0),
			{Name: "loss_w_per_k", Label: f.say("Or its heat loss"), Unit: "W/K", Note: f.say("in place of surface and insulation"), Optional: true},
			f.inUnit("K", "wall_allowance_k", f.say("Wall hotter by"), 10, 0),
			{Name: "wall_share", Label: f.say("Share at the wall"), Note: f.say("of 1"), Value: f.typed(0.1, 1)},
			{Name: "hmf_mg_per_kg", Label: f.say("HMF now"), Unit: "mg/kg", Value: "5"},
			{Name: "diastase_gothe", Label: f.say("Diastase now"), Unit: "DN", Optional: true},
		}}
	answer := func(form *calculatorForm) (*calculatorAnswer, error) {
		in := warmingOf(form)
		if !form.complete() {
			return nil, nil
		}
		w, err := warmingAnswer(in)
		if err != nil {
			return nil, err
		}
		return warmingShown(f, in, w), nil
	}
	return dailyQuestion{form, answer, nil}
}

// warmingOf is the question that the form asks. It is whole only where the form
// is complete.
func warmingOf(form *calculatorForm) *openapi.WarmingQuestion {
	must := func(name string) float64 { return orZero(form.number(name)) }
	in := &openapi.WarmingQuestion{
		Tank: openapi.WarmingTank{
			MassKg: must("mass_kg"), MoisturePct: must("moisture_pct"), LossWPerK: form.number("loss_w_per_k"),
			WallAllowanceK: form.number("wall_allowance_k"), WallShare: form.number("wall_share"),
		},
		StartTemperatureC: must("start_temperature_c"),
		Stages:            []openapi.WarmingStage{{Hours: must("hours"), HeaterW: must("heater_w"), ControlC: form.number("control_c"), AmbientC: must("ambient_c")}},
		Honey:             &openapi.HoneyState{HmfMgPerKg: form.number("hmf_mg_per_kg"), DiastaseGothe: form.number("diastase_gothe")},
		CurvePoints:       ptr(chartPoints),
	}
	if in.Tank.LossWPerK == nil {
		in.Tank.Surface = &openapi.WarmingSurface{AreaM2: must("area_m2"), InsulationMm: must("insulation_mm")}
	}
	return in
}

// chartPoints make a curve that looks smooth.
const chartPoints = 121

func warmingShown(f figures, in *openapi.WarmingQuestion, w openapi.WarmingAnswer) *calculatorAnswer {
	stage, control := w.Stages[0], *in.Stages[0].ControlC
	out := &calculatorAnswer{
		Headline: f.warm(stage.EndTemperatureC.Middle),
		Beside:   f.say("after %s", f.lasts(in.Stages[0].Hours)),
		Table:    heatRows(f, w.Curve),
	}
	if low, high := f.warm(stage.EndTemperatureC.Low), f.warm(stage.EndTemperatureC.High); low != high {
		out.Beside = f.say("%s; %s to %s with the least and the most specific heat that honey has", out.Beside, low, high)
	}
	if h := stage.HoursToControl; h != nil {
		out.Lines = append(out.Lines, calculatorLine{f.say("reaches %s after", f.warm(control)), f.band(*h, 1) + " h", ""})
	}
	if c := stage.CeilingC; c != nil {
		out.Lines = append(out.Lines, calculatorLine{f.say("hottest that this heater could hold"), f.warm(*c), f.say("without a thermostat")})
	}
	out.Lines = append(out.Lines,
		calculatorLine{f.say("heat from the heater"), f.band(w.Energy.HeaterKwh, 1) + " kWh", f.say("%s kWh of it lost to the room", f.number(w.Energy.LostKwh, 1))},
		calculatorLine{f.say("heat loss of the tank"), f.number(w.LossWPerK, 1) + " W/K", ""},
	)
	for _, one := range []struct {
		name string
		is   openapi.HoneyForecast
	}{{f.say("at the mean temperature"), w.Effect.Mean}, {f.say("stirred, with the share at the wall"), w.Effect.Mixed}, {f.say("at the wall all along, the worst case"), w.Effect.Wall}} {
		out.Lines = append(out.Lines, calculatorLine{f.say("HMF afterwards, mg/kg"), f.band(one.is.HmfMgPerKg, 1), one.name})
		if one.is.DiastaseGothe != nil {
			out.Lines = append(out.Lines, calculatorLine{f.say("diastase afterwards, DN"), f.band(*one.is.DiastaseGothe, 1), one.name})
		}
	}
	end := w.Curve[len(w.Curve)-1]
	out.ChartText = f.say("Temperature from %s to %s and HMF from %s to %s mg/kg over %s hours. The table below has the figures.",
		f.warm(in.StartTemperatureC), f.warm(end.TemperatureC), f.number(orZero(in.Honey.HmfMgPerKg), 1), f.band(end.Forecast.HmfMgPerKg, 1), f.number(end.Hours, 1))
	return out.shown(f, w.Formulas, w.Flags, w.Cautions)
}

// warm is a temperature to a tenth, in the outfit's unit.
func (f figures) warm(celsius float64) string {
	return f.number(f.degrees(celsius), 1) + " " + f.Temperature
}

func hmfQuestion(f figures) dailyQuestion {
	form := &calculatorForm{figures: f, ID: "hmf", Title: f.say("Hours until HMF passes a limit"), Button: f.say("Work out"), Note: f.say("Kept at one temperature."),
		Inputs: []calculatorInput{
			{Name: "hmf_mg_per_kg", Label: f.say("HMF now"), Unit: "mg/kg", Value: "5"},
			{Name: "hmf_limit_mg_per_kg", Label: f.say("Limit"), Unit: "mg/kg", Value: "40"},
			f.inUnit("°C", "temperature_c", f.say("Honey"), 45, 0),
		}}
	answer := func(form *calculatorForm) (*calculatorAnswer, error) {
		in := hmfHoursOf(form)
		if !form.complete() {
			return nil, nil
		}
		until, err := hoursUntilHMFAnswer(in)
		if err != nil {
			return nil, err
		}
		return hmfShown(f, in, until)
	}
	return dailyQuestion{form, answer, nil}
}

func hmfHoursOf(form *calculatorForm) openapi.CalculateHoursUntilHMFParams {
	return openapi.CalculateHoursUntilHMFParams{
		HmfMgPerKg: orZero(form.number("hmf_mg_per_kg")), HmfLimitMgPerKg: form.number("hmf_limit_mg_per_kg"), TemperatureC: orZero(form.number("temperature_c")),
	}
}

func hmfShown(f figures, in openapi.CalculateHoursUntilHMFParams, until openapi.HoursUntilAnswer) (*calculatorAnswer, error) {
	limit := f.number(*in.HmfLimitMgPerKg, 1)
	out := &calculatorAnswer{Headline: f.lasts(until.Hours.Middle), Beside: f.say("until HMF passes %s mg/kg in a middling honey", limit), Lines: []calculatorLine{
		{f.say("a fast honey passes it after"), f.lasts(until.Hours.Low), f.say("work by this one")},
		{f.say("a slow honey passes it after"), f.lasts(until.Hours.High), f.say("nine honeys in ten lie between the two")},
	}}
	if until.Hours.Middle > 0 {
		curve, err := holdingCurve(in, until.Hours)
		if err != nil {
			return nil, err
		}
		out.Table = heatRows(f, curve)
		out.ChartText = f.say("HMF at %s from %s mg/kg up to the limit of %s: a fast honey is there after %s, a middling one after %s. The table below has the figures.",
			f.warm(in.TemperatureC), f.number(in.HmfMgPerKg, 1), limit, f.lasts(until.Hours.Low), f.lasts(until.Hours.Middle))
	}
	return out.shown(f, until.Formulas, until.Flags, until.Cautions), nil
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
	return heatCurve(heat.Default(), heat.State{HMFMgPerKg: in.HmfMgPerKg}, h, chartPoints)
}
