package books_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"runtime"
	"runtime/metrics"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// BenchmarkOpenFromTheDatabase reads an outfit's book out of PostgreSQL and
// replays it, as the first request after a start does.
func BenchmarkOpenFromTheDatabase(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 500_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			url := dbtest.New(b)
			outfit := storeLarge(b, url, n)
			service, err := db.Open(b.Context(), dbtest.As(url, db.ServiceRole), db.ServiceRole, 4)
			if err != nil {
				b.Fatal(err)
			}
			defer service.Close()
			var spent time.Duration
			var taken, most float64
			for b.Loop() {
				b.StopTimer()
				empty, before := heap(), processorTime()
				b.StartTimer()
				books, highest := books.Open(service, 1), watchHeap()
				err := books.Verify(b.Context(), outfit, func(book *ledger.Book) error {
					if book.Len() <= int64(n) {
						b.Errorf("the book has %d entries", book.Len())
					}
					return nil
				})
				b.StopTimer()
				spent += processorTime() - before
				most = max(most, highest()-empty)
				taken = heap() - empty
				b.StartTimer()
				books.Close()
				if err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s/open")
			b.ReportMetric(spent.Seconds()/float64(b.N), "cpu-s/open")
			b.ReportMetric(taken/float64(n), "B/entry")
			b.ReportMetric(most/float64(n), "most-B/entry")
		})
	}
}

// processorTime is what this process took, without the database's.
func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// watchHeap looks at the heap, with its garbage, until it is asked how large that was at the
// most, in bytes.
func watchHeap() (highest func() float64) {
	stop, most := make(chan struct{}), make(chan float64)
	go func() {
		heap := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
		tick := time.NewTicker(10 * time.Millisecond)
		defer tick.Stop()
		for high := uint64(0); ; {
			metrics.Read(heap)
			high = max(high, heap[0].Value.Uint64())
			select {
			case <-tick.C:
			case <-stop:
				most <- float64(high)
				return
			}
		}
	}()
	return func() float64 {
		close(stop)
		return <-most
	}
}

// heap is what is in use once the collector has run, in bytes.
func heap() float64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc)
}

// storeLarge puts a large book into a database as it would stand there.
func storeLarge(tb testing.TB, url string, n int) uuid.UUID {
	tb.Helper()
	ctx := tb.Context()
	operator, err := db.Open(ctx, url, db.OperatorRole, 1)
	if err != nil {
		tb.Fatal(err)
	}
	defer operator.Close()
	outfit := db.Outfit{ID: uuid.New(), Name: "Fern Gully Honey", TimeZone: "UTC", Units: "metric"}
	if err := operator.CreateOutfit(ctx, outfit); err != nil {
		tb.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		tb.Fatal(err)
	}
	defer conn.Close(context.Background())
	entries := ledgertest.Large(n, 1)
	var digest [sha256.Size]byte
	head, err := operator.Head(ctx, outfit.ID) // that the outfit was made is an entry itself
	if err != nil {
		tb.Fatal(err)
	}
	copy(digest[:], head.Digest)
	_, err = conn.CopyFrom(ctx, pgx.Identifier{"entry"}, []string{"outfit_id", "number", "entry_id", "kind", "occurred_at", "recorded_at",
		"recorded_by", "replaces", "reason", "content", "digest"}, pgx.CopyFromSlice(n, func(i int) ([]any, error) {
		e := *entries[i]
		e.Number += head.Number
		content, err := e.Content()
		digest = ledger.Chain(digest, e.Number, e.Canonical(content))
		var replaces *[16]byte
		if e.Replaces != (ledger.ID{}) {
			replaces = (*[16]byte)(&e.Replaces)
		}
		return []any{[16]byte(outfit.ID), e.Number, [16]byte(e.ID), string(e.Kind), e.OccurredAt, e.RecordedAt,
			e.RecordedBy, replaces, e.Reason, content, append([]byte(nil), digest[:]...)}, err
	}))
	if err != nil {
		tb.Fatal(err)
	}
	if _, err := conn.Exec(ctx, "UPDATE book SET number = $2, digest = $3 WHERE outfit_id = $1", outfit.ID, head.Number+int64(n), digest[:]); err != nil {
		tb.Fatal(err)
	}
	if _, err := conn.Exec(ctx, "VACUUM ANALYZE entry"); err != nil {
		tb.Fatal(err)
	}
	return outfit.ID
}
