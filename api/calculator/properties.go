package calculator

import (
	"math"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/units"
	"pullbook/openapi"
)

var askedHoney = asked{fields: map[string]string{
	"moisture": "query:moisture_pct", "temperature": "query:temperature_c",
}, otherwise: "query:moisture_pct"}

// CalculateDensity is the weight of a litre and of the gallons.
func (s Handler) CalculateDensity(ctx echo.Context, in openapi.CalculateDensityParams) error {
	return calculate(s.Service, ctx, in, densityAnswer)
}

func densityAnswer(in openapi.CalculateDensityParams) (out openapi.DensityAnswer, err error) {
	kgPerL, err := honey.DensityKgPerL(in.MoisturePct, wire.OrDefault(in.TemperatureC, 20))
	if err != nil {
		return out, askedHoney.Refusal(err)
	}
	sd := honey.DensityStdUncertaintyKgPerL(in.MoisturePct)
	pounds := func(kgPerL, litres float64) float64 { return rounded(kgPerL * litres / units.KilogramsPerPound) }
	out = openapi.DensityAnswer{
		DensityKgPerL: rounded(kgPerL), StdUncertaintyKgPerL: sd,
		KgPerUsGallon: rounded(kgPerL * units.LitresPerUSGallon), LbPerUsGallon: pounds(kgPerL, units.LitresPerUSGallon),
		StdUncertaintyLbPerUsGallon: pounds(sd, units.LitresPerUSGallon),
		KgPerImperialGallon:         rounded(kgPerL * units.LitresPerImperialGallon), LbPerImperialGallon: pounds(kgPerL, units.LitresPerImperialGallon),
		StdUncertaintyLbPerImperialGallon: pounds(sd, units.LitresPerImperialGallon),
		Formulas:                          []openapi.FormulaUsed{formulaDensity}, Flags: moistureFlags(in.MoisturePct), Cautions: []string{},
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.DensityMoisture, in.MoisturePct}, figureAsked{honey.DensityTemperature, wire.OrDefault(in.TemperatureC, 20)})
	return out, nil
}

// CalculateViscosity is how thick liquid honey is.
func (s Handler) CalculateViscosity(ctx echo.Context, in openapi.CalculateViscosityParams) error {
	return calculate(s.Service, ctx, in, viscosityAnswer)
}

func viscosityAnswer(in openapi.CalculateViscosityParams) (out openapi.ViscosityAnswer, err error) {
	v, err := honey.ViscosityPaS(in.MoisturePct, in.TemperatureC)
	if err != nil {
		return out, askedHoney.Refusal(err)
	}
	out = openapi.ViscosityAnswer{
		ViscosityPaS: bandOut(heat.Band{Low: v / honey.ViscositySpreadFactor, Middle: v, High: v * honey.ViscositySpreadFactor}),
		Formulas:     []openapi.FormulaUsed{formulaViscosity}, Flags: moistureFlags(in.MoisturePct), Cautions: append(warmCautions(in.TemperatureC), quality.CautionThixotropic.String()),
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.ViscosityMoisture, in.MoisturePct}, figureAsked{honey.ViscosityTemperature, in.TemperatureC})
	return out, nil
}

// warmCautions are those of a figure for honey at a temperature.
func warmCautions(temperatureC float64) []string {
	if temperatureC > quality.ScaldsFromC {
		return request.Said([]message.Text{quality.CautionScald})
	}
	return []string{}
}

// Published honey lies from 1 % under to 10 % over the formula of specific
// heat, and modern probes within 10 % of that of conductivity (domain/honey).
const (
	specificHeatLow  = 0.99
	specificHeatHigh = 1.10
	conductivityOff  = 0.10
)

// CalculateSpecificHeat is the heat that a kilogram takes up for a kelvin.
func (s Handler) CalculateSpecificHeat(ctx echo.Context, in openapi.CalculateSpecificHeatParams) error {
	return calculate(s.Service, ctx, in, specificHeatAnswer)
}

func specificHeatAnswer(in openapi.CalculateSpecificHeatParams) (out openapi.SpecificHeatAnswer, err error) {
	temperatureC := wire.OrDefault(in.TemperatureC, 20)
	c, err := honey.SpecificHeatKJPerKgK(in.MoisturePct, temperatureC)
	if err != nil {
		return out, askedHoney.Refusal(err)
	}
	out = openapi.SpecificHeatAnswer{
		SpecificHeatKjPerKgK: bandOut(heat.Band{Low: c * specificHeatLow, Middle: c, High: c * specificHeatHigh}),
		Formulas:             []openapi.FormulaUsed{formulaSpecificHeat}, Flags: moistureFlags(in.MoisturePct), Cautions: warmCautions(temperatureC),
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.ThermalMoisture, in.MoisturePct}, figureAsked{honey.ThermalTemperature, temperatureC})
	return out, nil
}

// CalculateThermalConductivity is how well heat goes through honey at rest.
func (s Handler) CalculateThermalConductivity(ctx echo.Context, in openapi.CalculateThermalConductivityParams) error {
	return calculate(s.Service, ctx, in, conductivityAnswer)
}

func conductivityAnswer(in openapi.CalculateThermalConductivityParams) (out openapi.ThermalConductivityAnswer, err error) {
	temperatureC := wire.OrDefault(in.TemperatureC, 20)
	k, err := honey.ThermalConductivityWPerMK(in.MoisturePct, temperatureC)
	if err != nil {
		return out, askedHoney.Refusal(err)
	}
	out = openapi.ThermalConductivityAnswer{
		ThermalConductivityWPerMK: bandOut(heat.Band{Low: k * (1 - conductivityOff), Middle: k, High: k * (1 + conductivityOff)}),
		Formulas:                  []openapi.FormulaUsed{formulaConductivity}, Flags: moistureFlags(in.MoisturePct), Cautions: warmCautions(temperatureC),
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.ThermalMoisture, in.MoisturePct}, figureAsked{honey.ThermalTemperature, temperatureC})
	return out, nil
}

// CalculateWaterActivity is how much of its water honey lets yeast have.
func (s Handler) CalculateWaterActivity(ctx echo.Context, in openapi.CalculateWaterActivityParams) error {
	return calculate(s.Service, ctx, in, waterActivityAnswer)
}

func waterActivityAnswer(in openapi.CalculateWaterActivityParams) (out openapi.WaterActivityAnswer, err error) {
	state := honey.Liquid
	if wire.OrZero(in.Granulated) {
		state = honey.Granulated
	}
	aw, err := honey.WaterActivity(in.MoisturePct, wire.OrDefault(in.TemperatureC, 25), state)
	if err != nil {
		return out, askedHoney.Refusal(err)
	}
	out = openapi.WaterActivityAnswer{
		WaterActivity: rounded(aw), StdUncertainty: honey.WaterActivityStdUncertaintyAt(in.MoisturePct), YeastGrowsFrom: honey.YeastWaterActivity,
		Formulas: []openapi.FormulaUsed{formulaWaterActivity}, Flags: moistureFlags(in.MoisturePct), Cautions: []string{},
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.WaterActivityMoisture, in.MoisturePct}, figureAsked{honey.WaterActivityTemperature, wire.OrDefault(in.TemperatureC, 25)})
	if aw+out.StdUncertainty >= honey.YeastWaterActivity {
		out.Flags = append(out.Flags, openapi.CalculatorFlag{Code: "yeast-may-grow",
			Sentence: "Within its uncertainty this reaches the water activity at which sugar-tolerant yeast grows."})
		out.Cautions = append(out.Cautions, quality.CautionFermenting.String())
	}
	return out, nil
}

// CalculateGranulation is the moisture of the liquid between the crystals.
func (s Handler) CalculateGranulation(ctx echo.Context, in openapi.CalculateGranulationParams) error {
	return calculate(s.Service, ctx, in, granulationAnswer)
}

func granulationAnswer(in openapi.CalculateGranulationParams) (out openapi.GranulationAnswer, err error) {
	liquid, err := honey.LiquidMoisturePct(in.MoisturePct, in.CrystalsPct)
	if err != nil {
		return out, askedGranulation.Refusal(err)
	}
	moistureSD, crystalsSD := wire.OrDefault(in.MoistureStdUncertaintyPct, 0.2), wire.OrZero(in.CrystalsStdUncertaintyPct)
	if err := uncertaintyFault("moisture_std_uncertainty_pct", moistureSD, 5); err != nil {
		return out, err
	}
	if err := uncertaintyFault("crystals_std_uncertainty_pct", crystalsSD, 20); err != nil {
		return out, err
	}
	// The balance (W - b x) / (1 - x) by W and by x, x a fraction of 1.
	x := in.CrystalsPct / 100
	byMoisture := moistureSD / (1 - x)
	byCrystals := crystalsSD / 100 * (in.MoisturePct - honey.GlucoseMonohydrateWaterPct) / ((1 - x) * (1 - x))
	out = openapi.GranulationAnswer{
		LiquidMoisturePct: rounded(liquid), StdUncertaintyPct: rounded(math.Hypot(byMoisture, byCrystals)),
		Formulas: []openapi.FormulaUsed{formulaGranulation}, Flags: moistureFlags(in.MoisturePct), Cautions: []string{},
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.GranulationMoisture, in.MoisturePct}, figureAsked{honey.GranulationCrystals, in.CrystalsPct})
	if liquid > fermentsAbovePct {
		out.Cautions = append(out.Cautions, quality.CautionFermenting.String())
	}
	return out, nil
}

// fermentsAbovePct is the moisture above which liquid honey ferments whatever
// its count of yeast (common practice).
const fermentsAbovePct = 20

var askedGranulation = asked{fields: map[string]string{
	"moisture": "query:moisture_pct", "crystals": "query:crystals_pct",
}, otherwise: "query:crystals_pct"}

func uncertaintyFault(name string, value, most float64) error {
	if value >= 0 && value <= most {
		return nil
	}
	return unanswerable(fault.Field{Pointer: "query:" + name, Sent: figureSent(value), Message: message.F("How far off it may be is a number from 0 to %s here.", message.Figure(most))})
}
