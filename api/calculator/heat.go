package calculator

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/domain/heat"
	"pullbook/domain/quality"
	"pullbook/openapi"
)

// CalculateHeatExposure is what a temperature history does to a honey.
func (s Handler) CalculateHeatExposure(ctx echo.Context) error {
	return calculateFrom(s.Service, ctx, exposureAnswer)
}

func exposureAnswer(in *openapi.HeatExposureQuestion) (out openapi.HeatExposureAnswer, err error) {
	h, odd, err := historyOf(in.History, "/history")
	if err != nil {
		return out, err
	}
	k, err := ratesOf(in.Rates, "/rates")
	if err != nil {
		return out, err
	}
	start := stateOf(in.Honey)
	f, err := k.Forecast(start, h)
	if err != nil {
		return out, askedState.Refusal(err)
	}
	if out.Equivalent, err = equivalentOut(k, h, wire.OrDefault(in.ReferenceTemperatureC, 20)); err != nil {
		return out, err
	}
	if n := wire.OrZero(in.CurvePoints); n > 0 {
		curve, err := HeatCurve(k, start, h, n)
		if err != nil {
			return out, askedState.Refusal(err)
		}
		out.Curve = &curve
	}
	low, high := h.Extremes()
	out.ValidFor = openapi.ValidFor{restsOn(heat.MeasuredTemperature, low, high)}
	out.Forecast, out.Hours, out.LowestC, out.HighestC = forecastOut(f, start), rounded(h.Hours()), rounded(low), rounded(high)
	out.Gaps = []openapi.HistoryGap{}
	for _, g := range f.Gaps {
		out.Gaps = append(out.Gaps, openapi.HistoryGap{From: g.From, To: g.To, FilledWithTemperatureC: g.FilledWithTempC})
	}
	out.Formulas, out.Flags = heatFormulas(start, in.Rates), calculatorFlags(append(odd, f.Flags...))
	out.Cautions = request.Said(append(heatCautions(high), quality.CautionSensor))
	return out, nil
}

func equivalentOut(k heat.Kinetics, h heat.History, referenceC float64) (openapi.EquivalentHours, error) {
	out := openapi.EquivalentHours{ReferenceTemperatureC: referenceC}
	for _, one := range []struct {
		reaction heat.Reaction
		hours    *float64
	}{{k.HMF, &out.HmfHours}, {k.Diastase, &out.DiastaseHours}, {k.Invertase, &out.InvertaseHours}} {
		hours, err := one.reaction.EquivalentHours(h, referenceC)
		if err != nil {
			return out, asked{otherwise: "/reference_temperature_c"}.Refusal(err)
		}
		*one.hours = rounded(hours)
	}
	return out, nil
}

var askedJob = asked{fields: map[string]string{
	"HMF at the start": "query:hmf_mg_per_kg", "limit of HMF": "query:hmf_limit_mg_per_kg",
	"diastase at the start": "query:diastase_gothe", "limit of diastase": "query:diastase_limit_gothe", "temperature": "query:temperature_c",
}, otherwise: "query:hours"}

// The limits that most standards set and that the contract takes for nothing.
const (
	usualHMFLimitMgPerKg = 40
	usualDiastaseLimitDN = 8
)

// CalculateHoursUntilHMF is how long until HMF passes a limit.
func (s Handler) CalculateHoursUntilHMF(ctx echo.Context, in openapi.CalculateHoursUntilHMFParams) error {
	return calculate(s.Service, ctx, in, HoursUntilHMFAnswer)
}

// HoursUntilHMFAnswer answers CalculateHoursUntilHMF: hours at a temperature in degrees
// Celsius until HMF in mg/kg is at a limit.
func HoursUntilHMFAnswer(in openapi.CalculateHoursUntilHMFParams) (out openapi.HoursUntilAnswer, err error) {
	band, err := heat.Default().HoursUntilHMF(in.HmfMgPerKg, wire.OrDefault(in.HmfLimitMgPerKg, usualHMFLimitMgPerKg), in.TemperatureC)
	if err != nil {
		return out, askedJob.Refusal(err)
	}
	return hoursUntilOut(band, in.TemperatureC, formulaHMF), nil
}

// CalculateHoursUntilDiastase is how long until diastase falls below a limit.
func (s Handler) CalculateHoursUntilDiastase(ctx echo.Context, in openapi.CalculateHoursUntilDiastaseParams) error {
	return calculate(s.Service, ctx, in, hoursUntilDiastaseAnswer)
}

func hoursUntilDiastaseAnswer(in openapi.CalculateHoursUntilDiastaseParams) (out openapi.HoursUntilAnswer, err error) {
	band, err := heat.Default().HoursUntilDiastase(in.DiastaseGothe, wire.OrDefault(in.DiastaseLimitGothe, usualDiastaseLimitDN), in.TemperatureC)
	if err != nil {
		return out, asked{fields: askedJob.fields, otherwise: "query:diastase_gothe"}.Refusal(err)
	}
	return hoursUntilOut(band, in.TemperatureC, formulaDiastase), nil
}

func hoursUntilOut(band heat.Band, temperatureC float64, formula openapi.FormulaUsed) openapi.HoursUntilAnswer {
	out := openapi.HoursUntilAnswer{
		Hours: bandOut(band), Formulas: []openapi.FormulaUsed{formula}, Flags: measuredFlags(temperatureC), Cautions: request.Said(heatCautions(temperatureC)),
		ValidFor: openapi.ValidFor{restsOn(heat.MeasuredTemperature, temperatureC)},
	}
	if band.Middle == 0 {
		out.Flags = append(out.Flags, openapi.CalculatorFlag{Code: "limit-passed", Sentence: "The limit is passed at the start already."})
	}
	return out
}

// measuredFlags marks temperatures that no published time covers.
func measuredFlags(temperaturesC ...float64) []openapi.CalculatorFlag {
	for _, celsius := range temperaturesC {
		if celsius < heat.MeasuredFromC || celsius > heat.MeasuredToC {
			return []openapi.CalculatorFlag{{Code: string(heat.FlagExtrapolated), Sentence: request.Plain(rounded(celsius)) + " C lies outside the " +
				request.Plain(heat.MeasuredFromC) + " to " + request.Plain(heat.MeasuredToC) + " C that the published times cover."}}
		}
	}
	return []openapi.CalculatorFlag{}
}

// CalculateHighestTemperatureForHMF is how hot a job may be.
func (s Handler) CalculateHighestTemperatureForHMF(ctx echo.Context, in openapi.CalculateHighestTemperatureForHMFParams) error {
	return calculate(s.Service, ctx, in, highestForHMFAnswer)
}

func highestForHMFAnswer(in openapi.CalculateHighestTemperatureForHMFParams) (out openapi.HighestTemperatureAnswer, err error) {
	limit := wire.OrDefault(in.HmfLimitMgPerKg, usualHMFLimitMgPerKg)
	band, err := heat.Default().HighestTemperatureForHMF(in.Hours, in.HmfMgPerKg, limit)
	if err != nil {
		return out, jobRefusal(err, in.HmfMgPerKg >= limit, "query:hmf_mg_per_kg")
	}
	return highestOut(band, formulaHMF), nil
}

// CalculateHighestTemperatureForDiastase is how hot a job may be.
func (s Handler) CalculateHighestTemperatureForDiastase(ctx echo.Context, in openapi.CalculateHighestTemperatureForDiastaseParams) error {
	return calculate(s.Service, ctx, in, highestForDiastaseAnswer)
}

func highestForDiastaseAnswer(in openapi.CalculateHighestTemperatureForDiastaseParams) (out openapi.HighestTemperatureAnswer, err error) {
	limit := wire.OrDefault(in.DiastaseLimitGothe, usualDiastaseLimitDN)
	band, err := heat.Default().HighestTemperatureForDiastase(in.Hours, in.DiastaseGothe, limit)
	if err != nil {
		return out, jobRefusal(err, in.DiastaseGothe <= limit, "query:diastase_gothe")
	}
	return highestOut(band, formulaDiastase), nil
}

// jobRefusal points at the start where nothing is left to the limit, and else
// at the hours.
func jobRefusal(err error, nothingLeft bool, start string) error {
	where := askedJob
	if nothingLeft {
		where.otherwise = start
	}
	return where.Refusal(err)
}

func highestOut(band heat.Band, formula openapi.FormulaUsed) openapi.HighestTemperatureAnswer {
	return openapi.HighestTemperatureAnswer{
		TemperatureC: bandOut(band), Formulas: []openapi.FormulaUsed{formula},
		Flags: measuredFlags(band.Low, band.Middle, band.High), Cautions: jobCautions(band),
		ValidFor: openapi.ValidFor{restsOn(heat.MeasuredTemperature, band.Low, band.Middle, band.High)},
	}
}
