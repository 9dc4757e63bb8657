package reports

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// GetOutfit is the outfit that the token belongs to, and the end of its book.
func (s Handler) GetOutfit(ctx echo.Context) error {
	p := request.Principal(ctx)
	return s.Read(ctx, func(o db.Outfit, b *ledger.Book) (any, error) {
		out := openapi.Outfit{
			ID: o.ID, Name: o.Name, TimeZone: o.TimeZone, Units: openapi.OutfitUnits(o.Units),
			DecimalMark: wire.OrNil(openapi.OutfitDecimalMark(o.DecimalMark)), BlendWeights: blendWeightsOut(o.BlendWeights),
			LastEntry: b.Len(), YourName: p.Name, YourRole: openapi.OutfitYourRole(p.Role),
		}
		if b.Len() > 0 {
			out.Digest = request.Hex(b.Numbered(b.Len()).Digest)
		}
		return out, nil
	})
}

func blendWeightsOut(w *ledger.BlendWeights) *openapi.BlendWeights {
	if w == nil {
		return nil
	}
	return &openapi.BlendWeights{
		SourceKg: w.SourceKg, MoistureGiven: w.MoistureGiven, HmfGiven: w.HMFGiven, DiastaseGiven: w.DiastaseGiven, ColourGiven: w.ColourGiven, YearKg: w.YearKg, OverKg: w.OverKg,
	}
}

// ListPeople lists the outfit's people.
func (s Handler) ListPeople(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	people, err := s.DB.People(ctx.Request().Context(), p.Outfit)
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
func (s Handler) ListTokens(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	tokens, err := s.DB.Tokens(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	out := make([]openapi.Token, len(tokens))
	for i, t := range tokens {
		out[i] = openapi.Token{ID: t.ID, Name: t.Name, Person: t.Person, Role: openapi.TokenRole(t.Role), CreatedAt: t.CreatedAt, RevokedAt: t.RevokedAt}
	}
	return ctx.JSON(http.StatusOK, out)
}
