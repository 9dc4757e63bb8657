package ledger_test

import (
	"slices"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// bringDrums brings in drums of 290 kg that were filled on a day in 2025, by an import of a
// day in 2026 or before.
func bringDrums(o *ledgertest.Outfit, lot ledger.ID, filled, came time.Time, numbers ...string) (drums []ledger.ID, imported ledger.ID) {
	for _, n := range numbers {
		drums = append(drums, o.Put(ledger.Entry{OccurredAt: filled, RecordedAt: came, Via: ledger.ViaImport, Body: o.FillBody(lot, o.Settling, n, 290_000)}))
	}
	return drums, o.Put(ledger.Entry{OccurredAt: came, RecordedAt: came, Body: &ledger.Import{Of: "containers", File: "old.csv", SHA256: "00", Entries: int64(len(numbers)), Rows: 3}})
}

func oldStock(t *testing.T, o *ledgertest.Outfit) (out []*ledger.Flag) {
	t.Helper()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range b.State().Findings() {
		if f.Code == ledger.OldStock {
			out = append(out, f)
		}
	}
	return out
}

// Three drums of August 2025 come in in November 2026. They are asked about together and
// once, and no more when it was said that they are here, or when they have left.
func TestOldContainersWithoutASaleAreAskedAboutTogetherAndOnce(t *testing.T) {
	t.Parallel()
	filled, came := time.Date(2025, 8, 2, 12, 0, 0, 0, time.UTC), time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)
	write := func() (*ledgertest.Outfit, []ledger.ID, ledger.ID) {
		o := ledgertest.NewOutfit()
		o.SetUp(&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
		lot := o.Put(ledger.Entry{OccurredAt: filled, RecordedAt: came, Via: ledger.ViaImport, Body: &ledger.Lot{Code: "25-1"}})
		drums, imported := bringDrums(o, lot, filled, came, "1", "2", "3")
		return o, drums, imported
	}
	o, _, imported := write()
	found := oldStock(t, o)
	if len(found) != 1 || found[0].Entry != imported || found[0].Found != 3 || found[0].MassG != 870_000 || found[0].Accepted != nil {
		t.Fatalf("%+v", found)
	}
	o.Put(ledger.Entry{OccurredAt: came, Reason: "they stand in the store", Body: &ledger.Acceptance{EntryID: imported, Flag: ledger.OldStock}})
	if found := oldStock(t, o); len(found) != 1 || found[0].Accepted == nil {
		t.Errorf("after it was said that they are here: %+v", found)
	}

	o, drums, _ := write()
	o.Put(ledger.Entry{OccurredAt: filled.AddDate(0, 1, 0), RecordedAt: came, Via: ledger.ViaImport, Body: &ledger.Dispatch{BuyerID: o.Buyer, Containers: drums[:1], BeforeBook: true}})
	if found := oldStock(t, o); len(found) != 1 || found[0].Found != 2 || found[0].MassG != 580_000 {
		t.Errorf("once one was sold: %+v", found)
	}
	o.Put(ledger.Entry{OccurredAt: filled.AddDate(0, 1, 0), RecordedAt: came, Body: &ledger.Dispatch{BuyerID: o.Buyer, Containers: drums[1:], BeforeBook: true, Note: "gone"}})
	if found := oldStock(t, o); len(found) != 0 {
		t.Errorf("once all are gone: %+v", found)
	}
	if b, _ := o.Open(); b.State().Totals().Dispatched != 870_000 {
		t.Errorf("%+v", b.State().Totals())
	}

	o, _, imported = write()
	o.Put(ledger.Entry{OccurredAt: came, Replaces: imported, Reason: "wrong file", Body: &ledger.Withdrawal{}})
	if found := oldStock(t, o); len(found) != 0 {
		t.Errorf("of an import that was taken back: %+v", found)
	}
	o = ledgertest.NewOutfit()
	bringDrums(o, o.Lot(0, "26-1"), ledgertest.At(10), came, "1")
	if found := oldStock(t, o); len(found) != 0 {
		t.Errorf("of this year: %+v", found)
	}
}

// Of what an import brought in, the containers count that were filled more than a year before
// it came and that are here: no lot, no young drum, no other import's drum that it put right,
// none that was taken back or poured out.
func TestOldContainersAreThoseThatTheImportBroughtAndThatAreHere(t *testing.T) {
	t.Parallel()
	came := time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)
	old, exactly, young := came.AddDate(-1, -2, 0), came.Add(-366*24*time.Hour), came.AddDate(0, -2, 0)
	o := ledgertest.NewOutfit()
	bring := func(at time.Time, e ledger.Entry) ledger.ID {
		e.OccurredAt, e.RecordedAt, e.Via = at, came, ledger.ViaImport
		return o.Put(e)
	}
	fill := func(at time.Time, lot ledger.ID, number string) ledger.ID {
		return bring(at, ledger.Entry{Body: o.FillBody(lot, o.Settling, number, 290_000)})
	}
	imports := func(n int64, of string) ledger.ID {
		return o.Put(ledger.Entry{OccurredAt: came, Body: &ledger.Import{Of: of, SHA256: "00", Entries: n, Rows: n}})
	}
	first := bring(old, ledger.Entry{Body: &ledger.Lot{Code: "25-1"}})
	imports(1, "lots") // which is asked about nothing
	other := fill(old, first, "0")
	before := imports(2, "containers")

	lot := bring(old, ledger.Entry{Body: &ledger.Lot{Code: "25-2"}})
	fill(young, lot, "1")
	fill(exactly, lot, "2")
	bring(old, ledger.Entry{Replaces: other, Reason: "mended", Body: o.FillBody(first, o.Settling, "0", 280_000)})
	drum := fill(exactly.Add(-time.Second), lot, "3")
	takenBack, poured := fill(old, lot, "4"), fill(old, lot, "5")
	imported := imports(7, "containers")
	of := fill(old, lot, "6")
	readings := imports(1, "readings")
	o.Put(ledger.Entry{OccurredAt: came, Replaces: takenBack, Reason: "mistaken", Body: &ledger.Withdrawal{}})
	o.Put(ledger.Entry{OccurredAt: came, Body: ledgertest.Move(ledger.PlaceContainer, poured, ledger.PlaceTank, o.Settling, 290_000)})

	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	if found := oldStock(t, o); len(found) != 2 || found[0].Entry != before && found[1].Entry != before || found[0].Entry != imported && found[1].Entry != imported {
		t.Errorf("found: %+v", found)
	}
	for _, row := range []struct {
		what string
		of   ledger.ID
		want []ledger.ID
	}{
		{"the import before", before, []ledger.ID{other}},
		{"the import", imported, []ledger.ID{drum}},
		{"an import of readings", readings, nil},
		{"a drum", of, nil},
		{"nothing that the book has", ledger.ID{15: 1}, nil},
	} {
		if got := b.Unsold(row.of); !slices.Equal(got, row.want) {
			t.Errorf("of %s: %v, want %v", row.what, got, row.want)
		}
	}
}
