// Package api serves the book over HTTP. It leads each request through the checks that all
// share to the room that answers it.
package api

import (
	"context"
	"net/http"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"pullbook/api/calculator"
	"pullbook/api/deliver"
	"pullbook/api/entries"
	"pullbook/api/feeds"
	"pullbook/api/pages"
	"pullbook/api/pages/certificate"
	"pullbook/api/plans"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/openapi"
)

// New makes the service's handler over a database that is up to date. The
// caller closes books and database once the handler has no more requests.
func New(d *db.DB, books *books.Books, config request.Config) (http.Handler, error) {
	s, err := request.New(d, books, config)
	if err != nil {
		return nil, err
	}
	e, err := routed(s)
	return request.Clients{Trusted: config.TrustedProxies}.Behind(headAsGet(e)), err
}

// handlers answers the operations of the contract, each of them in its own room. entries.RouteKinds
// and feeds.Route answer those of which there is one for each kind of entry, or each feed.
type handlers struct {
	calculatorHandler
	reportsHandler
	entriesHandler
	feedsHandler
	certificateHandler
	deliverHandler
	plansHandler
}

// The rooms' handlers under names of their own, since a struct has each name once.
type (
	calculatorHandler  = calculator.Handler
	reportsHandler     = reports.Handler
	entriesHandler     = entries.Handler
	feedsHandler       = feeds.Handler
	certificateHandler = certificate.Handler
	deliverHandler     = deliver.Handler
	plansHandler       = plans.Handler
)

var _ openapi.ServerInterface = handlers{}

func handlersOver(s *request.Service) handlers {
	return handlers{
		calculator.Handler{Service: s}, reports.Handler{Service: s}, entries.Handler{Service: s},
		feeds.Handler{Service: s}, certificate.Handler{Service: s}, deliver.Handler{Service: s}, plans.New(s),
	}
}

// routed has every route of the service.
func routed(s *request.Service) (*echo.Echo, error) {
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.Problem
	e.Binder = s.Contract
	e.Use(s.RequestID, s.Observe, s.Recover, middleware.SecureWithConfig(secureHeadersOf(s)), s.Legible, s.AsKnown, s.Limit, feeds.Compress(s), s.LegibleForm, feeds.KnownFilters(s), s.KnownParameters)
	h := handlersOver(s)
	openapi.RegisterHandlers(e, h)
	feeds.Route(s, e)
	pages.RoutePage(s, h.plansHandler, e)
	s.RouteHealth(e)
	return e, entries.RouteKinds(s, e)
}

// Routes returns all routes of a service. There is no database behind them: tests ask which
// pages there are.
func Routes() ([]*echo.Route, error) {
	s, err := request.New(&db.DB{}, nil, request.DefaultConfig())
	if err != nil {
		return nil, err
	}
	e, err := routed(s)
	return e.Routes(), err
}

// headAsGet answers HEAD like GET; net/http leaves out the body.
func headAsGet(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodHead {
			// A copy: net/http must know what was asked. So must a feed, which
			// need not be written to be left out.
			r = r.WithContext(context.WithValue(r.Context(), request.HeadKey{}, true))
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

// secureHeadersOf are those of a service. Where the machine is its own authority, browsers are
// not told to come over HTTPS alone: with another authority they could not even ask how to trust it.
func secureHeadersOf(s *request.Service) middleware.SecureConfig {
	headers := secureHeaders
	if s.Own != nil {
		headers.HSTSMaxAge = 0
	}
	return headers
}
