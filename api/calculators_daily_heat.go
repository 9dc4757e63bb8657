package api

import (
	"fmt"
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
		out = append(out, heatRow{f.number(p.Hours, 1), f.number(p.TemperatureC, 1), f.number(hmf.Low, 1), f.number(hmf.Middle, 1), f.number(hmf.High, 1)})
	}
	return out
}

func (f figures) band(b openapi.Band, places int) string {
	return fmt.Sprintf("%s (%s to %s)", f.number(b.Middle, places), f.number(b.Low, places), f.number(b.High, places))
}

// lasts writes hours as a person says them.
func (f figures) lasts(hours float64) string {
	const day, year = 24, 24 * 365.25
	switch {
	case hours < 3*day:
		return f.number(hours, 1) + " hours"
	case hours < 2*year:
		return f.number(hours/day, 1) + " days"
	case hours < 100*year:
		return f.number(hours/year, 1) + " years"
	}
	return "more than 100 years"
}

func warmingQuestion(f figures) dailyQuestion {
	form := &calculatorForm{ID: "warming", Title: "Warming a tank", Button: "Warm it",
		Note: "One temperature for the whole tank. How much hotter the honey at the wall is, and how much of it, is an allowance that you state.",
		Inputs: []calculatorInput{
			{Name: "mass_kg", Label: "Honey", Unit: "kg", Value: "1200"},
			{Name: "moisture_pct", Label: "Moisture", Unit: "%", Value: "17.4"},
			{Name: "start_temperature_c", Label: "Starts at", Unit: "\u00b0C", Value: "22"},
			{Name: "control_c", Label: "Thermostat", Unit: "\u00b0C", Value: "45"},
			{Name: "heater_w", Label: "Heater", Unit: "W", Value: "2500"},
			{Name: "ambient_c", Label: "Room", Unit: "\u00b0C", Value: "18"},
			{Name: "hours", Label: "For", Unit: "hours", Value: "36"},
			{Name: "area_m2", Label: "Outer surface", Unit: "m\u00b2", Value: "6"},
			{Name: "insulation_mm", Label: "Insulation", Unit: "mm", Value: "50"},
			{Name: "loss_w_per_k", Label: "Or its heat loss", Unit: "W/K", Note: "in place of surface and insulation", Optional: true},
			{Name: "wall_allowance_k", Label: "Wall hotter by", Unit: "K", Value: "10"},
			{Name: "wall_share", Label: "Share at the wall", Note: "of 1", Value: "0.1"},
			{Name: "hmf_mg_per_kg", Label: "HMF now", Unit: "mg/kg", Value: "5"},
			{Name: "diastase_dn", Label: "Diastase now", Unit: "DN", Optional: true},
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
		Honey:             &openapi.HoneyState{HmfMgPerKg: form.number("hmf_mg_per_kg"), DiastaseDn: form.number("diastase_dn")},
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
		Headline: f.number(stage.EndTemperatureC.Middle, 1) + " \u00b0C",
		Beside:   "after " + f.lasts(in.Stages[0].Hours),
		Table:    heatRows(f, w.Curve),
	}
	if low, high := f.number(stage.EndTemperatureC.Low, 1), f.number(stage.EndTemperatureC.High, 1); low != high {
		out.Beside += fmt.Sprintf("; %s to %s \u00b0C with the least and the most specific heat that honey has", low, high)
	}
	if h := stage.HoursToControl; h != nil {
		out.Lines = append(out.Lines, calculatorLine{"reaches " + f.number(control, 1) + " \u00b0C after", f.band(*h, 1) + " h", ""})
	}
	if c := stage.CeilingC; c != nil {
		out.Lines = append(out.Lines, calculatorLine{"hottest that this heater could hold", f.number(*c, 1) + " \u00b0C", "without a thermostat"})
	}
	out.Lines = append(out.Lines,
		calculatorLine{"heat from the heater", f.band(w.Energy.HeaterKwh, 1) + " kWh", f.number(w.Energy.LostKwh, 1) + " kWh of it lost to the room"},
		calculatorLine{"heat loss of the tank", f.number(w.LossWPerK, 1) + " W/K", ""},
	)
	for _, one := range []struct {
		name string
		is   openapi.HoneyForecast
	}{{"at the mean temperature", w.Effect.Mean}, {"stirred, with the share at the wall", w.Effect.Mixed}, {"at the wall all along, the worst case", w.Effect.Wall}} {
		out.Lines = append(out.Lines, calculatorLine{"HMF afterwards, mg/kg", f.band(one.is.HmfMgPerKg, 1), one.name})
		if one.is.DiastaseDn != nil {
			out.Lines = append(out.Lines, calculatorLine{"diastase afterwards, DN", f.band(*one.is.DiastaseDn, 1), one.name})
		}
	}
	end := w.Curve[len(w.Curve)-1]
	out.ChartText = fmt.Sprintf("Temperature from %s to %s °C and HMF from %s to %s mg/kg over %s hours. The table below has the figures.",
		f.number(in.StartTemperatureC, 1), f.number(end.TemperatureC, 1), f.number(orZero(in.Honey.HmfMgPerKg), 1), f.band(end.Forecast.HmfMgPerKg, 1), f.number(end.Hours, 1))
	return out.shown(w.Formulas, w.Flags, w.Cautions)
}

func hmfQuestion(f figures) dailyQuestion {
	form := &calculatorForm{ID: "hmf", Title: "Hours until HMF passes a limit", Button: "Work out", Note: "Kept at one temperature.",
		Inputs: []calculatorInput{
			{Name: "hmf_mg_per_kg", Label: "HMF now", Unit: "mg/kg", Value: "5"},
			{Name: "hmf_limit_mg_per_kg", Label: "Limit", Unit: "mg/kg", Value: "40"},
			{Name: "temperature_c", Label: "Honey", Unit: "\u00b0C", Value: "45"},
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
	out := &calculatorAnswer{Headline: f.lasts(until.Hours.Middle), Beside: "until HMF passes " + limit + " mg/kg in a middling honey", Lines: []calculatorLine{
		{"a fast honey passes it after", f.lasts(until.Hours.Low), "work by this one"},
		{"a slow honey passes it after", f.lasts(until.Hours.High), "nine honeys in ten lie between the two"},
	}}
	if until.Hours.Middle > 0 {
		curve, err := holdingCurve(in, until.Hours)
		if err != nil {
			return nil, err
		}
		out.Table = heatRows(f, curve)
		out.ChartText = fmt.Sprintf("HMF at %s °C from %s mg/kg up to the limit of %s: a fast honey is there after %s, a middling one after %s. The table below has the figures.",
			f.number(in.TemperatureC, 1), f.number(in.HmfMgPerKg, 1), limit, f.lasts(until.Hours.Low), f.lasts(until.Hours.Middle))
	}
	return out.shown(until.Formulas, until.Flags, until.Cautions), nil
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
