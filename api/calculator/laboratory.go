package calculator

import (
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/domain/heat"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/openapi"
)

// CalculateFromLaboratoryResults is what two or more laboratory results say
// about how fast one honey forms HMF.
func (s Handler) CalculateFromLaboratoryResults(ctx echo.Context) error {
	return calculateFrom(s.Service, ctx, laboratoryAnswer)
}

func laboratoryAnswer(in *openapi.LaboratoryResultsQuestion) (out openapi.LaboratoryResultsAnswer, err error) {
	h, odd, err := historyOf(in.History, "/history")
	if err != nil {
		return out, err
	}
	results := make([]heat.LabResult, len(in.Results))
	for i, r := range in.Results {
		results[i] = heat.LabResult{At: r.At, HMFMgPerKg: r.HmfMgPerKg, SDMgPerKg: wire.OrZero(r.StdUncertaintyMgPerKg)}
	}
	unknown := heat.Default()
	n, err := unknown.Narrow(results, h)
	if err != nil {
		return out, askedResults.Refusal(err)
	}
	out.Factor = openapi.Band{Low: rounded(n.Factor.Low), Middle: rounded(n.Factor.Middle), High: rounded(n.Factor.High)}
	out.Rates = openapi.ReactionRates{Hmf: rateOut(n.Kinetics.HMF)}
	out.Formulas, out.Flags = []openapi.FormulaUsed{formulaLaboratory, formulaHMF}, calculatorFlags(append(odd, n.Flags...))
	out.Cautions = request.Said([]message.Text{quality.CautionEstimate, quality.CautionInfants, quality.CautionSensor})
	low, high := h.Extremes()
	out.ValidFor = openapi.ValidFor{restsOn(heat.MeasuredTemperature, low, high)}
	last := results[len(results)-1]
	if !h.End().After(last.At) {
		return out, nil
	}
	if out.ForecastWithoutResults, err = forecastFrom(unknown, last, h, h.End()); err != nil {
		return out, err
	}
	out.Forecast, err = forecastFrom(n.Kinetics, last, h, h.End())
	return out, err
}

// forecastFrom goes on from a laboratory's result to an instant.
func forecastFrom(k heat.Kinetics, result heat.LabResult, h heat.History, until time.Time) (*openapi.HoneyForecast, error) {
	after, err := h.Between(result.At, until)
	if err != nil {
		return nil, askedResults.Refusal(err)
	}
	start := heat.State{HMFMgPerKg: result.HMFMgPerKg}
	f, err := k.Forecast(start, after)
	if err != nil {
		return nil, askedResults.Refusal(err)
	}
	return new(forecastOut(f, start)), nil
}

var askedResults = asked{
	fields: map[string]string{"HMF": "hmf_mg_per_kg", "uncertainty of HMF": "std_uncertainty_mg_per_kg"},
	lists:  map[string]string{"result": "/results"}, otherwise: "/results",
}
