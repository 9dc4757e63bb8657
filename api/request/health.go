package request

import (
	"context"
	"crypto/subtle"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics are what the service tells of itself.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	Entries  *prometheus.CounterVec
	Flags    *prometheus.CounterVec
	reports  prometheus.Histogram
}

func newMetrics(pool *pgxpool.Pool) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "pullbook_requests_total", Help: "Requests by route and status.",
		}, []string{"method", "route", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "pullbook_request_seconds", Help: "Time to answer, by route.", Buckets: prometheus.ExponentialBuckets(0.0005, 2, 14),
		}, []string{"route"}),
		Entries: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "pullbook_entries_total", Help: "Entries recorded, by kind.",
		}, []string{"kind"}),
		Flags: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "pullbook_flags_total", Help: "Oddities flagged as entries were recorded, by sort.",
		}, []string{"flag"}),
		reports: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "pullbook_replay_seconds", Help: "Time spent on replaying and reporting a book for a reader.", Buckets: prometheus.ExponentialBuckets(0.0001, 2, 16),
		}),
	}
	m.registry.MustRegister(m.requests, m.seconds, m.Entries, m.Flags, m.reports,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	gauge := func(name, help string, value func(*pgxpool.Stat) float64) {
		m.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: name, Help: help},
			func() float64 { return value(pool.Stat()) }))
	}
	gauge("pullbook_pool_connections", "Connections to the database.", func(s *pgxpool.Stat) float64 { return float64(s.TotalConns()) })
	gauge("pullbook_pool_acquired", "Connections at work.", func(s *pgxpool.Stat) float64 { return float64(s.AcquiredConns()) })
	gauge("pullbook_pool_waited_seconds", "Time spent waiting for a connection.", func(s *pgxpool.Stat) float64 { return s.AcquireDuration().Seconds() })
	return m
}

const (
	livePath    = "/livez"
	readyPath   = "/readyz"
	metricsPath = "/metrics"
)

func operational(path string) bool {
	return path == livePath || path == readyPath || path == metricsPath
}

// RouteHealth serves liveness, readiness and the metrics.
func (s *Service) RouteHealth(e *echo.Echo) {
	e.GET(livePath, func(ctx echo.Context) error { return ctx.String(http.StatusOK, "alive\n") })
	e.GET(readyPath, func(ctx echo.Context) error {
		within, cancel := context.WithTimeout(ctx.Request().Context(), 2*time.Second)
		defer cancel()
		if err := s.DB.Pool.Ping(within); err != nil {
			return ctx.String(http.StatusServiceUnavailable, "the database does not answer\n")
		}
		switch room := s.DiskRoom(); {
		case room.Full:
			return ctx.String(http.StatusServiceUnavailable, "reading only: the disk of "+room.Folder+" is full\n")
		case room.Low:
			return ctx.String(http.StatusOK, fmt.Sprintf("ready, but the disk of %s has only %d MB free\n", room.Folder, room.FreeBytes/1e6))
		}
		return ctx.String(http.StatusOK, "ready\n")
	})
	shown := promhttp.HandlerFor(s.Metrics.registry, promhttp.HandlerOpts{})
	e.GET(metricsPath, func(ctx echo.Context) error {
		if !s.mayMeasure(ctx.Request()) {
			return echo.ErrNotFound
		}
		shown.ServeHTTP(ctx.Response(), ctx.Request())
		return nil
	})
}

// mayMeasure reports whether a request may read the metrics: it comes from a network
// that may, and straight from there, or brings the token. What a proxy passed on that
// is not a trusted one may come from anywhere.
func (s *Service) mayMeasure(r *http.Request) bool {
	if s.MetricsToken != "" && subtle.ConstantTimeCompare([]byte(secretOf(r)), []byte(s.MetricsToken)) == 1 {
		return true
	}
	return !passedOn(r) && within(s.MetricsFrom, addressIn(r.RemoteAddr))
}

// Observe counts and logs each request: what was asked and how it ended, never
// a body, a query or a secret.
func (s *Service) Observe(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		began := s.Now()
		if err := next(ctx); err != nil {
			ctx.Error(err)
		}
		took := s.Now().Sub(began)
		route := ctx.Path()
		if route == "" {
			route = "unknown"
		}
		status := ctx.Response().Status
		s.Metrics.requests.WithLabelValues(methodLabel(ctx.Request().Method), route, strconv.Itoa(status)).Inc()
		s.Metrics.seconds.WithLabelValues(route).Observe(took.Seconds())
		if !operational(route) {
			s.Log.Info("request", "request_id", RequestIDOf(ctx), "method", ctx.Request().Method, "route", route,
				"status", status, "ms", float64(took.Microseconds())/1000, "bytes", ctx.Response().Size)
		}
		return nil
	}
}

// methodLabel keeps made-up methods from adding a series each.
func methodLabel(method string) string {
	switch method {
	case http.MethodGet, http.MethodPost, http.MethodOptions, http.MethodPut, http.MethodPatch, http.MethodDelete:
		return method
	}
	return "other"
}
