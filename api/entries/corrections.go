package entries

import (
	"github.com/labstack/echo/v4"

	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s Handler) RecordAcceptance(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewAcceptance) (ledger.Body, error) {
		return &ledger.Acceptance{
			EntryID: in.EntryID, Flag: ledger.Code(in.Flag),
		}, nil
	})
}

func (s Handler) RecordWithdrawal(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewWithdrawal) (ledger.Body, error) {
		return &ledger.Withdrawal{}, nil
	})
}
