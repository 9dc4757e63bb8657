package wire

import (
	"time"

	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/domain/ledger"
)

// DateIn turns a date of the contract into the book's.
func DateIn(d openapi_types.Date) ledger.Date { return ledger.Date(d.Format(time.DateOnly)) }

// DateOut turns a date of the book into the contract's.
func DateOut(d ledger.Date) openapi_types.Date {
	at, _ := d.On(time.UTC) // it was checked on its way in
	return openapi_types.Date{Time: at}
}
