package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// GetOutfit is the outfit that the token belongs to, and the end of its book.
func (s *Server) GetOutfit(ctx echo.Context) error {
	p := principal(ctx)
	return s.read(ctx, func(o db.Outfit, b *ledger.Book) (any, error) {
		out := openapi.Outfit{
			ID: o.ID, Name: o.Name, TimeZone: o.TimeZone, Units: openapi.OutfitUnits(o.Units),
			LastEntry: b.Len(), YourName: p.Name, YourRole: openapi.OutfitYourRole(p.Role),
		}
		if b.Len() > 0 {
			out.Digest = hexText(b.Numbered(b.Len()).Digest)
		}
		return out, nil
	})
}

// ListPeople lists the outfit's people.
func (s *Server) ListPeople(ctx echo.Context) error {
	p, err := s.current(ctx)
	if err != nil {
		return err
	}
	people, err := s.db.People(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	out := make([]openapi.Person, len(people))
	for i, one := range people {
		out[i] = openapi.Person{ID: one.ID, Name: one.Name, Role: openapi.PersonRole(one.Role), LeftAt: one.Left}
	}
	return ctx.JSON(http.StatusOK, out)
}

// ListTokens lists the outfit's tokens, without their secrets.
func (s *Server) ListTokens(ctx echo.Context) error {
	p, err := s.current(ctx)
	if err != nil {
		return err
	}
	tokens, err := s.db.Tokens(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	out := make([]openapi.Token, len(tokens))
	for i, t := range tokens {
		out[i] = openapi.Token{ID: t.ID, Name: t.Name, Person: t.Person, Role: openapi.TokenRole(t.Role), CreatedAt: t.CreatedAt, RevokedAt: t.RevokedAt}
	}
	return ctx.JSON(http.StatusOK, out)
}

// current is the request's principal, refused if its token was revoked since
// it was looked up.
func (s *Server) current(ctx echo.Context) (db.Principal, error) {
	p := principal(ctx)
	return p, s.books.CheckAccess(ctx.Request().Context(), p)
}
