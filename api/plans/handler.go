// Package plans answers what to do next: which honey to blend with which. It records nothing.
package plans

import (
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/db/gate"
	"pullbook/domain/fault"
	"pullbook/domain/plan"
)

// Handler answers the operations of the contract that are this room's.
type Handler struct {
	*request.Service
	// searching lets in one search at a time: each takes a processor for seconds, and up to 256 MiB.
	searching *gate.Gate
}

const (
	// waitToSearch is how long a question waits for the one before it.
	waitToSearch = 15 * time.Second
	// mostWaiting is how many questions of one outfit wait.
	mostWaiting = 2
)

// New makes the room's handler.
func New(s *request.Service) Handler {
	h := Handler{s, gate.New(1)}
	h.searching.MostInLine = mostWaiting
	return h
}

// search does something that takes a processor for a while, in turn.
func (h Handler) search(ctx echo.Context, f func() (*plan.Answer, error)) (*plan.Answer, error) {
	leave, err := h.searching.Enter(ctx.Request().Context(), waitToSearch, gate.Of(request.Principal(ctx).Outfit.String(), 1))
	switch err {
	case nil:
		defer leave()
		return f()
	case gate.ErrFull, gate.ErrShare:
		return nil, fault.New(fault.Busy, "Other plans are being worked out just now. Ask again in a minute.")
	}
	return nil, err
}
