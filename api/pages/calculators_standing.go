package pages

import (
	"pullbook/api/calculator"
	"pullbook/api/locale"
	"pullbook/api/wire"
	"pullbook/openapi"
)

// standingQuestion is about a drum or pail that stands in a hot room or a bath.
func standingQuestion(f locale.Voice) dailyQuestion {
	form := &askForm{figures: f, ID: "standing", Title: f.Say("Warming a drum that stands still"), Button: f.Say("Work out"),
		Note: f.Say("Heat reaches its core through the honey only. What is stirred, or flows once it is liquid, is warm sooner."),
		Inputs: []askInput{
			inUnit(f, "cm", "diameter_cm", f.Say("Diameter"), 57, 0),
			inUnit(f, "cm", "height_cm", f.Say("Height of the honey"), 85, 0),
			{Name: "moisture_pct", Label: f.Say("Moisture"), Unit: "%", Value: f.Typed(17.4, 1)},
			{Name: "crystals_pct", Label: f.Say("Set to crystals"), Unit: "%", Note: f.Say("set honey has 10 to 25"), Value: "15"},
			inUnit(f, "°C", "start_temperature_c", f.Say("Starts at"), 15, 0),
			inUnit(f, "°C", "room_temperature_c", f.Say("Room or bath"), 45, 0),
			inUnit(f, "°C", "target_temperature_c", f.Say("Core to come to"), 40, 0),
			{Name: "around", Label: f.Say("Around it"), Value: "still_air", Options: []askOption{
				{Value: "still_air", Label: f.Say("still air")}, {Value: "blown_air", Label: f.Say("air from a fan")}, {Value: "water", Label: f.Say("water")},
			}},
		}}
	answer := func(form *askForm) (*calculatorAnswer, error) {
		must := func(name string) float64 { return wire.OrZero(form.number(name)) }
		in := openapi.CalculateStandingContainerParams{
			DiameterCm: must("diameter_cm"), HeightCm: must("height_cm"), MoisturePct: must("moisture_pct"), CrystalsPct: form.number("crystals_pct"),
			StartTemperatureC: must("start_temperature_c"), RoomTemperatureC: must("room_temperature_c"), TargetTemperatureC: must("target_temperature_c"),
			Around: new(openapi.CalculateStandingContainerParamsAround(form.text("around"))),
		}
		if !form.complete() {
			return nil, nil
		}
		w, err := calculator.StandingContainerAnswer(in)
		if err != nil {
			return nil, err
		}
		out := &calculatorAnswer{
			Headline: lasts(f, w.HoursCore.Middle), Beside: f.Say("until its core is at %s", warmText(f, in.TargetTemperatureC)),
			Lines: []calculatorLine{
				{f.Say("core, at the soonest and the latest"), f.Say("%s to %s", lasts(f, w.HoursCore.Low), lasts(f, w.HoursCore.High)), f.Say("conductivities published for honey lie so far apart")},
				{f.Say("mean of the drum"), lasts(f, w.HoursMean.Middle), ""},
				{f.Say("honey at the wall by then"), warmText(f, w.WallTemperatureC), ""},
				{f.Say("heat that its crystals take up"), f.Number(w.MeltingKjPerKg, 1) + " kJ/kg", f.Say("counted in the hours")},
			},
		}
		return out.shown(f, w.Formulas, w.Flags, w.Cautions).holding(f, w.ValidFor), nil
	}
	return dailyQuestion{form, answer, nil}
}
