package importing

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// Finding is a kind of thing that would be odd in the book with a sheet in it, and is not
// odd in the book now.
type Finding struct {
	Code ledger.Code
	// Count is how many there would be more.
	Count int
	// First are the first of them, by when they happened.
	First []FindingAt
}

// FindingAt is one of them in words, with the row of the sheet that it is about; 0 where it is
// about no row alone.
type FindingAt struct {
	Row  int
	Says message.Text
}

// shownFindings is how many of a kind are put into words.
const shownFindings = 3

// MostLookedAt is how many entries book and sheet may have together for it to be found out
// what would be odd: that opens two books, and surveys them. Beyond, they would not fit into the
// memory that a sheet may take.
const MostLookedAt = 50_000

// CountsAs is as how many entries one counts to that: ten points of a logger take as much
// memory as an entry.
func CountsAs(e *ledger.Entry) int {
	const pointsAnEntry = 10
	if log, is := e.Body.(*ledger.TemperatureLog); is {
		return 1 + len(log.Points)/pointsAnEntry
	}
	return 1
}

// FindingsOf finds out what would be odd in a book with what a sheet brings in that is not odd
// in the book now: it opens the book as it is, and as it would be. What was settled, and what
// chance explains, is no finding. more is what Options.Each was told of, in order.
func FindingsOf(loc *time.Location, book []*ledger.Entry, more []Taken, now time.Time) ([]Finding, error) {
	was, err := ledger.Restore(loc, book)
	if err != nil {
		return nil, err
	}
	had := map[findingKey]bool{}
	for _, f := range was.State().Findings() {
		had[keyOf(f)] = f.Accepted == nil
	}
	rows := map[ledger.ID]int{}
	book = slices.Clip(book)
	for _, t := range more {
		next := *t.Entry
		next.Number, next.RecordedAt = int64(len(book))+1, now
		book = append(book, &next)
		rows[next.ID] = t.Row
	}
	would, err := ledger.Restore(loc, book)
	if err != nil {
		return nil, err
	}
	var out []Finding
	at := map[ledger.Code]int{}
	for _, f := range would.State().Findings() {
		if f.Accepted != nil || had[keyOf(f)] {
			continue
		}
		i, known := at[f.Code]
		if !known {
			i = len(out)
			at[f.Code], out = i, append(out, Finding{Code: f.Code})
		}
		if out[i].Count++; len(out[i].First) < shownFindings {
			out[i].First = append(out[i].First, FindingAt{rowOf(f, rows), season.Sentence(would, *f)})
		}
	}
	slices.SortStableFunc(out, func(a, b Finding) int { return cmp.Compare(b.Count, a.Count) })
	return out, nil
}

// findingKey is by what a finding of two books is the same.
type findingKey struct {
	code     ledger.Code
	entry    ledger.ID
	on       ledger.Place
	quantity string
}

func keyOf(f *ledger.Flag) findingKey { return findingKey{f.Code, f.Entry, f.On, f.Quantity} }

// rowOf is the row of the entry that a finding is about, else of the first that it concerns.
func rowOf(f *ledger.Flag, rows map[ledger.ID]int) int {
	for _, id := range append([]ledger.ID{f.Entry}, f.Entries...) {
		if row := rows[id]; row > 0 {
			return row
		}
	}
	return 0
}
