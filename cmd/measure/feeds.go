package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"runtime"
	"runtime/debug"
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

// feeds measures what leaves for spreadsheets: a feed of a million readings
// beside psql's COPY of a flat table of the same rows, polls that find nothing
// new, and the workbook of a season of 50,000 entries.
func feeds(ctx context.Context, server *local.Server, readings, rounds int) error {
	superuser := server.URLFor(local.Superuser, "pullbook")
	operator, err := db.Open(ctx, superuser, db.OperatorRole, 2)
	if err != nil {
		return err
	}
	defer operator.Close()
	conn, err := pgx.Connect(ctx, superuser)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	large, err := stock(ctx, conn, operator, "Readings", manyReadings(readings))
	if err != nil {
		return err
	}
	season, err := stock(ctx, conn, operator, "Season", ledgertest.Large(50_000, 1))
	if err != nil {
		return err
	}
	service, err := serveBook(ctx, server.URLFor(db.ServiceRole, "pullbook"), time.Now)
	if err != nil {
		return err
	}
	defer service.stop()
	url, command := service.url, fmt.Sprintf("go run ./cmd/measure -feeds %d -rounds %d", readings, rounds)
	// The small book first: garbage is collected by the size of what is kept.
	if err := workbook(ctx, url, season.token, rounds, command); err != nil {
		return err
	}
	if err := besideCopy(ctx, server, conn, url, large.token, readings, rounds, command); err != nil {
		return err
	}
	for _, path := range []string{"/feeds/readings.csv", fmt.Sprintf("/v1/changes?since=%d", large.last)} {
		if err := polls(ctx, url+path, large.token, command); err != nil {
			return err
		}
	}
	return nil
}

// manyReadings is a tank and an instrument, and readings of it a minute apart.
func manyReadings(n int) []*ledger.Entry {
	began := time.Date(2024, 1, 1, 6, 0, 0, 0, time.UTC)
	tank, instrument := uuid.New(), uuid.New()
	out := []*ledger.Entry{
		{ID: tank, Body: &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 4_500_000}},
		{ID: instrument, Body: &ledger.Instrument{Name: "blue refractometer", Scale: "moisture", Compensates: true, StdUncertainty: new(0.2)}},
	}
	for i := range n {
		pct := 16 + float64(i%30)/10
		out = append(out, &ledger.Entry{ID: uuid.New(), OccurredAt: began.Add(time.Duration(i) * time.Minute), Body: &ledger.Reading{
			On: ledger.Place{Kind: ledger.PlaceTank, ID: tank}, Point: ledger.PointGate, InstrumentID: instrument,
			Moisture: &ledger.MoistureReading{Scale: "moisture", AsRead: pct, Compensated: true, Pct: pct, StdUncertaintyPct: 0.2, Formula: "as shown"},
		}})
	}
	for i, e := range out {
		e.Number, e.Kind = int64(i+1), e.Body.Kind()
		if e.OccurredAt.IsZero() {
			e.OccurredAt = began
		}
		e.RecordedAt = e.OccurredAt.Add(time.Second)
	}
	return out
}

// get reads an address to its end.
func get(ctx context.Context, url, token, tag string, into io.Writer) (*http.Response, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, url, nil)
	if err != nil {
		return nil, err
	}
	r.Header.Set("Authorization", "Bearer "+token)
	r.Header.Set("Accept-Encoding", "identity")
	if tag != "" {
		r.Header.Set("If-None-Match", tag)
	}
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil, err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK && response.StatusCode != http.StatusNotModified {
		return nil, errors.New(response.Status)
	}
	_, err = io.Copy(into, response.Body)
	return response, err
}

// besideCopy takes the feed and psql's COPY of the same rows in turn.
func besideCopy(ctx context.Context, server *local.Server, conn *pgx.Conn, url, token string, readings, rounds int, command string) error {
	feed := url + "/feeds/readings.csv?byte_order_mark=false"
	if err := flatten(ctx, conn, feed, token); err != nil {
		return err
	}
	var ours, theirs, ratios []float64
	for range rounds {
		began := time.Now()
		if _, err := get(ctx, feed, token, "", io.Discard); err != nil {
			return err
		}
		ours = append(ours, float64(readings)/time.Since(began).Seconds())
		began = time.Now()
		psql := exec.CommandContext(ctx, server.Binaries().Path("psql"), "-X", "-q", "-o", os.DevNull, "-c", "COPY flat TO STDOUT (FORMAT csv)", server.URLFor(local.Superuser, "pullbook"))
		if out, err := psql.CombinedOutput(); err != nil {
			return fmt.Errorf("psql: %w: %s", err, out)
		}
		theirs = append(theirs, float64(readings)/time.Since(began).Seconds())
		ratios = append(ratios, ours[len(ours)-1]/theirs[len(theirs)-1])
	}
	// Beside a book of this size garbage would be let lie for long.
	was := debug.SetGCPercent(1)
	var err error
	_, grew := watched(func() { _, err = get(ctx, feed, token, "", io.Discard) })
	debug.SetGCPercent(was)
	if err != nil {
		return err
	}
	speed{
		what:     fmt.Sprintf("CSV feed of %s readings, beside `COPY ... TO STDOUT (FORMAT csv)` of a flat table of the same rows through psql: rows a second, and how much more is kept in memory", thousands(float64(readings))),
		measured: fmt.Sprintf("%s, %.0f MB", thousands(median(ours)), grew), floor: thousands(median(theirs)), ratio: spread(ratios), command: command,
	}.print()
	return nil
}

// flatten makes a table with the feed's own columns and rows.
func flatten(ctx context.Context, conn *pgx.Conn, feed, token string) error {
	from, to := io.Pipe()
	go func() {
		_, err := get(ctx, feed, token, "", to)
		to.CloseWithError(err)
	}()
	defer from.Close()
	var head strings.Builder
	for one := make([]byte, 1); ; {
		if _, err := io.ReadFull(from, one); err != nil {
			return err
		}
		if one[0] == '\n' {
			break
		}
		head.Write(one)
	}
	var columns []string
	for name := range strings.SplitSeq(strings.TrimSpace(head.String()), ",") {
		columns = append(columns, name+" "+typeOf(name))
	}
	if _, err := conn.Exec(ctx, "CREATE TABLE flat ("+strings.Join(columns, ", ")+")"); err != nil {
		return err
	}
	_, err := conn.PgConn().CopyFrom(ctx, from, "COPY flat FROM STDIN (FORMAT csv)")
	return err
}

func typeOf(column string) string {
	switch {
	case column == "id", column == "on_id":
		return "uuid"
	case strings.HasSuffix(column, "_at"):
		return "timestamp"
	case column == "entry", column == "containers_sampled":
		return "bigint"
	case column == "granulated":
		return "boolean"
	case strings.Contains(column, "_per_") || strings.HasSuffix(column, "_pct") || strings.HasSuffix(column, "_c"),
		column == "as_read", column == "diastase_gothe", column == "colour_mm_pfund", column == "water_activity":
		return "numeric"
	}
	return "text"
}

// watched says how long f took, and by how many megabytes the heap grew at the
// most, looked at every few milliseconds.
func watched(f func()) (took time.Duration, grewMB float64) {
	runtime.GC()
	var before, now runtime.MemStats
	runtime.ReadMemStats(&before)
	var most atomic.Uint64
	done := make(chan struct{})
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		for {
			select {
			case <-done:
				return
			case <-time.After(20 * time.Millisecond):
				runtime.ReadMemStats(&now)
				most.Store(max(most.Load(), now.HeapAlloc))
			}
		}
	}()
	began := time.Now()
	f()
	took = time.Since(began)
	close(done)
	<-ended
	return took, max(0, float64(most.Load())-float64(before.HeapAlloc)) / (1 << 20)
}

// polls measures a poll that finds nothing new, as its client sees it.
func polls(ctx context.Context, url, token, command string) error {
	first, err := get(ctx, url, token, "", io.Discard)
	if err != nil {
		return err
	}
	var took []float64
	for range 1000 {
		began := time.Now()
		if _, err := get(ctx, url, token, first.Header.Get("ETag"), io.Discard); err != nil {
			return err
		}
		took = append(took, float64(time.Since(began).Microseconds())/1000)
	}
	path, _, _ := strings.Cut(url[strings.LastIndex(url, "/"):], "?")
	speed{fmt.Sprintf("a poll of `%s` that finds nothing new, with its way there and back", path), fmt.Sprintf("%.2f ms", median(took)), "-", "-", command}.print()
	return nil
}

func workbook(ctx context.Context, url, token string, rounds int, command string) error {
	var took, memory, size []float64
	for range rounds {
		var err error
		var out counter
		t, grew := watched(func() { _, err = get(ctx, url+"/feeds/season.xlsx", token, "", &out) })
		if err != nil {
			return err
		}
		took, memory, size = append(took, t.Seconds()), append(memory, grew), append(size, float64(out)/(1<<20))
	}
	speed{"workbook of a season of 50,000 entries, and how much more memory is used meanwhile",
		fmt.Sprintf("%.2f s, %.0f MB (%.1f MB long)", median(took), median(memory), median(size)), "-", "-", command}.print()
	return nil
}

// counter counts what is written to it.
type counter int64

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}
