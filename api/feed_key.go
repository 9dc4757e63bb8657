package api

import (
	"crypto/sha256"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/openapi"
)

const (
	// keyParameter is the query parameter that a feed key comes in. It is in no
	// log, no metric and no error.
	keyParameter = "key"
	// keyFeed is where a request keeps which feed its key reads.
	keyFeed = "feed"
)

// Wrong feed keys are slowed down by the network that they come from and by the
// outfit that they name.
var (
	keysFromNetwork = pace{10, 6 * time.Second}
	keysForOutfit   = pace{100, time.Second / 2}
)

// openFeed lets a request for a feed in by its feed key. A key that was good lately
// is looked up without counting, so that nobody can lock a working spreadsheet out by
// sending wrong ones.
func (s *Server) openFeed(ctx echo.Context, key string) error {
	outfit, _ := db.FeedKeyOutfit(key)
	hash := sha256.Sum256([]byte(key))
	var counts []count
	if !s.goodKeys.has(hash) {
		counts = []count{countBy(keysFromNetwork, "feed keys from", networkOf(ctx.Request())), countBy(keysForOutfit, "feed keys of", outfit.String())}
		if wait := s.guesses.take(counts...); wait > 0 {
			return tooOften(ctx, wait)
		}
	}
	p, feed, err := s.db.FeedPrincipal(ctx.Request().Context(), key)
	if fault.CodeOf(err) == fault.SignIn {
		s.goodKeys.forget(hash)
		return err
	}
	s.guesses.giveBack(counts...)
	if err != nil {
		return err
	}
	s.goodKeys.remember(hash)
	ctx.Set("principal", p)
	ctx.Set(keyFeed, feed)
	return nil
}

// goodKeys are digests of feed keys that were right lately.
type goodKeys struct {
	mu   sync.Mutex
	keys map[[sha256.Size]byte]bool
}

const mostGoodKeys = 4096

func (g *goodKeys) has(key [sha256.Size]byte) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.keys[key]
}

func (g *goodKeys) remember(key [sha256.Size]byte) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if len(g.keys) >= mostGoodKeys || g.keys == nil {
		g.keys = map[[sha256.Size]byte]bool{}
	}
	g.keys[key] = true
}

func (g *goodKeys) forget(key [sha256.Size]byte) {
	g.mu.Lock()
	defer g.mu.Unlock()
	delete(g.keys, key)
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

// CreateFeedKey makes a feed key and shows it, once.
func (s *Server) CreateFeedKey(ctx echo.Context) error {
	p, err := s.feedKeeper(ctx)
	if err != nil {
		return err
	}
	var in openapi.NewFeedKey
	if err := s.contract.Bind(&in, ctx); err != nil {
		return err
	}
	feed := wire.OrZero(in.Feed)
	if feed != "" && !slices.Contains(Feeds(), feed) {
		return &fault.Error{Code: fault.Invalid, Message: message.F("No key was made."), Fields: []fault.Field{{
			Pointer: "/feed", Sent: feed, Message: message.F("There is no such feed. There are %s. Without a name, the key reads all of them.", strings.Join(Feeds(), ", ")),
		}}}
	}
	key, secret, err := s.db.As(p).CreateFeedKey(ctx.Request().Context(), p.Outfit, in.Name, feed, p.Name)
	if err != nil {
		return err
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	out := openapi.CreatedFeedKey{Key: secret, FeedKey: feedKeyOut(key)}
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
	return openapi.FeedKey{ID: k.ID, Name: k.Name, Feed: wire.OrNil(k.Feed), MadeBy: k.MadeBy, CreatedAt: k.CreatedAt, RevokedAt: k.RevokedAt}
}

// Feeds lists what a feed key can be for.
func Feeds() []string { return append(feedNames(), seasonWorkbook) }

// seasonWorkbook is the name of the season's workbook among the feeds.
const seasonWorkbook = "season"
