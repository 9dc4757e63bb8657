package ledger_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// amiss is an entry as it may be stored and cannot be meant.
func amiss(t *rapid.T, e *ledger.Entry, entries []*ledger.Entry) *ledger.Entry {
	out := *e
	switch rapid.IntRange(0, 4).Draw(t, "amiss") {
	case 0:
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		out.Spoil(content, "cut short")
	case 1:
		out.Body = reflect.Zero(reflect.TypeOf(e.Body)).Interface().(ledger.Body) // breaks the program down
	case 2:
		if out.Body = (&ledger.Wash{}); e.Kind == ledger.KindWash {
			out.Body = &ledger.Yard{Name: "x"}
		}
	case 3:
		out.Replaces, out.Reason = ledger.ID{1}, "it is not in the book"
	case 4:
		out.Replaces, out.Reason = rapid.SampledFrom(entries).Draw(t, "replaces").ID, "it may be later, or replaced"
	}
	return &out
}

// setAside says which entries of a book cannot be read, and why.
func setAside(b *ledger.Book) (out []string) {
	for e, by := range b.Unreadable() {
		out = append(out, fmt.Sprintf("entry %d: %s; replaced: %t", e.Number, e.Body.(*ledger.Unreadable).Why, by != nil))
	}
	return out
}

// However many entries are amiss, the book opens, and is the book that setting one aside
// after the other gives.
func TestABookOpensWhateverNumberOfEntriesIsAmiss(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := ledgertest.Random(t, 40).Entries
		often := rapid.IntRange(1, 6).Draw(t, "one in")
		for i, e := range entries {
			if rapid.IntRange(1, often).Draw(t, "is it") == 1 {
				entries[i] = amiss(t, e, entries)
			}
		}
		b, err := ledger.Restore(time.UTC, entries)
		if err != nil {
			t.Fatalf("the book does not open: %v", err)
		}
		sound(t, b, b.State())
		one, err := ledger.RestoreOneByOne(time.UTC, entries)
		if err != nil {
			t.Fatal(err)
		}
		if together, singly := setAside(b), setAside(one); !slices.Equal(together, singly) {
			t.Fatalf("set aside together:\n%s\none by one:\n%s", strings.Join(together, "\n"), strings.Join(singly, "\n"))
		}
		if d := differ(pictureOf(b, b.State()), pictureOf(one, one.State())); d != "" {
			t.Fatalf("set aside together and one by one: %s", d)
		}
	})
}

// Thousands of entries that do not fit, that break the program down, or both in one
// chain of corrections, leave the rest to be read.
func TestABookOpensWithThousandsOfEntriesAmiss(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "first")
	good := len(o.Entries)
	add := func(replaces ledger.ID, body ledger.Body) ledger.ID {
		e := &ledger.Entry{Number: int64(len(o.Entries)) + 1, ID: uuid.New(), Kind: body.Kind(), OccurredAt: ledgertest.At(2), RecordedAt: ledgertest.At(3), RecordedBy: "Ada",
			Replaces: replaces, Reason: "x", Body: body}
		o.Entries = append(o.Entries, e)
		return e.ID
	}
	corrected := add(ledger.ID{}, (*ledger.Stocktake)(nil))
	for range 1000 {
		add(ledger.ID{}, (*ledger.Movement)(nil))
		add(ledger.ID{}, (*ledger.Season)(nil))
		add(uuid.New(), &ledger.Stocktake{TankID: o.Sump, Method: "dip"})
		corrected = add(corrected, (*ledger.Stocktake)(nil))
	}
	bad := len(o.Entries) - good
	o.Out(4, run, o.Sump, 50_000)
	b, err := ledger.Restore(time.UTC, o.Entries)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(setAside(b)); n != bad || b.State().Totals().Held != 50_000 {
		t.Errorf("%d of %d are set aside, %d g held", n, bad, b.State().Totals().Held)
	}
}
