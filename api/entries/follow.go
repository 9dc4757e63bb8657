package entries

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// FollowEntries gives the entries since one, and waits for them if asked to.
func (s Handler) FollowEntries(ctx echo.Context, params openapi.FollowEntriesParams) error {
	limit := int(wire.OrDefault(params.Limit, request.DefaultLimit))
	out, err := s.changes(ctx, "since", params.Since, limit)
	if err != nil {
		return err
	}
	if wait := time.Duration(wire.OrZero(params.WaitSeconds)) * time.Second; len(out.Entries) == 0 && wait > 0 {
		if err := s.Patience(ctx)(); err != nil {
			return err
		}
		waiting, cancel := s.whileServing(ctx, min(wait, request.LongestWait))
		err := s.Books.Await(waiting, request.Principal(ctx).Outfit, params.Since)
		cancel()
		if ctx.Request().Context().Err() != nil || err != nil && !errors.Is(err, context.DeadlineExceeded) && !errors.Is(err, context.Canceled) {
			return err
		}
		if out, err = s.changes(ctx, "since", params.Since, limit); err != nil {
			return err
		}
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	return ctx.JSON(http.StatusOK, out)
}

// changes are the entries after one, so many at the most. given is what the request
// gave that one by.
func (s Handler) changes(ctx echo.Context, given string, since int64, limit int) (out openapi.FollowedEntries, err error) {
	out.Entries = []openapi.Entry{}
	err = s.Books.Read(ctx.Request().Context(), request.Principal(ctx), func(_ db.Outfit, b *ledger.Book) error {
		if since > b.Len() {
			return request.BeyondEnd(given, fmt.Sprint(since), b)
		}
		out.Through, out.LastEntry = since, b.Len()
		for n := since + 1; n <= b.Len() && len(out.Entries) < limit; n++ {
			e, err := journalOut(request.Principal(ctx).Role, b, b.Numbered(n))
			if err != nil {
				return err
			}
			out.Entries = append(out.Entries, e)
			out.Through = n
		}
		return nil
	})
	return out, err
}

// whileServing ends with the request, after a while, or when the service is
// asked to stop.
func (s Handler) whileServing(ctx echo.Context, within time.Duration) (context.Context, context.CancelFunc) {
	waiting, cancel := context.WithTimeout(ctx.Request().Context(), within)
	stop := context.AfterFunc(s.serving(), cancel)
	return waiting, func() { stop(); cancel() }
}

func (s Handler) serving() context.Context {
	if s.Serving == nil {
		return context.Background()
	}
	return s.Serving
}

// StreamEntries sends entries as they come, as server-sent events whose ids are
// the entries' numbers.
func (s Handler) StreamEntries(ctx echo.Context, params openapi.StreamEntriesParams) error {
	given, since := "since", wire.OrZero(params.Since)
	if text := ctx.Request().Header.Get(request.LastEventID); text != "" {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 0 {
			return request.ParameterFault(request.LastEventID, text, "This is the number of the last entry that came.")
		}
		given, since = request.LastEventID, n
	}
	// What cannot be is refused before anything is sent.
	first, err := s.changes(ctx, given, since, request.ChangesAtOnce)
	if err != nil {
		return err
	}
	header := ctx.Response().Header()
	header.Set("Content-Type", "text/event-stream")
	header.Set("Cache-Control", "no-store")
	ctx.Response().WriteHeader(http.StatusOK)
	if err := s.sendChanges(ctx, first); err != nil {
		return nil // told by breaking off
	}
	s.follow(ctx, first.Through)
	return nil
}

// follow sends what comes until the client leaves, its token is revoked, or the
// service is asked to stop.
func (s Handler) follow(ctx echo.Context, since int64) {
	for {
		waiting, cancel := s.whileServing(ctx, request.Heartbeat)
		err := s.Books.Await(waiting, request.Principal(ctx).Outfit, since)
		cancel()
		if ctx.Request().Context().Err() != nil || s.serving().Err() != nil {
			return
		}
		if err != nil && !errors.Is(err, context.DeadlineExceeded) {
			return
		}
		next, err := s.changes(ctx, "since", since, request.ChangesAtOnce)
		if err != nil || s.sendChanges(ctx, next) != nil {
			return
		}
		since = next.Through
	}
}

// sendChanges sends entries as events; a comment where there are none, so that
// both sides notice when the other has gone.
func (s Handler) sendChanges(ctx echo.Context, changes openapi.FollowedEntries) error {
	if err := s.Patience(ctx)(); err != nil {
		return err
	}
	var events bytes.Buffer
	if len(changes.Entries) == 0 {
		events.WriteString(": nothing new\n\n")
	}
	for _, e := range changes.Entries {
		data, err := request.Marshal(e)
		if err != nil {
			return err
		}
		fmt.Fprintf(&events, "id: %d\nevent: entry\ndata: %s\n", e.Number, data)
	}
	if _, err := io.Copy(ctx.Response(), &events); err != nil {
		return err
	}
	return http.NewResponseController(ctx.Response()).Flush()
}
