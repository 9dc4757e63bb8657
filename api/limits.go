package api

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
)

// requestID gives a request a name for the log, the sender's own where it is
// short and plain.
func (s *Server) requestID(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		id := ctx.Request().Header.Get(echo.HeaderXRequestID)
		if !plainID(id) {
			id = rand.Text()[:16]
		}
		ctx.Response().Header().Set(echo.HeaderXRequestID, id)
		return next(ctx)
	}
}

func requestIDOf(ctx echo.Context) string {
	return ctx.Response().Header().Get(echo.HeaderXRequestID)
}

func plainID(id string) bool {
	for _, r := range id {
		if !(r == '-' || r == '_' || '0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z') {
			return false
		}
	}
	return 0 < len(id) && len(id) <= 64
}

// recover turns a panic into a fault, so that one bad request ends alone.
func (s *Server) recover(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) (err error) {
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.Log.Error("panic", "request_id", requestIDOf(ctx), "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
				err = fmt.Errorf("panic: %v", p)
			}
		}()
		return next(ctx)
	}
}

// limit bounds the size and time of each request, and how many are served at
// once. Liveness and metrics are answered however busy the service is.
func (s *Server) limit(next echo.HandlerFunc) echo.HandlerFunc {
	const wait = 2 * time.Second
	return func(ctx echo.Context) error {
		r := ctx.Request()
		if operational(ctx.Path()) {
			return next(ctx)
		}
		if follows(ctx) {
			return s.limitFollower(ctx, next)
		}
		settings, within := s.settings(ctx), s.RequestTimeout
		if settings.takesSheet {
			within = s.ImportTimeout
			moreTime(ctx, within)
		}
		limited, cancel := context.WithTimeout(r.Context(), within)
		defer cancel()
		select {
		case s.places <- struct{}{}:
		default:
			timer := time.NewTimer(wait)
			defer timer.Stop()
			select {
			case s.places <- struct{}{}:
			case <-timer.C:
				return fault.New(fault.Busy, "Too many requests at once; nothing of this one was stored.")
			case <-r.Context().Done():
				return r.Context().Err()
			}
		}
		defer func() { <-s.places }()
		r = r.WithContext(limited)
		r.Body = http.MaxBytesReader(ctx.Response().Writer, r.Body, settings.mostBytes)
		ctx.SetRequest(r)
		return next(ctx)
	}
}

// limitFollower bounds how many wait for changes. They wait longer than other
// requests may take, and end by themselves.
func (s *Server) limitFollower(ctx echo.Context, next echo.HandlerFunc) error {
	select {
	case s.followers <- struct{}{}:
	default:
		return fault.New(fault.Busy, "Too many wait for changes at once. Try again later, or ask without waiting.")
	}
	defer func() { <-s.followers }()
	return next(ctx)
}

// moreTime gives a request's connection the time of an import. Where the connection
// cannot be given more, it has what others have.
func moreTime(ctx echo.Context, within time.Duration) {
	until := time.Now().Add(within)
	control := http.NewResponseController(ctx.Response())
	_ = errors.Join(control.SetReadDeadline(until), control.SetWriteDeadline(until))
}
