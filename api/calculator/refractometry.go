package calculator

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/domain/honey"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/openapi"
)

// CalculateMoisture is a refractometer's figure as moisture at 20 C.
func (s Handler) CalculateMoisture(ctx echo.Context, in openapi.CalculateMoistureParams) error {
	return calculate(s.Service, ctx, in, MoistureAnswer)
}

// MoistureAnswer answers CalculateMoisture: moisture in percent of the mass at 20 degrees
// Celsius, of what a refractometer shows.
func MoistureAnswer(in openapi.CalculateMoistureParams) (out openapi.MoistureAnswer, err error) {
	shown, err := oneOf("query:", map[string]bool{
		"refractive_index": in.RefractiveIndex != nil, "brix_deg": in.BrixDeg != nil, "honey_scale_pct": in.HoneyScalePct != nil,
	})
	if err != nil {
		return out, err
	}
	sampleC := wire.OrDefault(in.SampleTemperatureC, 20)
	with := honey.Refractometer{
		Compensated: wire.OrZero(in.Compensated), ScaleStdUncertainty: stated(in.InstrumentStdUncertainty),
		ThermometerStdUncertaintyC: stated(in.ThermometerStdUncertaintyC),
	}
	var m honey.Moisture
	formulas := []openapi.FormulaUsed{formulaIndexTable, formulaMoistureUncertainty}
	switch shown {
	case "refractive_index":
		m, err = honey.FromRefractiveIndex(*in.RefractiveIndex, sampleC, with)
	case "brix_deg":
		m, err = honey.FromBrix(*in.BrixDeg, sampleC, with)
		formulas = append(formulas, formulaSucrose)
	default:
		m, err = honey.FromHoneyScale(*in.HoneyScalePct, sampleC, with)
	}
	if err != nil {
		return out, askedMoisture.Refusal(err)
	}
	index, err := honey.RefractiveIndex(m.Pct, 20)
	if err != nil {
		return out, askedMoisture.Refusal(err)
	}
	out = openapi.MoistureAnswer{
		MoisturePct: rounded(m.Pct), StdUncertaintyPct: rounded(m.StdUncertaintyPct), RefractiveIndexAt20C: rounded(index),
		Formulas: formulas, Flags: moistureFlags(m.Pct), Cautions: request.Said([]message.Text{quality.CautionScreening}),
	}
	if m.BeyondTable {
		out.Formulas = append(out.Formulas, formulaBeyondTable)
	}
	ranges := []figureAsked{{honey.IndexMoisture, m.Pct}, {honey.SampleTemperature, sampleC}}
	if shown == "brix_deg" {
		ranges = append(ranges, figureAsked{honey.BrixScale, *in.BrixDeg})
	}
	out.ValidFor, out.Flags = validFor(out.Flags, ranges...)
	return out, nil
}

// leastStated stands for a stated uncertainty of nothing, since 0 asks for the usual one.
const leastStated = 1e-9

// stated is an uncertainty as it was sent, and 0 only where none was.
func stated(u *float64) float64 {
	if u != nil && *u == 0 {
		return leastStated
	}
	return wire.OrZero(u)
}

var askedMoisture = asked{fields: map[string]string{
	"refractive index": "query:refractive_index", "Brix": "query:brix_deg", "honey scale reading": "query:honey_scale_pct",
	"temperature": "query:sample_temperature_c", "instrument uncertainty": "query:instrument_std_uncertainty",
	"thermometer uncertainty": "query:thermometer_std_uncertainty_c",
}, otherwise: "query:refractive_index"}

// CalculateRefractiveIndex is what a refractometer shows for a moisture.
func (s Handler) CalculateRefractiveIndex(ctx echo.Context, in openapi.CalculateRefractiveIndexParams) error {
	return calculate(s.Service, ctx, in, refractiveIndexAnswer)
}

func refractiveIndexAnswer(in openapi.CalculateRefractiveIndexParams) (out openapi.RefractiveIndexAnswer, err error) {
	index, err := honey.RefractiveIndex(in.MoisturePct, wire.OrDefault(in.SampleTemperatureC, 20))
	if err != nil {
		return out, askedIndex.Refusal(err)
	}
	at20, err := honey.RefractiveIndex(in.MoisturePct, 20)
	if err != nil {
		return out, askedIndex.Refusal(err)
	}
	out = openapi.RefractiveIndexAnswer{
		RefractiveIndex: rounded(index), StdUncertainty: honey.IndexStdUncertainty(in.MoisturePct), RefractiveIndexAt20C: rounded(at20),
		Formulas: []openapi.FormulaUsed{formulaIndexTable, formulaSucrose},
		Flags:    moistureFlags(in.MoisturePct), Cautions: request.Said([]message.Text{quality.CautionScreening}),
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.IndexMoisture, in.MoisturePct}, figureAsked{honey.SampleTemperature, wire.OrDefault(in.SampleTemperatureC, 20)})
	if brix, err := honey.SucroseBrix(at20); err == nil {
		out.BrixAt20CDeg = new(rounded(brix))
	}
	return out, nil
}

var askedIndex = asked{fields: map[string]string{
	"moisture": "query:moisture_pct", "temperature": "query:sample_temperature_c",
}, otherwise: "query:moisture_pct"}
