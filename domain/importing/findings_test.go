package importing_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/tables"
)

// found looks at a text and says what would be odd in the book with it.
func (h *house) found(t testing.TB, kind importing.Kind, text string) (*importing.Result, []importing.Finding) {
	t.Helper()
	book := h.book(t)
	var more []importing.Taken
	m := h.guess(t, kind, text)
	r, err := importing.Take(book.Ahead(), table(t, text), m, importing.Options{Outfit: h.id, By: "Ada", Now: now,
		Each: func(x importing.Taken) { more = append(more, x) }}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.AllProblems > 0 {
		t.Fatalf("%v", said(r))
	}
	out, err := importing.FindingsOf(time.UTC, h.Entries, more, now)
	if err != nil {
		t.Fatal(err)
	}
	return r, out
}

func TestASheetIsToldWhatWouldBeOddInTheBook(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Pull(24, h.Mill, 10, 2_000_000) // odd before the sheet came
	h.Accept(30, h.Pull(25, h.Ridge, 10, 2_000_000), ledger.PullTooHeavy)
	before := len(h.Entries)
	const text = "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,10,deep,350\n2026-07-07,Mill,10,deep,900\n2026-07-08,Ridge,10,deep,40\n"
	r, found := h.found(t, importing.Pulls, text)
	said := map[ledger.Code]importing.Finding{}
	for _, f := range found {
		said[f.Code] = f
	}
	heavy, light := said[ledger.PullTooHeavy], said[ledger.PullTooLight]
	if heavy.Count != 1 || heavy.First[0].Row != 3 || !strings.Contains(heavy.First[0].Says.String(), "Mill") {
		t.Errorf("too heavy: %+v", heavy)
	}
	if light.Count != 1 || light.First[0].Row != 4 {
		t.Errorf("too light: %+v", light)
	}
	if len(h.Entries) != before {
		t.Error("looking added to the book")
	}
	// They are the very findings that the book has once the sheet is in it.
	now, all := h.book(t), map[ledger.Code]int{}
	for _, f := range now.State().Findings() {
		all[f.Code]--
	}
	h.bring(t, importing.Pulls, text)
	for _, f := range h.book(t).State().Findings() {
		all[f.Code]++
	}
	for code, n := range all {
		if said[code].Count != n {
			t.Errorf("%s: %d were told, and the book has %d more", code, said[code].Count, n)
		}
	}
	if r.Entries[ledger.KindPull] != 3 {
		t.Errorf("%v", r.Entries)
	}
}

func TestASheetThatFitsTheBookRaisesNoFinding(t *testing.T) {
	t.Parallel()
	if _, found := newHouse().found(t, importing.Yards, "Yard\nBirch\n"); len(found) != 0 {
		t.Errorf("%+v", found)
	}
}

// BenchmarkFindingsOf is of as large a book and sheet as are looked at.
func BenchmarkFindingsOf(b *testing.B) {
	book := ledgertest.Large(importing.MostLookedAt*3/4, 1)
	at, err := ledger.Open(time.UTC, book)
	if err != nil {
		b.Fatal(err)
	}
	tank := ""
	at.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = at.Name(root); return false })
	text := new(strings.Builder)
	fmt.Fprintln(text, "Date,Tank,Moisture")
	for n := range importing.MostLookedAt/4 - 10 {
		fmt.Fprintf(text, "%s,%s,17.%d\n", time.Date(2026, 7, 1, 0, n, 0, 0, time.UTC).Format("2006-01-02 15:04"), tank, n%10)
	}
	t, _, err := tables.CSV([]byte(text.String()))
	if err != nil {
		b.Fatal(err)
	}
	m, err := importing.Guess(at, t, importing.Readings)
	if err != nil {
		b.Fatal(err)
	}
	var more []importing.Taken
	if _, err := importing.Take(at.Ahead(), t, m, importing.Options{Now: now, Each: func(x importing.Taken) { more = append(more, x) }}, nil); err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(len(book)+len(more)), "entries")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := importing.FindingsOf(time.UTC, book, more, now); err != nil {
			b.Fatal(err)
		}
	}
}
