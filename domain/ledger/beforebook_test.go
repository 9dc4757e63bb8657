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

var (
	in2025 = time.Date(2025, time.October, 1, 12, 0, 0, 0, time.UTC)
	in2026 = time.Date(2026, time.November, 20, 12, 0, 0, 0, time.UTC)
)

// oldSheets is an outfit of 2025 whose sheets came in on 20 November 2026: a lot that nobody
// released, and its drum.
type oldSheets struct {
	*ledgertest.Outfit
	lot, drum ledger.ID
}

func openOldSheets() *oldSheets {
	o := &oldSheets{Outfit: ledgertest.NewOutfit()}
	o.SetUp(&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
	o.lot = o.bring(-60, &ledger.Lot{Code: "25-1"})
	o.drum = o.bring(-59, o.FillBody(o.lot, o.Settling, "1", 290_000))
	return o
}

// bring brings in by a sheet what happened so many days after the first of October 2025.
func (o *oldSheets) bring(days int, body ledger.Body) ledger.ID {
	return o.Put(ledger.Entry{OccurredAt: in2025.AddDate(0, 0, days), RecordedAt: in2026, Via: ledger.ViaImport, Body: body})
}

// left is that the drum left before the book began, as somebody tells it.
func (o *oldSheets) left(at time.Time, note string) ledger.Entry {
	return ledger.Entry{OccurredAt: at, Body: &ledger.Dispatch{BuyerID: o.Buyer, Containers: []ledger.ID{o.drum}, BeforeBook: true, Note: note}}
}

// The book takes what left in 2025 as what it is, and takes nothing else without a release.
func TestWhatLeftBeforeTheBookBeganNeedsNoRelease(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what   string
		begins time.Time // when somebody first recorded something here; zero for never
		at     time.Time
		now    time.Time
		plain  bool
		says   string
	}{
		{"before the first entry by hand", in2025.AddDate(0, 6, 0), in2025, in2026, false, ""},
		{"in a book of old sheets alone", time.Time{}, in2025, in2026, false, ""},
		{"without saying so", time.Time{}, in2025, in2026, true, "has not been released"},
		{"after the first entry by hand", in2025.AddDate(0, -1, 0), in2025, in2026, false, "your book began on 1 September 2025"},
		{"at the first entry by hand", in2025, in2025, in2026, false, "your book began on 1 October 2025"},
		{"in the season that goes on", time.Time{}, in2026.AddDate(0, -2, 0), in2026, false, "of the season that is going on"},
		{"this year, while no season goes on", time.Time{}, in2026.AddDate(1, -2, 0), in2026.AddDate(1, 0, 0), false, "it is of this year"},
		{"last year, while no season goes on", time.Time{}, in2025, in2026.AddDate(1, 0, 0), false, ""},
	} {
		o := openOldSheets()
		if row.at.Year() == 2027 {
			o.SetUp(&ledger.Season{Name: "2027", First: "2027-01-01", Last: "2027-10-31"})
		}
		if !row.begins.IsZero() {
			o.Put(ledger.Entry{OccurredAt: row.begins, Body: &ledger.HiveCount{YardID: o.Mill, Name: "by hand", Hives: 3}})
		}
		e := o.left(row.at, "the invoice of October")
		e.Body.(*ledger.Dispatch).BeforeBook = !row.plain
		got := wrongWith(t, o.Outfit, e, row.now)
		if row.says == "" && got != "" || row.says != "" && !strings.Contains(got, row.says) {
			t.Errorf("%s: the book says %q", row.what, got)
		}
	}
}

// Nobody judges what left before the book began, so that a note says how it is known.
func TestWhatLeftBeforeTheBookBeganSaysHowThatIsKnown(t *testing.T) {
	t.Parallel()
	for _, via := range []ledger.Via{"", ledger.ViaPaper, ledger.ViaImport} {
		for note, refused := range map[string]bool{"the invoice of October": false, "": true, " \t": true} {
			e := openOldSheets().left(in2025, note)
			e.Via = via
			got := wrongWith(t, openOldSheets().Outfit, e, in2026)
			if refused != strings.Contains(got, "/note: What left before the book began is not judged: say in a few words how it is known that it left") || !refused && got != "" {
				t.Errorf("via %q with %q: the book says %q", via, note, got)
			}
		}
	}
}

// A lot that was held when it is said to have left stays held. Of one that is held since,
// somebody may tell that it had left; a sheet that comes in lets nothing go.
func TestAHeldLotDidNotLeaveBeforeTheBookBegan(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what string
		held int // days after the day that it is said to have left
		via  ledger.Via
		says string
	}{
		{"held before", -10, "", "which may not leave: it is held"},
		{"held before, by a sheet", -10, ledger.ViaImport, "which may not leave: it is held"},
		{"held since", 10, "", ""},
		{"held since, by a sheet", 10, ledger.ViaImport, "and no sheet takes it out"},
	} {
		o := openOldSheets()
		o.bring(row.held, &ledger.LotStatus{LotID: o.lot, Status: ledger.StatusHeld, Why: ledger.HeldForRecall, Note: "smell"})
		e := o.left(in2025, "the invoice of October")
		e.Via = row.via
		got := wrongWith(t, o.Outfit, e, in2026)
		if row.says == "" && got != "" || row.says != "" && !strings.Contains(got, row.says) {
			t.Errorf("%s: the book says %q", row.what, got)
		}
	}
}

// Nothing that was prepared in the book left before it.
func TestWhatWasPreparedDidNotLeaveBeforeTheBookBegan(t *testing.T) {
	t.Parallel()
	o := openOldSheets()
	e := o.left(in2025, "the invoice of October")
	e.Body.(*ledger.Dispatch).PreparedID = o.bring(-1, &ledger.PreparedDispatch{BuyerID: o.Buyer, Containers: []ledger.ID{o.drum}})
	if got := wrongWith(t, o.Outfit, e, in2026); !strings.Contains(got, "What was prepared in the book did not leave before it began") {
		t.Errorf("the book says %q", got)
	}
}

// What is said to have left before the book began was judged by nobody. Once that turns out
// wrong, it is judged like anything that leaves.
func TestWhatDidNotLeaveBeforeTheBookBeganIsJudgedAfterAll(t *testing.T) {
	t.Parallel()
	o := openOldSheets()
	e := o.left(in2025, "the invoice of October")
	e.RecordedAt = in2026
	first := o.Put(e)
	for _, row := range []struct {
		before bool
		at     time.Time
		says   string
	}{
		{true, in2025.AddDate(0, 0, 1), ""},
		{false, in2025, "has not been released"},
		{false, in2026, "has not been released"},
	} {
		e := o.left(row.at, "the invoice of October")
		e.Body.(*ledger.Dispatch).BeforeBook = row.before
		e.Replaces, e.Reason = first, "typed wrong"
		got := wrongWith(t, o.Outfit, e, in2026)
		if row.says == "" && got != "" || row.says != "" && !strings.Contains(got, row.says) {
			t.Errorf("before the book: %v, on %s: the book says %q", row.before, row.at, got)
		}
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
