package ledger_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestEntriesTakenInTogetherLeadToTheBookOpenedAnew takes entries of any time in together and
// one by one as it comes, and holds the book, and what it says that they changed, against a
// book that is opened with all of them.
func TestEntriesTakenInTogetherLeadToTheBookOpenedAnew(t *testing.T) {
	t.Parallel()
	together := 0
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		begun := rapid.IntRange(0, len(o.Entries)).Draw(t, "begun")
		b, err := ledger.OpenKeeping(time.UTC, o.Entries[:begun], rapid.IntRange(1, 40).Draw(t, "kept"))
		if err != nil {
			t.Fatalf("the book does not open: %v", err)
		}
		for n := begun; n < len(o.Entries); {
			run := gathering(b, o.Entries[n:], rapid.IntRange(1, 8).Draw(t, "at most"))
			if len(run) > 1 {
				together++
			}
			before := mustOpen(t, o.Entries[:n])
			effects, err := b.AppendTogether(run...)
			if err != nil {
				t.Fatalf("entries %d to %d: %v", n+1, n+len(run), err)
			}
			n += len(run)
			fresh := mustOpen(t, o.Entries[:n])
			if d := differ(pictureOf(b, b.State()), pictureOf(fresh, fresh.State())); d != "" {
				t.Fatalf("after entries %d to %d: %s", n-len(run)+1, n, d)
			}
			if changed := fresh.Changed(before); !reflect.DeepEqual(changed, effects) {
				t.Fatalf("entries %d to %d did %+v, and %+v when the book was opened with them", n-len(run)+1, n, effects, changed)
			}
		}
	})
	if together < 20 {
		t.Errorf("only %d times were entries taken in together", together)
	}
}

// gathering are the first of entries that may be taken in together: one at least.
func gathering(b *ledger.Book, entries []*ledger.Entry, most int) []*ledger.Entry {
	n, g := 0, b.Gather()
	for n < min(most, len(entries)) && g.Add(entries[n]) {
		n++
	}
	return entries[:max(n, 1)]
}

// TestADayThatWaitedIsTheSameBookTakenInTogether takes a day's entries of a long book in
// after all that happened since.
func TestADayThatWaitedIsTheSameBookTakenInTogether(t *testing.T) {
	t.Parallel()
	entries := ledgertest.Large(6_000, 1)
	replaced := map[ledger.ID]bool{}
	for _, e := range entries {
		replaced[e.Replaces] = true
	}
	var waited, before []*ledger.Entry
	for i, e := range entries {
		if i > 3_000 && i%4 == 0 && e.Replaces == (ledger.ID{}) && !replaced[e.ID] && slices.Contains([]ledger.Kind{ledger.KindReading, ledger.KindMovement}, e.Kind) {
			waited = append(waited, e)
			continue
		}
		before = append(before, e)
	}
	all := slices.Concat(before, waited)
	for i, e := range all {
		moved := *e
		moved.Number = int64(i + 1)
		all[i] = &moved
	}
	b := mustOpen(t, all[:len(before)])
	for left := all[len(before):]; len(left) > 0; {
		run := gathering(b, left, 512)
		if _, err := b.AppendTogether(run...); err != nil {
			t.Fatal(err)
		}
		left = left[len(run):]
	}
	fresh := mustOpen(t, all)
	if d := differ(pictureOf(fresh, fresh.State()), pictureOf(b, b.State())); d != "" {
		t.Fatal(d)
	}
}

// TestEntriesThatHangOnEachOtherAreNotTakenInTogether names what does not gather.
func TestEntriesThatHangOnEachOtherAreNotTakenInTogether(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	lot := o.Lot(1, "L")
	known := len(o.Entries)
	first := o.Fill(2, lot, o.Settling, "D-1", 100_000)
	o.Fill(3, lot, o.Settling, "d-1", 100_000)
	o.Write(4, ledgertest.Moisture(ledger.PlaceContainer, first, 17))
	o.Write(5, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17))
	b := mustOpen(t, o.Entries[:known])
	fill, twice, ofFirst, reading := o.Entries[known], o.Entries[known+1], o.Entries[known+2], o.Entries[known+3]
	for _, x := range []struct {
		says    string
		entry   *ledger.Entry
		with    []*ledger.Entry
		gathers bool
	}{
		{"a reading after a fill", reading, []*ledger.Entry{fill}, true},
		{"a second fill of the same container", twice, []*ledger.Entry{fill}, false},
		{"a reading of a drum that is filled in the same breath", ofFirst, []*ledger.Entry{fill}, false},
		{"the same entry again", fill, []*ledger.Entry{fill}, false},
		{"an entry of the book", o.Entries[known-1], nil, false},
	} {
		g := b.Gather()
		for _, e := range x.with {
			g.Add(e)
		}
		if g.Add(x.entry) != x.gathers {
			t.Errorf("%s: it gathers %t, want %t", x.says, !x.gathers, x.gathers)
		}
	}
	if _, err := b.AppendTogether(fill, twice); err == nil {
		t.Error("two fills of one container were taken in together")
	}
}
