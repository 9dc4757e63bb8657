// Package plans answers what to do next: which honey to blend with which. It records nothing.
package plans

import (
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/db/gate"
	"pullbook/domain/fault"
)

// Handler answers the operations of the contract that are this room's.
type Handler struct{ *request.Service }

// searching lets in one search at a time: each takes a processor for seconds, and up to 256 MiB.
var searching = newSearching()

const (
	// waitToSearch is how long a question waits for the one before it.
	waitToSearch = 15 * time.Second
	// mostWaiting is how many questions of one outfit wait.
	mostWaiting = 2
)

func newSearching() *gate.Gate {
	g := gate.New(1)
	g.MostInLine = mostWaiting
	return g
}

// search does something that takes a processor for a while, in turn.
func search[T any](ctx echo.Context, f func() (T, error)) (out T, err error) {
	leave, err := searching.Enter(ctx.Request().Context(), waitToSearch, gate.Of(request.Principal(ctx).Outfit.String(), 1))
	switch err {
	case nil:
		defer leave()
		return f()
	case gate.ErrFull, gate.ErrShare:
		return out, fault.New(fault.Busy, "Other plans are being worked out just now. Ask again in a minute.")
	}
	return out, err
}
