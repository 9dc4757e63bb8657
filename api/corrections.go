package api

import (
	"github.com/labstack/echo/v4"

	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s *Server) RecordAcceptance(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewAcceptance) (ledger.Body, error) {
		return &ledger.Acceptance{
			EntryID: in.EntryID, Flag: ledger.Code(in.Flag),
		}, nil
	})
}

func (s *Server) RecordWithdrawal(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewWithdrawal) (ledger.Body, error) {
		return &ledger.Withdrawal{}, nil
	})
}
