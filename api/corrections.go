package api

import (
	"github.com/labstack/echo/v4"

	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s *Server) RecordAcceptance(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewAcceptance) (head, ledger.Body, error) {
		return headOf(in.ID, in.OccurredAt, in.Replaces, &in.Reason, in.AsEntered, in.Via), &ledger.Acceptance{
			EntryID: in.EntryID, Flag: ledger.Code(in.Flag),
		}, nil
	})
}

func (s *Server) RecordWithdrawal(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewWithdrawal) (head, ledger.Body, error) {
		return headOf(in.ID, in.OccurredAt, &in.Replaces, &in.Reason, in.AsEntered, in.Via), &ledger.Withdrawal{}, nil
	})
}
