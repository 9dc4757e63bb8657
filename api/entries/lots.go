package entries

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s Handler) RecordLot(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewLot) (ledger.Body, error) {
		return &ledger.Lot{
			Code: in.Code, Product: wire.OrZero(in.Product), StoreID: wire.OrZero(in.StoreID), Note: wire.OrZero(in.Note), Declares: wire.OrZero(in.Declares),
		}, nil
	})
}

func (s Handler) RecordFill(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewFill) (ledger.Body, error) {
		return &ledger.Fill{
			LotID: in.LotID, TankID: in.TankID, ContainerKindID: in.ContainerKindID, Container: in.Container,
			TareG: wire.Grams(in.TareKg), GrossG: wire.Grams(in.GrossKg), Seal: wire.OrZero(in.Seal), Note: wire.OrZero(in.Note),
		}, nil
	})
}

func (s Handler) RecordDispatch(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewDispatch) (ledger.Body, error) {
		return &ledger.Dispatch{
			BuyerID: in.BuyerID, Containers: in.Containers, Reference: wire.OrZero(in.Reference), Note: wire.OrZero(in.Note),
		}, nil
	})
}
