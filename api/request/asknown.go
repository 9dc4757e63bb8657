package request

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/db/away"
)

const (
	// asKnownHeader says as of when an answer is that was given while the database was
	// away.
	asKnownHeader = "Pullbook-As-Known-At"
	asKnownKey    = "as known"
)

// AsKnown lets what only reads be answered from what this process knows while the
// database is away, and the answer says how old that is. A stream cannot say so once it
// has begun, and ends instead.
func (s *Service) AsKnown(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		r := ctx.Request()
		if r.Method != http.MethodGet || ctx.Path() == streamPath {
			return next(ctx)
		}
		c, known := away.WithReader(r.Context())
		ctx.SetRequest(r.WithContext(c))
		ctx.Set(asKnownKey, known)
		ctx.Response().Before(func() {
			if at, ok := known.AsOf(); ok {
				ctx.Response().Header().Set(asKnownHeader, at.Format(time.RFC3339))
			}
		})
		return next(ctx)
	}
}

// KnownAt is the moment as of which a request was told of the book, on the outfit's
// clock; false where the database said how the book stands.
func KnownAt(ctx echo.Context) (time.Time, bool) {
	known, ok := ctx.Get(asKnownKey).(*away.Reader)
	if !ok {
		return time.Time{}, false
	}
	return known.AsOf()
}
