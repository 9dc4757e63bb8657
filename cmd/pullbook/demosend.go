package main

import (
	"context"
	"fmt"
	"net/http"

	"pullbook/openapi"
)

// send records one of the contract's New types with the method that is made
// for it.
func send(ctx context.Context, c openapi.ClientInterface, request any) (*http.Response, error) {
	switch x := request.(type) {
	case *openapi.NewSeason:
		return c.RecordSeason(ctx, *x)
	case *openapi.NewYard:
		return c.RecordYard(ctx, *x)
	case *openapi.NewSuperKind:
		return c.RecordSuperKind(ctx, *x)
	case *openapi.NewContainerKind:
		return c.RecordContainerKind(ctx, *x)
	case *openapi.NewRoom:
		return c.RecordRoom(ctx, *x)
	case *openapi.NewTank:
		return c.RecordTank(ctx, *x)
	case *openapi.NewInstrument:
		return c.RecordInstrument(ctx, *x)
	case *openapi.NewBuyer:
		return c.RecordBuyer(ctx, *x)
	case *openapi.NewHiveCount:
		return c.RecordHiveCount(ctx, *x)
	case *openapi.NewPull:
		return c.RecordPull(ctx, *x)
	case *openapi.NewRun:
		return c.RecordRun(ctx, *x)
	case *openapi.NewRunSupers:
		return c.RecordRunSupers(ctx, *x)
	case *openapi.NewLoad:
		return c.RecordLoad(ctx, *x)
	case *openapi.NewRunEnd:
		return c.RecordRunEnd(ctx, *x)
	case *openapi.NewMovement:
		return c.RecordMovement(ctx, *x)
	case *openapi.NewStocktake:
		return c.RecordStocktake(ctx, *x)
	case *openapi.NewWash:
		return c.RecordWash(ctx, *x)
	case *openapi.NewLot:
		return c.RecordLot(ctx, *x)
	case *openapi.NewFill:
		return c.RecordFill(ctx, *x)
	case *openapi.NewReading:
		return c.RecordReading(ctx, *x)
	case *openapi.NewCalibration:
		return c.RecordCalibration(ctx, *x)
	case *openapi.NewTemperatureLog:
		return c.RecordTemperatureLog(ctx, *x)
	case *openapi.NewDispatch:
		return c.RecordDispatch(ctx, *x)
	case *openapi.NewAcceptance:
		return c.RecordAcceptance(ctx, *x)
	case *openapi.NewWithdrawal:
		return c.RecordWithdrawal(ctx, *x)
	}
	return nil, fmt.Errorf("the contract has no way to record a %T", request)
}
