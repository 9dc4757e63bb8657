package calculator

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/openapi"
)

// CalculateStandingContainer is when a drum or pail is warm to its core.
func (s Handler) CalculateStandingContainer(ctx echo.Context, in openapi.CalculateStandingContainerParams) error {
	return calculate(s.Service, ctx, in, StandingContainerAnswer)
}

// StandingContainerAnswer answers CalculateStandingContainer.
func StandingContainerAnswer(in openapi.CalculateStandingContainerParams) (out openapi.StandingContainerAnswer, err error) {
	s := heat.Standing{
		RadiusM: in.DiameterCm / 200, HeightM: in.HeightCm / 100, MoisturePct: in.MoisturePct,
		CrystalsPct: wire.OrZero(in.CrystalsPct), FilmWPerM2K: heat.FilmStillAir,
	}
	switch wire.OrZero(in.Around) {
	case openapi.CalculateStandingContainerParamsAroundBlownAir:
		s.FilmWPerM2K = heat.FilmBlownAir
	case openapi.CalculateStandingContainerParamsAroundWater:
		s.FilmWPerM2K = heat.FilmWater
	}
	w, err := s.HoursToWarm(in.StartTemperatureC, in.RoomTemperatureC, in.TargetTemperatureC)
	if err != nil {
		return out, asked{fields: map[string]string{
			"radius of the honey": "query:diameter_cm", "height of the honey": "query:height_cm", "moisture": "query:moisture_pct",
			"crystals": "query:crystals_pct", "temperature": "query:room_temperature_c",
		}, otherwise: "query:target_temperature_c"}.Refusal(err)
	}
	out = openapi.StandingContainerAnswer{
		HoursCore: bandOut(w.HoursCore), HoursMean: bandOut(w.HoursMean), WallTemperatureC: rounded(w.WallC),
		MeltingKjPerKg: rounded(s.CrystalsPct / 100 * heat.MeltingKJPerKg),
		Formulas:       []openapi.FormulaUsed{formulaStanding, formulaConductivity, formulaSpecificHeat, formulaDensity}, Flags: moistureFlags(in.MoisturePct),
		Cautions: request.Said(append([]message.Text{quality.CautionStanding}, append(heatCautions(in.RoomTemperatureC), quality.CautionHeater)...)),
	}
	ranges := []figureAsked{{honey.ThermalMoisture, in.MoisturePct}, furthest(honey.ThermalTemperature, in.StartTemperatureC, in.RoomTemperatureC)}
	if s.CrystalsPct > 0 {
		ranges = append(ranges, figureAsked{honey.GranulationCrystals, s.CrystalsPct})
	}
	out.ValidFor, out.Flags = validFor(out.Flags, ranges...)
	return out, nil
}
