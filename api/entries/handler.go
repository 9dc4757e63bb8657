// Package entries records entries and lists them: the contract's types on one side, the
// book's on the other. Sheets of others come in here, and whoever follows the book is told.
package entries

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/request"
)

// Handler answers the operations of the contract that are this room's.
type Handler struct{ *request.Service }

// RouteKinds serves the two operations that the contract has for each kind of entry: one
// records it, one lists what was recorded.
func RouteKinds(s *request.Service, e *echo.Echo) error {
	ways, err := request.RecordedBy()
	for kind, way := range ways {
		e.POST(way.Path, func(ctx echo.Context) error { return Handler{s}.record(ctx, kind) })
		e.GET(way.Path, func(ctx echo.Context) error { return Handler{s}.list(ctx, kind) })
	}
	return err
}
