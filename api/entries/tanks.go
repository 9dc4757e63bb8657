package entries

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s Handler) RecordMovement(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewMovement) (ledger.Body, error) {
		return &ledger.Movement{
			From:  ledger.Place{Kind: ledger.PlaceKind(in.From.Kind), ID: in.From.ID},
			To:    ledger.Place{Kind: ledger.PlaceKind(in.To.Kind), ID: wire.OrZero(in.To.ID)},
			MassG: wire.Grams(wire.OrZero(in.MassKg)), Note: wire.OrZero(in.Note),
		}, nil
	})
}

func (s Handler) RecordStocktake(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewStocktake) (ledger.Body, error) {
		return &ledger.Stocktake{
			TankID: in.TankID, Method: string(in.Method), MassG: wire.Grams(wire.OrZero(in.MassKg)), MassFromDip: in.MassKg == nil,
			UncertaintyG: wire.Grams(wire.OrZero(in.UncertaintyKg)), DepthCM: in.DepthCm, FoamCM: in.FoamCm, TemperatureC: in.TemperatureC,
			Note: wire.OrZero(in.Note),
		}, nil
	})
}

func (s Handler) RecordWash(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewWash) (ledger.Body, error) {
		return &ledger.Wash{
			TankID: in.TankID, With: wire.OrZero(in.With), Note: wire.OrZero(in.Note),
		}, nil
	})
}

func (s Handler) RecordTemperatureLog(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewTemperatureLog) (ledger.Body, error) {
		out := &ledger.TemperatureLog{
			On:   ledger.Place{Kind: ledger.PlaceKind(in.On.Kind), ID: in.On.ID},
			Held: wire.OrZero(in.Held), WaterG: wire.Grams(wire.OrZero(in.WaterKg)), Note: wire.OrZero(in.Note),
		}
		for _, p := range in.Points {
			out.Points = append(out.Points, ledger.TemperaturePoint{At: p.At.UTC(), TemperatureC: p.TemperatureC, HumidityPct: p.HumidityPct})
		}
		return out, nil
	})
}
