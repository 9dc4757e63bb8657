package api

import (
	"crypto/sha256"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/say"
	"pullbook/openapi"
)

const (
	// keyParameter is the query parameter that a feed key comes in. It is in no
	// log, no metric and no error.
	keyParameter = "key"
	// keyFeed is where a request keeps which feed its key reads.
	keyFeed = "feed"
)

// openFeed lets a request for a feed in by its feed key.
func (s *Server) openFeed(ctx echo.Context, key string) error {
	address := echo.ExtractIPDirect()(ctx.Request())
	outfit, _ := db.FeedKeyOutfit(key)
	hash := sha256.Sum256([]byte(key))
	if s.wrongKeys.closed(hash, address, outfit.String()) {
		ctx.Response().Header().Set("Retry-After", strconv.Itoa(int(wrongWindow.Seconds())))
		return fault.New(fault.TooOften, "Too many feed keys that are not good came lately. Try again in a minute.")
	}
	p, feed, err := s.db.FeedPrincipal(ctx.Request().Context(), key)
	if fault.CodeOf(err) == fault.SignIn {
		s.wrongKeys.wrong(hash, address, outfit.String())
	}
	if err != nil {
		return err
	}
	s.wrongKeys.right(hash)
	ctx.Set("principal", p)
	ctx.Set(keyFeed, feed)
	return nil
}

// ListFeedKeys lists the outfit's feed keys, without their secrets.
func (s *Server) ListFeedKeys(ctx echo.Context) error {
	p, err := s.feedKeeper(ctx)
	if err != nil {
		return err
	}
	keys, err := s.db.FeedKeys(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	out := make([]openapi.FeedKey, len(keys))
	for i, k := range keys {
		out[i] = feedKeyOut(k)
	}
	return ctx.JSON(http.StatusOK, out)
}

// MakeFeedKey makes a feed key and shows it, once.
func (s *Server) MakeFeedKey(ctx echo.Context) error {
	p, err := s.feedKeeper(ctx)
	if err != nil {
		return err
	}
	var in openapi.NewFeedKey
	if err := s.contract.Bind(&in, ctx); err != nil {
		return err
	}
	feed := orZero(in.Feed)
	if feed != "" && !slices.Contains(Feeds(), feed) {
		return &fault.Error{Code: fault.Invalid, Message: say.F("No key was made."), Fields: []fault.Field{{
			Pointer: "/feed", Sent: feed, Message: say.F("There is no such feed. There are %s; left out, the key reads all.", strings.Join(Feeds(), ", ")),
		}}}
	}
	key, secret, err := s.db.As(p).CreateFeedKey(ctx.Request().Context(), p.Outfit, in.Name, feed, p.Name)
	if err != nil {
		return err
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	out := openapi.MadeFeedKey{Key: secret, FeedKey: feedKeyOut(key)}
	return ctx.JSON(http.StatusCreated, out)
}

// RevokeFeedKey ends a feed key at once.
func (s *Server) RevokeFeedKey(ctx echo.Context, id openapi_types.UUID) error {
	p, err := s.feedKeeper(ctx)
	if err != nil {
		return err
	}
	key, err := s.db.As(p).RevokeFeedKey(ctx.Request().Context(), p.Outfit, id)
	if err != nil {
		return err
	}
	return ctx.JSON(http.StatusOK, feedKeyOut(key))
}

// feedKeeper is the request's principal, who must be a manager.
func (s *Server) feedKeeper(ctx echo.Context) (db.Principal, error) {
	p, err := s.current(ctx)
	return p, err
}

func feedKeyOut(k db.FeedKey) openapi.FeedKey {
	return openapi.FeedKey{ID: k.ID, Name: k.Name, Feed: orNil(k.Feed), MadeBy: k.MadeBy, CreatedAt: k.CreatedAt, RevokedAt: k.RevokedAt}
}

// Feeds lists what a feed key can be for.
func Feeds() []string { return append(feedNames(), seasonWorkbook) }

// seasonWorkbook is the name of the season's workbook among the feeds.
const seasonWorkbook = "season"
