package request

import (
	"crypto/sha256"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/fault"
)

// Wrong feed keys are slowed down by the network that they come from and by the
// outfit that they name.
var (
	keysFromNetwork = Pace{10, 6 * time.Second}
	keysForOutfit   = Pace{100, time.Second / 2}
)

// mostGoodKeys is how many feed keys that were good lately are remembered, by their digests.
const mostGoodKeys = 4096

// openFeed lets a request for a feed in by its feed key. A key that was good lately
// is looked up without counting, so that nobody can lock a working spreadsheet out by
// sending wrong ones.
func (s *Service) openFeed(ctx echo.Context, key string) error {
	outfit, _ := db.FeedKeyOutfit(key)
	hash := sha256.Sum256([]byte(key))
	var counts []Count
	if !s.goodKeys.Contains(hash) {
		counts = []Count{CountBy(keysFromNetwork, "feed keys from", ClientNetwork(ctx.Request())), CountBy(keysForOutfit, "feed keys of", outfit.String())}
		if wait := s.Guesses.Take(counts...); wait > 0 {
			return TooOften(ctx, wait)
		}
	}
	p, feed, err := s.DB.FeedPrincipal(ctx.Request().Context(), key)
	if fault.CodeOf(err) == fault.SignIn {
		s.goodKeys.Remove(hash)
		return err
	}
	s.Guesses.GiveBack(counts...)
	if err != nil {
		return err
	}
	s.goodKeys.Add(hash, struct{}{})
	ctx.Set("principal", p)
	ctx.Set(KeyFeed, feed)
	return nil
}
