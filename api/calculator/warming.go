package calculator

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/openapi"
)

// CalculateWarming is the course of a tank that warms and cools.
func (s Handler) CalculateWarming(ctx echo.Context) error {
	return calculateFrom(s.Service, ctx, WarmingAnswer)
}

const usualCurvePoints = 60

// WarmingAnswer answers CalculateWarming: how a tank warms, stage by stage, and what that
// does to the honey.
func WarmingAnswer(in *openapi.WarmingQuestion) (out openapi.WarmingAnswer, err error) {
	w, err := warm(in)
	if err != nil {
		return out, err
	}
	k, err := ratesOf(in.Rates, "/rates")
	if err != nil {
		return out, err
	}
	start := stateOf(in.Honey)
	effect, err := w.middle.Effect(k, start)
	if err != nil {
		return out, w.tooHot(err)
	}
	h, err := w.middle.History(time.Time{})
	if err != nil {
		return out, askedWarming("/stages").Refusal(err)
	}
	if out.Curve, err = HeatCurve(k, start, h, wire.OrDefault(in.CurvePoints, usualCurvePoints)); err != nil {
		return out, askedState.Refusal(err)
	}
	out.LossWPerK, out.Stages, out.Energy = rounded(w.tank.LossWPerK), w.stagesOut(), w.energyOut()
	out.Effect = openapi.WarmingEffect{Mean: forecastOut(effect.Mean, start), Wall: forecastOut(effect.Wall, start), Mixed: forecastOut(effect.Mixed, start)}
	out.Formulas = append([]openapi.FormulaUsed{formulaWarming, formulaSpecificHeat}, heatFormulas(start, in.Rates)...)
	if in.Tank.Surface != nil {
		out.Formulas = append(out.Formulas, formulaSurfaceLoss)
	}
	out.Flags = append(calculatorFlags(effect.Wall.Flags), w.unreached()...)
	coldest, hottest := h.Extremes()
	out.ValidFor = openapi.ValidFor{restsOn(heat.MeasuredTemperature, coldest, hottest+w.tank.WallAllowanceK)}
	if in.Tank.SpecificHeatKjPerKgK == nil {
		var thermal openapi.ValidFor
		thermal, out.Flags = validFor(out.Flags, figureAsked{honey.ThermalMoisture, in.Tank.MoisturePct})
		out.ValidFor = append(out.ValidFor, thermal...)
	}
	out.Cautions = request.Said(append([]message.Text{quality.CautionStirred}, append(heatCautions(hottest+w.tank.WallAllowanceK), quality.CautionHeater)...))
	return out, nil
}

// warming is a tank's course with the specific heat as it is figured, and with
// the least and the most that published honey has. The heat capacity is what
// counts, so the mass is made to carry the difference.
type warming struct {
	tank                   heat.Tank
	stages                 []heat.Stage
	light, middle, weighty heat.Course
}

func warm(in *openapi.WarmingQuestion) (w warming, err error) {
	if w.tank, err = warmingTank(in.Tank); err != nil {
		return w, err
	}
	if w.stages, err = warmingStages(in.Stages); err != nil {
		return w, err
	}
	low, high := specificHeatLow, specificHeatHigh
	if in.Tank.SpecificHeatKjPerKgK != nil {
		low, high = 1, 1
	}
	for _, one := range []struct {
		factor float64
		course *heat.Course
	}{{1, &w.middle}, {low, &w.light}, {high, &w.weighty}} {
		tank := w.tank
		tank.MassKg *= one.factor
		if *one.course, err = heat.Warm(tank, in.StartTemperatureC, w.stages); err != nil {
			return w, askedWarming("/stages").Refusal(err)
		}
	}
	return w, nil
}

func warmingTank(in openapi.WarmingTank) (heat.Tank, error) {
	tank := heat.Tank{
		MassKg: in.MassKg, MoisturePct: in.MoisturePct, SpecificHeatKJPerKgK: wire.OrZero(in.SpecificHeatKjPerKgK),
		WallAllowanceK: wire.OrDefault(in.WallAllowanceK, 10), WallShare: wire.OrDefault(in.WallShare, 0.1),
	}
	form, err := oneOf("/tank/", map[string]bool{"loss_w_per_k": in.LossWPerK != nil, "surface": in.Surface != nil})
	if err != nil {
		return tank, err
	}
	if form == "loss_w_per_k" {
		tank.LossWPerK = *in.LossWPerK
		return tank, nil
	}
	tank.LossWPerK, err = heat.LossOfSurface(in.Surface.AreaM2, in.Surface.InsulationMm, wire.OrDefault(in.Surface.InsulationConductivityWPerMK, 0.035))
	if err != nil {
		return tank, askedWarming("/tank/surface").Refusal(err)
	}
	return tank, nil
}

func warmingStages(in []openapi.WarmingStage) ([]heat.Stage, error) {
	out := make([]heat.Stage, len(in))
	for i, s := range in {
		if s.HeaterW > 0 && s.ControlC == nil {
			return nil, unanswerable(fault.Field{Pointer: fmt.Sprintf("/stages/%d/control_c", i), Message: message.F("A heater needs a control point: the temperature from %s to %s at which its thermostat holds the tank.", message.Celsius(0), message.Celsius(95))})
		}
		out[i] = heat.Stage{Hours: s.Hours, HeaterW: s.HeaterW, ControlC: wire.OrZero(s.ControlC), AmbientC: s.AmbientC}
	}
	return out, nil
}

// askedWarming says where the figures of a warming are.
func askedWarming(otherwise string) asked {
	fields := map[string]string{
		"mass": "/tank/mass_kg", "moisture": "/tank/moisture_pct", "loss coefficient": "/tank/loss_w_per_k",
		"specific heat": "/tank/specific_heat_kj_per_kg_k", "wall allowance": "/tank/wall_allowance_k",
		"share of honey at the wall": "/tank/wall_share",
		"temperature at the start":   "/start_temperature_c", "surface of the tank": "/tank/surface/area_m2",
		"insulation": "/tank/surface/insulation_mm", "conductivity of the insulation": "/tank/surface/insulation_conductivity_w_per_m_k",
		"heater power": "heater_w", "temperature around the tank": "ambient_c", "control point": "control_c",
	}
	for quantity, pointer := range askedState.fields {
		fields[quantity] = pointer
	}
	return asked{fields: fields, lists: map[string]string{"stage": "/stages"}, otherwise: otherwise}
}

// tooHot refuses an allowance that has honey boil at the wall: a figure that
// nobody sent, so what came has to be said otherwise.
func (w warming) tooHot(err error) error {
	var outside *honey.RangeError
	if !errors.As(err, &outside) || outside.Quantity != "temperature at the wall" {
		return askedWarming(askedState.otherwise).Refusal(err)
	}
	return unanswerable(fault.Field{Pointer: "/tank/wall_allowance_k", Sent: w.tank.WallAllowanceK,
		Message: message.F("The honey at the wall would reach %s. Above %s nothing can be calculated: give a smaller allowance for the wall or a lower thermostat temperature.", message.Celsius(outside.Got), message.Celsius(100))})
}

func (w warming) stagesOut() []openapi.WarmingStageAnswer {
	out := make([]openapi.WarmingStageAnswer, len(w.stages))
	began := 0.0
	for i, s := range w.stages {
		ended := began + s.Hours
		// More heat capacity warms and cools more slowly: which of the three ends
		// coldest depends on the stage.
		ends := []float64{w.light.TemperatureC(ended), w.middle.TemperatureC(ended), w.weighty.TemperatureC(ended)}
		out[i].EndTemperatureC = bandOut(heat.Band{Low: min(ends[0], ends[1], ends[2]), Middle: ends[1], High: max(ends[0], ends[1], ends[2])})
		if s.HeaterW > 0 {
			out[i].HoursToControl = w.hoursToControl(began, s)
			if ceiling := w.tank.CeilingC(s); !math.IsInf(ceiling, 1) {
				out[i].CeilingC = new(rounded(ceiling))
			}
		}
		began = ended
	}
	return out
}

// hoursToControl is nil where even one of the three does not get there within
// the stage.
func (w warming) hoursToControl(began float64, s heat.Stage) *openapi.Band {
	const rounding = 1e-6
	var hours [3]float64
	for i, c := range []heat.Course{w.light, w.middle, w.weighty} {
		reached, ever := c.HoursTo(s.ControlC)
		if began > 0 && c.TemperatureC(began) >= s.ControlC-rounding {
			reached = began
		}
		if !ever || reached < began-rounding || reached > began+s.Hours+rounding {
			return nil
		}
		hours[i] = max(0, reached-began)
	}
	return new(bandOut(heat.Band{Low: hours[0], Middle: hours[1], High: hours[2]}))
}

func (w warming) energyOut() openapi.WarmingEnergy {
	e := w.middle.Energy()
	return openapi.WarmingEnergy{
		HeaterKwh: bandOut(heat.Band{Low: w.light.Energy().HeaterKWh, Middle: e.HeaterKWh, High: w.weighty.Energy().HeaterKWh}),
		HoneyKwh:  rounded(e.HoneyKWh), LostKwh: rounded(e.LostKWh),
	}
}

// unreached marks the heated stages that end short of their control point.
func (w warming) unreached() []openapi.CalculatorFlag {
	var out []openapi.CalculatorFlag
	ended := 0.0
	for i, s := range w.stages {
		ended += s.Hours
		ends := w.middle.TemperatureC(ended)
		if s.HeaterW == 0 || ends >= s.ControlC-0.05 {
			continue
		}
		text := fmt.Sprintf("Stage %d ends at %.1f C, short of its control point of %.4g C", i+1, ends, s.ControlC)
		if ceiling := w.tank.CeilingC(s); ceiling <= s.ControlC {
			text += fmt.Sprintf(": at %.1f C the losses eat the whole power of the heater", ceiling)
		}
		out = append(out, openapi.CalculatorFlag{Code: "control-point-not-reached", Sentence: text + "."})
	}
	return out
}

// CalculateLossCoefficient is the heat loss of a tank by its own log.
func (s Handler) CalculateLossCoefficient(ctx echo.Context) error {
	return calculateFrom(s.Service, ctx, lossAnswer)
}

func lossAnswer(in *openapi.LossCoefficientQuestion) (out openapi.LossCoefficientAnswer, err error) {
	log, odd, err := historyOf(in.Log, "/log")
	if err != nil {
		return out, err
	}
	fit, err := heat.FitLoss(heat.Tank{MassKg: in.MassKg, MoisturePct: in.MoisturePct}, log, in.HeaterW, in.AmbientC)
	if err != nil {
		return out, asked{fields: map[string]string{
			"mass": "/mass_kg", "moisture": "/moisture_pct", "heater power": "/heater_w", "temperature around the tank": "/ambient_c",
		}, otherwise: "/log"}.Refusal(err)
	}
	coldest, hottest := log.Extremes()
	ranges, flags := validFor(calculatorFlags(append(odd, log.Flags()...)), figureAsked{honey.ThermalMoisture, in.MoisturePct}, furthest(honey.ThermalTemperature, coldest, hottest))
	return openapi.LossCoefficientAnswer{
		LossWPerK: rounded(fit.LossWPerK), StdUncertaintyWPerK: rounded(fit.SDWPerK), RmsK: rounded(fit.RMSKelvin),
		Formulas: []openapi.FormulaUsed{formulaFittedLoss, formulaSpecificHeat}, Flags: flags, ValidFor: ranges,
		Cautions: append(warmCautions(hottest), quality.CautionSensor.String()),
	}, nil
}
