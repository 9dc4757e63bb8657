package feeds

import (
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// ListFeedKeys lists the outfit's feed keys, without their secrets.
func (s Handler) ListFeedKeys(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	keys, err := s.DB.FeedKeys(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	return ctx.JSON(http.StatusOK, wire.Each(keys, keyOut))
}

// CreateFeedKey makes a feed key and shows it, once.
func (s Handler) CreateFeedKey(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	var in openapi.NewFeedKey
	if err := s.Contract.Bind(&in, ctx); err != nil {
		return err
	}
	feed := wire.OrZero(in.Feed)
	if feed != "" && !slices.Contains(Feeds(), feed) {
		return &fault.Error{Code: fault.Invalid, Message: message.F("No key was made."), Fields: []fault.Field{{
			Pointer: "/feed", Sent: feed, Message: message.F("There is no such feed. There are %s. Without a name, the key reads all of them.", strings.Join(Feeds(), ", ")),
		}}}
	}
	key, secret, err := s.DB.As(p).CreateFeedKey(ctx.Request().Context(), p.Outfit, in.Name, feed, p.Name)
	if err != nil {
		return err
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	out := openapi.CreatedFeedKey{Key: secret, FeedKey: keyOut(key)}
	return ctx.JSON(http.StatusCreated, out)
}

// RevokeFeedKey ends a feed key at once.
func (s Handler) RevokeFeedKey(ctx echo.Context, id openapi_types.UUID) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	key, err := s.DB.As(p).RevokeFeedKey(ctx.Request().Context(), p.Outfit, id)
	if err != nil {
		return err
	}
	return ctx.JSON(http.StatusOK, keyOut(key))
}

func keyOut(k db.FeedKey) openapi.FeedKey {
	return openapi.FeedKey{ID: k.ID, Name: k.Name, Feed: wire.OrNil(k.Feed), MadeBy: k.MadeBy, CreatedAt: k.CreatedAt, RevokedAt: k.RevokedAt}
}

// Feeds lists what a feed key can be for.
func Feeds() []string { return append(tableNames(), SeasonWorkbook, Calendar) }

// SeasonWorkbook is the name of the season's workbook among the feeds.
const SeasonWorkbook = "season"

// Calendar is the name of the calendar among the feeds.
const Calendar = "calendar"
