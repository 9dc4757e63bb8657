package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/local"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// placesBack are how many entries of the book happened after the one that is recorded, the
// most first: what is recorded then does not stand between the next ones and the book's end.
var placesBack = []int{100_000, 10_000, 1_000, 100, 10, 0}

// lateLoads are over how many connections late entries are sent.
var lateLoads = []int{1, 32}

// late measures how long somebody waits who records what happened before the last entries of
// a large book.
func late(ctx context.Context, server *local.Server, out io.Writer, entries int, lasting time.Duration) error {
	if entries <= placesBack[0] {
		return fmt.Errorf("a book of %d entries is too small: it needs more than %d, to be recorded so many places back", entries, placesBack[0])
	}
	book, clock, err := fillForLate(ctx, server, entries)
	if err != nil {
		return err
	}
	at, err := serveBook(ctx, server.URLFor(db.ServiceRole, "pullbook"), clock)
	if err != nil {
		return err
	}
	defer at.stop()
	book.url = at.url
	if _, err := get(ctx, at.url+"/feeds/yards.csv", book.token, "", io.Discard); err != nil { // opens the book
		return err
	}
	rows := make([]string, len(placesBack))
	for i, places := range placesBack {
		moment := clock()
		if places > 0 {
			if moment, err = book.happened(ctx, server, places); err != nil {
				return err
			}
		}
		if rows[i], err = book.row(ctx, places, moment, lasting); err != nil {
			return err
		}
	}
	slices.Reverse(rows)
	fmt.Fprint(out, "| entries that happened later |")
	for _, kind := range lateEntries {
		for _, n := range lateLoads {
			fmt.Fprintf(out, " %s, %d connection%s |", kind.name, n, strings.Repeat("s", min(n-1, 1)))
		}
	}
	fmt.Fprintf(out, "\n| ---%s |\n%s", strings.Repeat(" | ---", len(lateEntries)*len(lateLoads)), strings.Join(rows, ""))
	return nil
}

// lateBook is a large book that is served, and what is recorded into it names.
type lateBook struct {
	stocked
	url                        string
	settling, sump, instrument uuid.UUID
}

// fillForLate fills a book, and makes a clock that begins where the book ends or now, whichever
// comes later.
func fillForLate(ctx context.Context, server *local.Server, entries int) (*lateBook, func() time.Time, error) {
	superuser := server.URLFor(local.Superuser, "pullbook")
	operator, err := db.Open(ctx, superuser, db.OperatorRole, 2)
	if err != nil {
		return nil, nil, err
	}
	defer operator.Close()
	conn, err := pgx.Connect(ctx, superuser)
	if err != nil {
		return nil, nil, err
	}
	defer conn.Close(ctx)
	all := ledgertest.Large(entries, 1)
	book := &lateBook{}
	start := time.Now()
	began := start
	for _, e := range all {
		for _, at := range []time.Time{e.OccurredAt, e.RecordedAt} {
			if at.After(began) {
				began = at
			}
		}
		switch body := e.Body.(type) {
		case *ledger.Tank:
			if body.Use == ledger.Sump {
				book.sump = e.ID
			} else {
				book.settling = e.ID
			}
		case *ledger.Instrument:
			book.instrument = e.ID
		}
	}
	for _, e := range all {
		if season, is := e.Body.(*ledger.Season); is {
			season.Last = ledger.Date(began.AddDate(1, 0, 0).Format(time.DateOnly))
		}
	}
	book.stocked, err = stock(ctx, conn, operator, "Late", all)
	return book, func() time.Time { return began.Add(time.Since(start)) }, err
}

// happened is a moment right before the last so many entries of the book happened.
func (b *lateBook) happened(ctx context.Context, server *local.Server, places int) (at time.Time, err error) {
	conn, err := pgx.Connect(ctx, server.URLFor(local.Superuser, "pullbook"))
	if err != nil {
		return at, err
	}
	defer conn.Close(ctx)
	err = conn.QueryRow(ctx, "SELECT occurred_at - interval '1 second' FROM entry WHERE outfit_id = $1 ORDER BY occurred_at DESC OFFSET $2 LIMIT 1", b.ID, places-1).Scan(&at)
	return at, err
}

// lateEntries are what is recorded late: of the tank that all honey goes through.
var lateEntries = []struct {
	name, path string
	body       func(b *lateBook) string
}{
	{"reading", "readings", func(b *lateBook) string {
		return fmt.Sprintf(`"on":{"kind":"tank","id":%q},"point":"gate","instrument_id":%q,"moisture_pct":17.4`, b.settling, b.instrument)
	}},
	{"transfer", "movements", func(b *lateBook) string { // a gram, so that the tank does not run dry
		return fmt.Sprintf(`"from":{"kind":"tank","id":%q},"to":{"kind":"tank","id":%q},"mass_kg":0.001`, b.settling, b.sump)
	}},
}

// row measures each sort of entry over each number of connections.
func (b *lateBook) row(ctx context.Context, places int, at time.Time, lasting time.Duration) (string, error) {
	row := fmt.Sprintf("| %s |", thousands(float64(places)))
	var written atomic.Int64
	for _, kind := range lateEntries {
		for _, n := range lateLoads {
			l, err := load(ctx, n, lasting, func(int, int) sending {
				// One after the other, so that each is as many places back.
				occurred := at.Add(time.Duration(written.Add(1)) * time.Microsecond)
				return sending{b.url + "/v1/" + kind.path, b.token, fmt.Appendf(nil, `{"id":%q,"occurred_at":%q,%s}`,
					uuid.NewString(), occurred.Format(time.RFC3339Nano), kind.body(b))}
			})
			if err != nil {
				return "", fmt.Errorf("%s, %d places back, %d connections: %w", kind.name, places, n, err)
			}
			row += fmt.Sprintf(" %s, %s |", thousands(l.share(0.5)), thousands(l.share(0.99)))
		}
	}
	return row + "\n", nil
}

// share is within how many microseconds that part of the answers came.
func (l loaded) share(part float64) float64 {
	return float64(l.took[min(len(l.took)-1, int(part*float64(len(l.took))))].Microseconds())
}
