package request

import (
	"github.com/labstack/echo/v4"

	"pullbook/db"
)

// Current is the request's principal, refused if its token was revoked since
// it was looked up.
func (s *Service) Current(ctx echo.Context) (db.Principal, error) {
	p := Principal(ctx)
	return p, s.Books.CheckAccess(ctx.Request().Context(), p)
}
