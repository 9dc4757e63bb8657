package feeds

import (
	"io"
	"os"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// A feed holds no more of a large book than of a small one, neither while its rows are
// prepared nor while they are sent. The test runs alone: it reads what the whole process
// holds.
func TestAFeedOfAnyLengthHoldsTheSameMemory(t *testing.T) {
	watched := []func(look func()) table{
		watchedFeed(yardsFeed), watchedFeed(pullsFeed), watchedFeed(runsFeed), watchedFeed(readingsFeed), watchedFeed(movementsFeed),
		watchedFeed(tanksFeed), watchedFeed(lotsFeed), watchedFeed(containersFeed), watchedFeed(verdictsFeed), watchedFeed(findingsFeed),
		watchedFeed(temperaturesFeed), watchedFeed(journalFeed),
	}
	if len(watched) != len(allTables) {
		t.Errorf("%d feeds are watched of %d", len(watched), len(allTables))
	}
	held := map[int][]int64{}
	for _, entries := range []int{10_000, 40_000} { // one book at a time: each look goes through all that is held
		book, err := ledger.Open(time.UTC, ledgertest.Large(entries, 1))
		if err != nil {
			t.Fatal(err)
		}
		book.State() // is the book's own
		for _, feed := range watched {
			held[entries] = append(held[entries], mostHeldBy(t, feed, book))
		}
		runtime.KeepAlive(book)
	}
	for i, feed := range watched {
		small, large := held[10_000][i], held[40_000][i]
		t.Logf("%s holds %d bytes of 10,000 entries and %d of 40,000", feed(nil).title(), small, large)
		// That is nine bytes for each of 30,000 entries more: copies of the findings took 19, a replay 68.
		if large-small > spoolKept {
			t.Errorf("%s holds %d bytes of 10,000 entries and %d of 40,000", feed(nil).title(), small, large)
		}
	}
}

// watchedEvery is after how many rows a watched feed looks.
const watchedEvery = 1000

// watchedFeed is a feed with one column more, in which nothing is written: while it is
// written, at every so many rows, look is called.
func watchedFeed[R any](of *tableOf[R]) func(look func()) table {
	return func(look func()) table {
		with, rows := *of, 0
		with.columns = append(slices.Clone(of.columns), column[R]{"", formWhole, func(_ *view, out cells, _ R) {
			if rows++; rows%watchedEvery == 0 {
				look()
			}
			out.none()
		}})
		return &with
	}
}

// mostHeldBy is how many bytes more are held at the most than before while a feed is
// prepared and sent.
func mostHeldBy(t *testing.T, feed func(look func()) table, book *ledger.Book) (most int64) {
	t.Helper()
	before := heapHeld()
	look := func() { most = max(most, heapHeld()-before) }
	run := &run{table: feed(look), view: view{outfit: db.Outfit{ID: uuid.New()}, number: book.Len()}, loc: time.UTC}
	defer run.close()
	if err := run.begin(&query{on: lastDay(book)}, book); err != nil {
		t.Fatal(err)
	}
	out := newCSV(run.loc, run.names(), csvForm{mark: true})
	for more := true; more; {
		var err error
		if more, err = run.next(run.at(book), out, stepRows); err != nil {
			t.Fatal(err)
		}
		if err := out.flush(io.Discard); err != nil {
			t.Fatal(err)
		}
	}
	look()
	runtime.KeepAlive(run)
	return most
}

func heapHeld() int64 {
	runtime.GC()
	runtime.GC() // what the first only set free
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// What a spool gives is what was written to it, to the byte, from memory and from a file.
func TestASpoolGivesEveryCellBack(t *testing.T) {
	t.Parallel()
	for _, rows := range []int{0, 1, 10_000} {
		kept := &rowSpool{}
		want, got := newCSV(time.UTC, nil, csvForm{}), newCSV(time.UTC, nil, csvForm{})
		for i := range rows {
			for _, out := range []cells{kept, want} {
				if err := everyCell(out, i); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := kept.rewind(); err != nil {
			t.Fatal(err)
		}
		if filed := kept.file != nil; filed != (rows == 10_000) {
			t.Errorf("%d rows in a file: %v", rows, filed)
		}
		var sent string
		for more := true; more; {
			var err error
			if more, err = kept.some(nil, got, stepRows); err != nil {
				t.Fatal(err)
			}
			sent += string(got.buf)
			got.buf = got.buf[:0]
		}
		if sent != string(want.buf) {
			t.Errorf("%d rows came back otherwise", rows)
		}
		kept.close()
	}
}

// A spool that finds no room says so, in words for whoever asked. The test runs alone: it
// fills the room that all answers share.
func TestASpoolWithoutRoomSaysSo(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	was := spooledNow.Load()
	kept := &rowSpool{file: full, buf: make([]byte, spoolKept)}
	if err := kept.end(); fault.CodeOf(err) != fault.Full {
		t.Errorf("a full disk: %v", err)
	}
	kept.close()
	spooledNow.Add(mostSpooled)
	kept = &rowSpool{buf: make([]byte, spoolKept)}
	if err := kept.end(); fault.CodeOf(err) != fault.Busy {
		t.Errorf("no room left: %v", err)
	}
	kept.close()
	spooledNow.Add(-mostSpooled)
	if now := spooledNow.Load(); now != was {
		t.Errorf("closed spools still take %d bytes", now-was)
	}
}

func everyCell(out cells, i int) error {
	out.begin()
	out.text("=\"x\", é")
	out.text("")
	out.id(uuid.UUID{byte(i), 15: 7})
	out.id(ledger.ID{})
	out.whole(int64(-i))
	out.decimal(float64(i)/3, 3)
	out.day("2026-08-21")
	out.day("")
	out.instant(time.Unix(1_700_000_000-int64(i)<<20, 5))
	out.instant(time.Time{})
	out.yes(i%2 == 0)
	out.yes(i%2 == 1)
	out.none()
	return out.end()
}
