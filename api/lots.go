package api

import (
	"github.com/labstack/echo/v4"

	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s *Server) RecordLot(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewLot) (ledger.Body, error) {
		return &ledger.Lot{
			Code: in.Code, Product: orZero(in.Product), StoreID: orZero(in.StoreID), Note: orZero(in.Note), Declares: orZero(in.Declares),
		}, nil
	})
}

func (s *Server) RecordFill(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewFill) (ledger.Body, error) {
		return &ledger.Fill{
			LotID: in.LotID, TankID: in.TankID, ContainerKindID: in.ContainerKindID, Container: in.Container,
			TareG: grams(in.TareKg), GrossG: grams(in.GrossKg), Seal: orZero(in.Seal), Note: orZero(in.Note),
		}, nil
	})
}

func (s *Server) RecordDispatch(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewDispatch) (ledger.Body, error) {
		return &ledger.Dispatch{
			BuyerID: in.BuyerID, Containers: in.Containers, Reference: orZero(in.Reference), Note: orZero(in.Note),
		}, nil
	})
}
