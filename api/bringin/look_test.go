package bringin

import (
	"context"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// Of a book and a sheet that are larger together than what is looked at, nobody finds out what
// would be odd, and the answer says so.
func TestNobodyLooksForFindingsInAVeryLargeBook(t *testing.T) {
	t.Parallel()
	reading := &ledger.Entry{Body: &ledger.Reading{}}
	l := &look{loc: time.UTC, book: make([]*ledger.Entry, importing.MostLookedAt-2), count: importing.MostLookedAt - 2}
	l.each(importing.Taken{Row: 2, Entry: reading})
	if l.large || len(l.more) != 1 {
		t.Fatalf("the last but one that is looked at was not kept")
	}
	l.each(importing.Taken{Row: 3, Entry: &ledger.Entry{Body: &ledger.TemperatureLog{Points: make([]ledger.TemperaturePoint, 20)}}}) // as much as three
	if !l.large || l.book != nil || l.more != nil {
		t.Errorf("beyond, something is kept")
	}
	r := &importing.Result{Entries: map[ledger.Kind]int64{ledger.KindReading: 2}}
	if err := l.find(context.Background(), time.Now(), r); err != nil || r.Looked || r.Findings != nil {
		t.Errorf("%v, %+v", err, r)
	}
}
