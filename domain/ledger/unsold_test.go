package ledger_test

import (
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
