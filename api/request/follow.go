package request

import (
	"time"

	"github.com/labstack/echo/v4"
)

// HeadKey marks the context of a request of which only the head is asked for.
type HeadKey struct{}

// HeadAsked reports whether only the head of an answer was asked for.
func HeadAsked(ctx echo.Context) bool {
	asked, _ := ctx.Request().Context().Value(HeadKey{}).(bool)
	return asked
}

const (
	changesPath = "/v1/changes"
	streamPath  = "/v1/changes/stream"
	// LongestWait bounds how long a poll may wait.
	LongestWait = 25 * time.Second
	// Heartbeat is how often a stream with nothing to tell says that it is there.
	Heartbeat = 15 * time.Second
	// ChangesAtOnce is how many entries are written while the book is held.
	ChangesAtOnce = 200
	// LastEventID is the header by which a stream that broke off is taken up again.
	LastEventID = "Last-Event-ID"
)

// follows reports whether a request may wait for what others record. Those have
// places of their own.
func follows(ctx echo.Context) bool {
	wait := ctx.QueryParam("wait_seconds")
	return ctx.Path() == streamPath || ctx.Path() == changesPath && wait != "" && wait != "0"
}
