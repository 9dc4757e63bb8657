package calculator

import (
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/quality"
	"pullbook/openapi"
)

// CalculateSettling is how long a tank must stand.
func (s Handler) CalculateSettling(ctx echo.Context, in openapi.CalculateSettlingParams) error {
	return calculate(s.Service, ctx, in, settlingAnswer)
}

func settlingAnswer(in openapi.CalculateSettlingParams) (out openapi.SettlingAnswer, err error) {
	settling, err := heat.Settle(heat.Particle(in.Particle), in.DepthM, in.DiameterMm, in.MoisturePct, in.TemperatureC)
	if err != nil {
		return out, asked{fields: map[string]string{
			"depth of the honey": "query:depth_m", "diameter of the particle": "query:diameter_mm",
			"moisture": "query:moisture_pct", "temperature": "query:temperature_c",
		}, otherwise: "query:particle"}.Refusal(err)
	}
	rise := settling.RiseMMPerHour
	moisture := honey.ViscosityMoisture // that of density reaches further down, and less far up
	moisture.To = min(moisture.To, honey.DensityMoisture.To)
	ranges, flags := validFor(calculatorFlags(settling.Flags), figureAsked{moisture, in.MoisturePct}, figureAsked{honey.ViscosityTemperature, in.TemperatureC})
	stokes := restsOn(heat.StokesReynolds, settling.Reynolds)
	stokes.Covers = !slices.ContainsFunc(settling.Flags, func(f heat.Flag) bool { return f.Name == heat.FlagBeyondStokes })
	return openapi.SettlingAnswer{
		RiseMmPerHour: bandOut(heat.Band{Low: rise / honey.ViscositySpreadFactor, Middle: rise, High: rise * honey.ViscositySpreadFactor}),
		Hours:         bandOut(settling.Hours), Formulas: []openapi.FormulaUsed{formulaSettling, formulaViscosity, formulaDensity},
		Flags: flags, ValidFor: append(ranges, stokes), Cautions: append(warmCautions(in.TemperatureC), quality.CautionThixotropic.String()),
	}, nil
}
