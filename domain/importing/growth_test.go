package importing_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// invented is a name of three words, as yards have them.
func invented(r *rand.Rand) string {
	var name []string
	for range 3 {
		word := ""
		for range 2 + r.IntN(2) {
			word += string("bcdfghlnprtw"[r.IntN(12)]) + string("aeiou"[r.IntN(5)])
		}
		name = append(name, word)
	}
	return strings.Join(name, " ")
}

// allocations counts what taking a sheet allocates.
func allocations(t testing.TB, h *house, kind importing.Kind, text string, put func(*importing.Mapping)) (uint64, *importing.Result) {
	t.Helper()
	m := h.guess(t, kind, text)
	put(&m)
	book, rows := h.book(t), table(t, text)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	r, err := importing.Take(book.Ahead(), rows, m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil)
	if err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	return after.Mallocs - before.Mallocs, r
}

// sheets of n rows, each of which names something that the book does not have.
var sheets = map[string]struct {
	kind importing.Kind
	text func(n int) string
	put  func(*importing.Mapping)
}{
	"new yards": {importing.Yards, func(n int) string {
		r, b := rand.New(rand.NewPCG(1, 2)), strings.Builder{}
		b.WriteString("Yard,Reg no\n")
		for i := range n {
			fmt.Fprintf(&b, "%s,R-%d\n", invented(r), i)
		}
		return b.String()
	}, func(*importing.Mapping) {}},
	"pulls from new yards": {importing.Pulls, func(n int) string {
		r, b := rand.New(rand.NewPCG(1, 2)), strings.Builder{}
		b.WriteString("Date,Yard,Supers,Kind\n")
		for range n {
			fmt.Fprintf(&b, "2026-07-06,%s,3,deep\n", invented(r))
		}
		return b.String()
	}, func(m *importing.Mapping) {
		m.Names = map[importing.Noun]map[string]importing.Choice{importing.NounYard: {"*": {Create: &importing.Thing{}}}}
	}},
	"pulls from yards that nobody knows": {importing.Pulls, func(n int) string {
		r, b := rand.New(rand.NewPCG(1, 2)), strings.Builder{}
		b.WriteString("Date,Yard,Supers,Kind\n")
		for range n {
			fmt.Fprintf(&b, "2026-07-06,%s,3,deep\n", invented(r))
		}
		return b.String()
	}, func(*importing.Mapping) {}},
	"new lots": {importing.Lots, func(n int) string {
		b := strings.Builder{}
		b.WriteString("Date,Lot,Product\n")
		for i := range n {
			fmt.Fprintf(&b, "2026-07-06,26-%06d,clover\n", i)
		}
		return b.String()
	}, func(*importing.Mapping) {}},
	"new containers of new lots": {importing.Containers, func(n int) string {
		b := strings.Builder{}
		b.WriteString("Date,Lot,Tank,Container,Container kind,Gross kg,Tare kg\n")
		for i := range n {
			fmt.Fprintf(&b, "2026-07-06,26-%06d,sump,D%06d,drum,300,18\n", i/3, i)
		}
		return b.String()
	}, func(m *importing.Mapping) {
		m.Names = map[importing.Noun]map[string]importing.Choice{importing.NounLot: {"*": {Create: &importing.Thing{}}}}
	}},
	"pulls from yards that are each spoken for": {importing.Pulls, func(n int) string {
		b := strings.Builder{}
		b.WriteString("Date,Yard,Supers,Kind\n")
		for i := range n {
			fmt.Fprintf(&b, "2026-07-06,Y %d,3,deep\n", i)
		}
		return b.String()
	}, func(m *importing.Mapping) {
		of := map[string]importing.Choice{}
		for i := range 4_000 {
			of[fmt.Sprint("y  ", i)] = importing.Choice{Is: "Mill"}
		}
		m.Names = map[importing.Noun]map[string]importing.Choice{importing.NounYard: of}
		m.Twice = importing.Another
	}},
}

// Four times the rows take about four times the work: what a name is asked for does not
// grow with how many names there are. Looking through all of them takes sixteen times.
func TestNewNamesTakeWorkByTheirNumber(t *testing.T) {
	h := newHouse()
	for what, s := range sheets {
		few, _ := allocations(t, h, s.kind, s.text(1_000), s.put)
		many, r := allocations(t, h, s.kind, s.text(4_000), s.put)
		if many > 6*few {
			t.Errorf("%s: %d allocations for 1,000 rows, and %d for 4,000", what, few, many)
		}
		if r.AllProblems > 0 && what != "pulls from yards that nobody knows" {
			t.Errorf("%s: %d problems, the first %q", what, r.AllProblems, r.Problems[0].Message)
		}
	}
}

// What cannot be listed is counted.
func TestOfProblemsBeyondTheListTheNumberIsSaid(t *testing.T) {
	t.Parallel()
	s := sheets["pulls from yards that nobody knows"]
	_, r := allocations(t, newHouse(), s.kind, s.text(3_000), s.put)
	if len(r.Problems) != 1_000 || r.AllProblems != 3_000 || r.Entries[ledger.KindPull] != 0 {
		t.Errorf("%d problems are listed of %d, and %v would be stored", len(r.Problems), r.AllProblems, r.Entries)
	}
}

// BenchmarkTakeNewNames takes sheets of new names: rows/s stays what it is.
func BenchmarkTakeNewNames(b *testing.B) {
	h := newHouse()
	for _, what := range []string{"new yards", "pulls from yards that nobody knows", "new containers of new lots"} {
		s := sheets[what]
		for _, n := range []int{1_000, 4_000, 20_000} {
			b.Run(fmt.Sprintf("%s/%d", what, n), func(b *testing.B) {
				text := s.text(n)
				for b.Loop() {
					allocations(b, h, s.kind, text, s.put)
				}
				b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
			})
		}
	}
}

// A taking ends between two entries once nobody waits for it, also while the days of a
// log are made into entries, which is after the last row.
func TestATakingEndsWhenNobodyWaitsForIt(t *testing.T) {
	t.Parallel()
	h := newHouse()
	text := strings.Builder{}
	text.WriteString("Date,Tank,Temp C\n")
	for day := range 28 {
		fmt.Fprintf(&text, "2026-07-%02d 10:00,sump,30\n", 1+day)
	}
	m := h.guess(t, importing.TemperatureLogs, text.String())
	left, asked, emitted := errors.New("nobody waits"), 0, 0
	_, err := importing.Take(h.book(t).Ahead(), table(t, text.String()), m, importing.Options{Outfit: h.id, By: "Ada", Now: now.AddDate(1, 0, 0), Waiting: func() error {
		if asked++; asked > 5 {
			return left
		}
		return nil
	}}, func(*ledger.Entry) error { emitted++; return nil })
	if !errors.Is(err, left) || emitted != 5 {
		t.Errorf("%d entries were made, and the error is %v", emitted, err)
	}
}

// As many rows as are stated are let in below the headings, and not one more.
func TestTheHeadingsAreNoneOfTheRowsThatASheetMayHave(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const stated = 1_200_000
	m := h.guess(t, importing.Yards, "Yard\nAlder Bend\n")
	for rows, want := range map[int]fault.Code{stated: "", stated + 1: fault.TooLarge} {
		long := table(t, "Yard\nAlder Bend\n")
		long.Rows = func(yield func(int, []string) bool) error {
			cells := []string{"Yard"} // the headings, and again below, which costs least to read
			for row := 1; row <= rows+1 && yield(row, cells); row++ {
			}
			return nil
		}
		r, err := importing.Take(h.book(t), long, m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil)
		if err != nil && fault.CodeOf(err) != want || err == nil && (want != "" || r.Rows != stated) {
			t.Errorf("%d rows: %+v, %v", rows, r, err)
		}
	}
}
