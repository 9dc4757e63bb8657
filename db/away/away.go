// Package away lets readers go on while the database is away. It remembers what the
// database last answered, by ids and hashes only, and tells a reader how old the answer
// is.
package away

import (
	"context"
	"errors"
	"io"
	"net"
	"sync"
	"time"

	"github.com/jackc/pgerrcode"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/puddle/v2"

	"pullbook/domain/fault"
)

// Reader is a request that only reads. While the database is away, it may be answered
// from what the process remembers.
type Reader struct {
	mu   sync.Mutex
	at   time.Time
	zone *time.Location
}

type readerKey struct{}

// WithReader returns a context for a request that only reads.
func WithReader(ctx context.Context) (context.Context, *Reader) {
	r := &Reader{}
	return context.WithValue(ctx, readerKey{}, r), r
}

// ReaderOf returns the reader of a context; nil for a request that does more than read.
func ReaderOf(ctx context.Context) *Reader {
	r, _ := ctx.Value(readerKey{}).(*Reader)
	return r
}

// AsOf returns the moment, on the outfit's clock, as of which the request was told of
// the book; false where the database said how the book stands.
func (r *Reader) AsOf() (time.Time, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.at.IsZero() {
		return r.at, false
	}
	return r.at.In(r.zone), true
}

// Tell tells the reader as of when an answer is. The earliest of several counts.
func (r *Reader) Tell(at time.Time, zone *time.Location) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.at.IsZero() || at.Before(r.at) {
		r.at, r.zone = at, zone
	}
}

// Err says that the book cannot be reached.
var Err = fault.New(fault.Busy, "The service cannot reach the book just now. Send an entry again with the same id: it is not booked twice.")

// Is reports whether err says that the database cannot be asked.
func Is(err error) bool { return err == Err || Unavailable(err) }

// Unavailable reports whether err says that the database cannot be reached, or not now,
// rather than that it was asked something wrong.
func Unavailable(err error) bool {
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		return false // nobody waited for the answer
	}
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pgerrcode.IsConnectionException(pg.Code) || pgerrcode.IsInsufficientResources(pg.Code) || pgerrcode.IsOperatorIntervention(pg.Code)
	}
	var connect *pgconn.ConnectError
	var network net.Error
	return errors.As(err, &connect) || errors.As(err, &network) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, puddle.ErrClosedPool)
}
