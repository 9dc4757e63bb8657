// Package api is the book over HTTP: the contract's handlers, one file a
// resource, and the page.
package api

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/gate"
	"pullbook/openapi"
)

// Config is what the service may use.
type Config struct {
	// MaxBodyBytes bounds a request's body.
	MaxBodyBytes int64
	// RequestTimeout bounds how long a request may take.
	RequestTimeout time.Duration
	// MaxImportBytes and ImportTimeout bound a sheet that is brought in, instead.
	MaxImportBytes int64
	ImportTimeout  time.Duration
	// Concurrent bounds how many requests are served at once; the rest are
	// asked to try again.
	Concurrent int
	// Room looks at the disk that keeps the book; nil where it is not this machine's.
	Room func() Room
	// PublicURL is the address under which others reach the service, without a
	// path; where it is empty, that of each request.
	PublicURL string
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
	Log     *slog.Logger
	// Now is the service's clock.
	Now func() time.Time
}

// DefaultConfig is what the program serves with.
func DefaultConfig() Config {
	return Config{
		MaxBodyBytes:   6400 << 10,
		RequestTimeout: 30 * time.Second,
		MaxImportBytes: 256 << 20,
		ImportTimeout:  15 * time.Minute,
		Concurrent:     256,
		Following:      256,
		MetricsFrom:    []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128")},
		Log:            slog.Default(),
		Now:            time.Now,
	}
}

// Server answers requests about books.
type Server struct {
	Config
	db       *db.DB
	books    *books.Books
	contract *contract
	metrics  *metrics
	answers  answers
	tracers  tracers
	sessions sessions
	imports  watches
	// A request passes the doors while it is found out who asks, then arriving while
	// its body is read, and takes one of the places while it is served. Those who wait
	// for changes and those who bring sheets in have places of their own; of those, few
	// have their file open. (A middleware
	// is made anew for each request, and so cannot keep them itself.)
	doors, arriving, places, followers, importing, opening *gate.Gate
	// guesses counts tries of passwords and feed keys; goodKeys are feed keys that
	// were right lately.
	guesses  *guesses
	goodKeys goodKeys
	large    *largeAnswers
	// crossOrigin tells the service's own forms from those of other sites.
	crossOrigin *http.CrossOriginProtection
}

// New makes the service's handler over a database that is up to date. The
// caller closes books and database once the handler has no more requests.
func New(d *db.DB, books *books.Books, config Config) (http.Handler, error) {
	s, err := newServer(d, books, config)
	if err != nil {
		return nil, err
	}
	return clients{trusted: config.TrustedProxies}.behind(headAsGet(routed(s))), nil
}

// routed has every route of the service.
func routed(s *Server) *echo.Echo {
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.problem
	e.Binder = s.contract
	e.Use(s.requestID, s.observe, s.recover, middleware.SecureWithConfig(secureHeaders), s.legible, s.asKnown, s.limit, s.compressFeeds(), s.legibleForm, s.knownParameters)
	openapi.RegisterHandlers(e, s)
	s.routeFeeds(e)
	s.routePage(e)
	s.routeHealth(e)
	return e
}

// Routes returns all routes of a service. There is no database behind them: tests ask which
// pages there are.
func Routes() ([]*echo.Route, error) {
	s, err := newServerWithoutDatabase()
	if err != nil {
		return nil, err
	}
	return routed(s).Routes(), nil
}

// newServer makes what all rooms share.
func newServer(d *db.DB, books *books.Books, config Config) (*Server, error) {
	c, err := readContract()
	if err != nil {
		return nil, err
	}
	crossOrigin, err := newCrossOrigin(config.PublicURL)
	if err != nil {
		return nil, fmt.Errorf("the public address: %w", err)
	}
	s := &Server{
		Config: config, db: d, books: books, contract: c, metrics: newMetrics(d.Pool), sessions: newSessions(d),
		doors: gate.New(config.Concurrent), arriving: gate.New(config.Concurrent), places: gate.New(config.Concurrent),
		followers: gate.New(config.Following), importing: newImportGate(), opening: gate.New(mostOpened),
		guesses: newGuesses(config.Now), large: newLargeAnswers(), crossOrigin: crossOrigin,
	}
	s.measureRoom()
	return s, nil
}

// newServerWithoutDatabase makes what tells which routes there are.
func newServerWithoutDatabase() (*Server, error) {
	c, err := readContract()
	if err != nil {
		return nil, err
	}
	return &Server{Config: DefaultConfig(), contract: c, metrics: newMetrics(nil)}, nil
}

// headAsGet answers HEAD like GET; net/http leaves out the body.
func headAsGet(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodHead {
			// A copy: net/http must know what was asked. So must a feed, which
			// need not be written to be left out.
			r = r.WithContext(context.WithValue(r.Context(), headKey{}, true))
			r.Method = http.MethodGet
		}
		next.ServeHTTP(w, r)
	})
}

// secureHeaders keep the pages from loading or running anything that is not
// the program's own.
var secureHeaders = middleware.SecureConfig{
	ContentSecurityPolicy: "default-src 'none'; img-src 'self' data:; style-src 'self'; script-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
	ContentTypeNosniff:    "nosniff",
	// Other sites are told nothing; the service's own forms say where they come from,
	// which fromHere looks at.
	ReferrerPolicy: "same-origin",
	XFrameOptions:  "DENY",
	// Sent over HTTPS only, also where a trusted proxy ends it.
	HSTSMaxAge:            365 * 24 * 60 * 60,
	HSTSExcludeSubdomains: true,
}
