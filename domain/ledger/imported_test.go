package ledger_test

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// brought writes two yards, a pull and a drum that came in with one sheet, and
// the import that says so.
func brought(o *ledgertest.Outfit) (yard, pull, drum, sheet ledger.ID) {
	yard = o.SetUp(&ledger.Yard{Name: "Alder Bend"})
	pull = o.Pull(1, yard, 12, 0)
	lot := o.Write(2, &ledger.Lot{Code: "OLD-1"})
	drum = o.Write(3, &ledger.Fill{LotID: lot, TankID: o.Settling, ContainerKindID: o.Drum, Container: "D-1", TareG: 17_000, GrossG: 300_000})
	sheet = o.SetUp(&ledger.Import{Of: "containers", SHA256: "00", Entries: 4, Rows: 4, Headings: "00", Mapping: json.RawMessage(`{}`)})
	return yard, pull, drum, sheet
}

// TestAWithdrawnImportIsAsIfItHadNeverBeen holds every gram, yard and flag
// against the book in which the sheet was never brought in.
func TestAWithdrawnImportIsAsIfItHadNeverBeen(t *testing.T) {
	t.Parallel()
	without := ledgertest.NewOutfit()
	never := mustOpen(t, without.Entries)
	o := ledgertest.NewOutfit()
	_, _, drum, sheet := brought(o)
	with := mustOpen(t, o.Entries)
	if h, _ := with.State().Holder(drum); h.Grams != 283_000 {
		t.Fatalf("the drum that was brought in holds %d g", h.Grams)
	}
	o.Withdraw(sheet)
	for name, b := range map[string]*ledger.Book{"read anew": mustOpen(t, o.Entries), "appended to": appended(t, with, o.Entries)} {
		if got, want := b.State().Totals(), never.State().Totals(); got != want {
			t.Errorf("%s: %+v, and without the import %+v", name, got, want)
		}
		if b.InForce(drum) != nil || !b.TakenBack(drum) || b.ContainerInUse("D-1") != nil {
			t.Errorf("%s: the drum still stands", name)
		}
		if got, want := names(b, ledger.KindYard), names(never, ledger.KindYard); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: the yards are %v", name, got)
		}
		if f := b.State().Flags(); len(f) != 0 {
			t.Errorf("%s: %v", name, f)
		}
	}
}

// A name or code that a withdrawn import took is free again, so that the sheet
// can be brought in once more, put right.
func TestWhatAWithdrawnImportWasCalledIsFreeAgain(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, _, _, sheet := brought(o)
	again := &ledger.Entry{ID: ledgertest.ID(900), Kind: ledger.KindYard, OccurredAt: ledgertest.Start, Body: &ledger.Yard{Name: "alder bend"}}
	now := ledgertest.Start.AddDate(0, 1, 0)
	if err := mustOpen(t, o.Entries).Check(again, now); err == nil {
		t.Fatal("two yards of one name")
	}
	o.Withdraw(sheet)
	b := mustOpen(t, o.Entries)
	if err := b.Check(again, now); err != nil {
		t.Fatal(err)
	}
	if c := b.Claims(again); len(c) != 1 || c[0].Use != 1 {
		t.Errorf("it claims %+v", c)
	}
}

// What came with a withdrawn import cannot be corrected one by one, and a
// correction that was on its way meanwhile changes nothing.
func TestNothingOfAWithdrawnImportCanBeCorrected(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, pull, _, sheet := brought(o)
	o.Withdraw(sheet)
	b := mustOpen(t, o.Entries)
	late := &ledger.Entry{ID: ledgertest.ID(901), Kind: ledger.KindPull, OccurredAt: ledgertest.At(1), Replaces: pull, Reason: "miscounted",
		Body: &ledger.Pull{YardID: o.Mill, Supers: []ledger.SuperCount{{SuperKindID: o.Deep, Supers: 3}}}}
	if err := b.Check(late, ledgertest.At(100)); err == nil {
		t.Error("a pull that was never made can be corrected")
	}
	late.Number = b.Len() + 1
	before := b.State().Totals()
	if _, err := b.Append(late); err != nil {
		t.Fatal(err)
	}
	if b.InForce(pull) != nil || b.State().Totals() != before {
		t.Error("a late correction brought it back")
	}
}

// An import that says it brought in more than there is cannot be read.
func TestAnImportBringsInNoMoreThanIsBeforeIt(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.SetUp(&ledger.Import{Of: "yards", SHA256: "00", Entries: 99, Rows: 99, Headings: "00", Mapping: json.RawMessage(`{}`)})
	if _, err := ledger.Open(time.UTC, o.Entries); err == nil {
		t.Error("99 entries came with it, and the book has fewer")
	}
}

// Entries that are to follow together are held against each other, and leave the
// book as it was.
func TestEntriesThatFollowTogetherAreHeldAgainstEachOther(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	b := mustOpen(t, o.Entries)
	ahead := b.Ahead()
	yard := &ledger.Entry{Number: b.Len() + 1, ID: ledgertest.ID(902), Kind: ledger.KindYard, OccurredAt: ledgertest.Start, Body: &ledger.Yard{Name: "Alder Bend"}}
	if err := ahead.Follow(yard); err != nil {
		t.Fatal(err)
	}
	pull := &ledger.Entry{ID: ledgertest.ID(903), Kind: ledger.KindPull, OccurredAt: ledgertest.At(1), Body: &ledger.Pull{
		YardID: yard.ID, Supers: []ledger.SuperCount{{SuperKindID: o.Deep, Supers: 3}}}}
	if err := ahead.Check(pull, ledgertest.At(2)); err != nil {
		t.Errorf("a pull of the yard before it: %v", err)
	}
	if err := b.Check(pull, ledgertest.At(2)); err == nil || b.Len() != int64(len(o.Entries)) {
		t.Error("the book itself has taken the yard")
	}
}

// appended brings a book up to a list of entries.
func appended(t *testing.T, b *ledger.Book, entries []*ledger.Entry) *ledger.Book {
	t.Helper()
	for _, e := range entries[b.Len():] {
		if _, err := b.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	return b
}

func names(b *ledger.Book, kind ledger.Kind) (out []string) {
	b.InForceOf(kind, func(_ ledger.ID, e *ledger.Entry) bool {
		out = append(out, e.Body.(*ledger.Yard).Name)
		return true
	})
	return out
}
