// Package request finds out who asks, whether the request is well formed and how much it may
// use, and says what went wrong. Service holds what all rooms of the interface share.
package request

import (
	"context"
	"crypto/sha256"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"time"

	lru "github.com/hashicorp/golang-lru/v2"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/gate"
	"pullbook/domain/balance"
	"pullbook/domain/quality"
)

// Config is what the service may use.
type Config struct {
	// MaxBodyBytes bounds a request's body. The contract alone bounds a sheet that is
	// brought in.
	MaxBodyBytes int64
	// RequestTimeout bounds how long a request may take.
	RequestTimeout time.Duration
	// ImportTimeout bounds how long a sheet may take that is brought in, instead.
	ImportTimeout time.Duration
	// ImportWait bounds how long a sheet waits until others have been read.
	ImportWait time.Duration
	// Memory is how much memory the service may use, in bytes; 0 where nobody knows.
	Memory int64
	// Concurrent bounds how many requests are served at once; the rest are
	// asked to try again.
	Concurrent int
	// Room looks at the disk that keeps the book; nil where it is not this machine's.
	Room func() Room
	// Backups tells of those that the program makes by itself; nil where they are somebody
	// else's business.
	Backups func() Backups
	// PublicURL is the address under which others reach the service, without a
	// path; where it is empty, that of each request.
	PublicURL string
	// Own tells of the machine's own authority; nil where somebody else vouches for the
	// service, or nobody.
	Own func() OwnAuthority
	// Following bounds how many requests may wait for changes at once, beside
	// those.
	Following int
	// TrustedProxies are the networks of proxies before the service, whose word is
	// taken for where a request came from.
	TrustedProxies []netip.Prefix
	// MetricsFrom are the networks that may read the metrics; so may whoever has
	// MetricsToken, where it is not empty.
	MetricsFrom  []netip.Prefix
	MetricsToken string
	// Serving ends when the service is asked to stop, so that those who wait
	// are let go; nil where nobody asks.
	Serving context.Context
	// DeliverTo are networks of the service's own machine that deliveries may go to.
	DeliverTo []netip.Prefix
	// Version is the program's; pages say it to who is signed in.
	Version string
	Log     *slog.Logger
	// Now is the service's clock.
	Now func() time.Time
}

// DefaultConfig is what the program serves with.
func DefaultConfig() Config {
	return Config{
		MaxBodyBytes:   6400 << 10,
		RequestTimeout: 30 * time.Second,
		ImportTimeout:  15 * time.Minute,
		ImportWait:     5 * time.Minute,
		Concurrent:     256,
		Following:      256,
		MetricsFrom:    []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128")},
		Log:            slog.Default(),
		Now:            time.Now,
	}
}

// Service answers requests about books.
type Service struct {
	Config
	DB       *db.DB
	Books    *books.Books
	Contract *contract
	Metrics  *metrics
	Answers  answers
	Tracers  tracers
	// Solved is what the balances of books came to.
	Solved balance.Solved
	// Judged is what the lots of books came to.
	Judged   *quality.Judged
	Sessions sessions
	Imports  watches
	// A request passes the doors while it is found out who asks, then arriving while
	// its body is read, and takes one of the places while it is served. Those who wait
	// for changes and those who bring sheets or certificates in have places of their own;
	// of those with sheets, few have their file open. (A middleware
	// is made anew for each request, and so cannot keep them itself.)
	doors, arriving, places, followers, importing, filing *gate.Gate
	sheets                                                *sheetLine
	// Guesses counts tries of passwords and feed keys; goodKeys are feed keys that
	// were right lately.
	Guesses  *guesses
	goodKeys *lru.Cache[[sha256.Size]byte, struct{}]
	Large    largeAnswers
	// crossOrigin tells the service's own forms from those of other sites.
	crossOrigin *http.CrossOriginProtection
}

// New makes what all rooms share.
func New(d *db.DB, books *books.Books, config Config) (*Service, error) {
	c, err := readContract()
	if err != nil {
		return nil, err
	}
	crossOrigin, err := newCrossOrigin(config.PublicURL)
	if err != nil {
		return nil, fmt.Errorf("the public address: %w", err)
	}
	s := &Service{
		Config: config, DB: d, Books: books, Contract: c, Metrics: newMetrics(d.Pool), Judged: quality.NewJudged(), Sessions: newSessions(d),
		doors: gate.New(config.Concurrent), arriving: gate.New(config.Concurrent), places: gate.New(config.Concurrent),
		followers: gate.New(config.Following), importing: newImportGate(), filing: newFilingGate(), sheets: newSheetLine(config.Memory),
		Guesses: newGuesses(config.Now), goodKeys: latest[[sha256.Size]byte, struct{}](mostGoodKeys),
		Imports: watches{latest[watchKey, *watch](keptWatches)}, Large: newLargeAnswers(), crossOrigin: crossOrigin,
	}
	s.measureRoom()
	s.measureBackups()
	return s, nil
}

// latest keeps so many things, those that were put there or asked for last.
func latest[K comparable, V any](most int) *lru.Cache[K, V] {
	kept, _ := lru.New[K, V](most) // fails for no size at all only
	return kept
}
