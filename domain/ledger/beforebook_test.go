package ledger_test

import (
	"strings"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// wrongWith is what the book says against an entry; empty where it takes it.
func wrongWith(t *testing.T, o *ledgertest.Outfit, e ledger.Entry, now time.Time) string {
	t.Helper()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	e.ID, e.Kind = ledger.ID{15: 200, 6: 0x40, 8: 0x80}, e.Body.Kind()
	if err := b.Check(&e, now); err != nil {
		return err.Error()
	}
	return ""
}

// A lot that nobody released left in 2025. The book takes that as what it is, and takes
// nothing else without a release.
func TestWhatLeftBeforeTheBookBeganNeedsNoRelease(t *testing.T) {
	t.Parallel()
	in2025 := time.Date(2025, time.October, 1, 12, 0, 0, 0, time.UTC)
	now := time.Date(2026, time.November, 20, 12, 0, 0, 0, time.UTC)
	for _, row := range []struct {
		what   string
		begins time.Time // when somebody first recorded something here; zero for never
		at     time.Time
		now    time.Time
		plain  bool
		says   string
	}{
		{"before the first entry by hand", in2025.AddDate(0, 6, 0), in2025, now, false, ""},
		{"in a book of old sheets alone", time.Time{}, in2025, now, false, ""},
		{"without saying so", time.Time{}, in2025, now, true, "has not been released"},
		{"after the first entry by hand", in2025.AddDate(0, -1, 0), in2025, now, false, "your book began on 1 September 2025"},
		{"in the season that goes on", time.Time{}, now.AddDate(0, -2, 0), now, false, "of the season that is going on"},
		{"this year, while no season goes on", time.Time{}, now.AddDate(1, -2, 0), now.AddDate(1, 0, 0), false, "it is of this year"},
	} {
		o := ledgertest.NewOutfit()
		o.SetUp(&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
		if row.at.Year() == 2027 {
			o.SetUp(&ledger.Season{Name: "2027", First: "2027-01-01", Last: "2027-10-31"})
		}
		bring := func(body ledger.Body) ledger.ID {
			return o.Put(ledger.Entry{OccurredAt: in2025.AddDate(0, -2, 0), RecordedAt: now, Via: ledger.ViaImport, Body: body})
		}
		lot := bring(&ledger.Lot{Code: "25-1"})
		drum := bring(o.FillBody(lot, o.Settling, "1", 290_000))
		if !row.begins.IsZero() {
			o.Put(ledger.Entry{OccurredAt: row.begins, Body: &ledger.HiveCount{YardID: o.Mill, Name: "by hand", Hives: 3}})
		}
		e := ledger.Entry{OccurredAt: row.at, Body: &ledger.Dispatch{BuyerID: o.Buyer, Containers: []ledger.ID{drum}, BeforeBook: !row.plain}}
		got := wrongWith(t, o, e, row.now)
		if row.says == "" && got != "" || row.says != "" && !strings.Contains(got, row.says) {
			t.Errorf("%s: the book says %q", row.what, got)
		}
	}
}

// A lot that was held when it is said to have left stays held.
func TestAHeldLotDidNotLeaveBeforeTheBookBegan(t *testing.T) {
	t.Parallel()
	at := time.Date(2025, time.October, 1, 12, 0, 0, 0, time.UTC)
	o := ledgertest.NewOutfit()
	o.SetUp(&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
	bring := func(days int, body ledger.Body) ledger.ID {
		return o.Put(ledger.Entry{OccurredAt: at.AddDate(0, 0, days), RecordedAt: at.AddDate(1, 0, 0), Via: ledger.ViaImport, Body: body})
	}
	lot := bring(-60, &ledger.Lot{Code: "25-1"})
	drum := bring(-59, o.FillBody(lot, o.Settling, "1", 290_000))
	bring(-10, &ledger.LotStatus{LotID: lot, Status: ledger.StatusHeld, Why: ledger.HoldReason("recall"), Note: "smell"})
	e := ledger.Entry{OccurredAt: at, Body: &ledger.Dispatch{BuyerID: o.Buyer, Containers: []ledger.ID{drum}, BeforeBook: true}}
	if got := wrongWith(t, o, e, at.AddDate(1, 1, 0)); !strings.Contains(got, "may not leave") {
		t.Errorf("the book says %q", got)
	}
}

// A sheet says no hours: honey comes out of the run before it is pumped on, whatever the
// ids are, so that nothing is drawn that was not there.
func TestOfOneInstantHoneyComesOutOfARunBeforeItIsPumpedOn(t *testing.T) {
	t.Parallel()
	for n := range byte(8) {
		o := ledgertest.NewOutfit()
		run := o.Run(0, "1")
		id := func(k byte) ledger.ID { return ledger.ID{0: 37*n + 101*k, 6: 0x40, 8: 0x80, 15: k} }
		o.Put(ledger.Entry{ID: id(1), OccurredAt: ledgertest.At(1), Body: ledgertest.Move(ledger.PlaceTank, o.Sump, ledger.PlaceTank, o.Settling, 200_000)})
		o.Put(ledger.Entry{ID: id(2), OccurredAt: ledgertest.At(1), Body: ledgertest.OutBody(run, o.Sump, 200_000)})
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		if totals := b.State().Totals(); totals.Unexplained != 0 || totals.Held != 200_000 {
			t.Errorf("ids %v and %v: %+v", id(1), id(2), totals)
		}
	}
}
