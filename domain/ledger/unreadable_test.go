package ledger_test

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// spoil makes some entries of a book unreadable, as a reader finds them that cannot
// make out what they say.
func spoil(t *rapid.T, entries []*ledger.Entry) []*ledger.Entry {
	out := slices.Clone(entries)
	for i, e := range entries {
		if rapid.IntRange(0, 5).Draw(t, "spoilt") > 0 {
			continue
		}
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		spoilt := *e
		spoilt.Spoil(content, "for the test")
		out[i] = &spoilt
	}
	return out
}

// Whatever cannot be read, the book opens, balances, says so, and is the same appended
// to as opened anew; each digest is what it was.
func TestABookOpensWhateverOfItCannotBeRead(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		whole := ledgertest.Random(t, 40).Entries
		entries := spoil(t, whole)
		b, err := ledger.Restore(time.UTC, entries)
		if err != nil {
			t.Fatalf("the book does not open: %v", err)
		}
		sound(t, b, b.State())
		open := 0
		for e, by := range b.Unreadable() {
			content, _ := e.Content()
			was, _ := whole[e.Number-1].Content()
			if !bytes.Equal(e.Canonical(content), whole[e.Number-1].Canonical(was)) {
				t.Fatalf("the digest of entry %d would be another", e.Number)
			}
			if by == nil && !b.TakenBack(e.ID) {
				open++
			}
		}
		for _, f := range b.State().Findings() {
			if f.Code == ledger.EntryUnreadable {
				open--
			}
		}
		if open != 0 {
			t.Fatalf("%d more entries cannot be read than the findings say", open)
		}
		begun := rapid.IntRange(0, len(entries)).Draw(t, "begun")
		grown, err := ledger.Restore(time.UTC, entries[:begun])
		if err != nil {
			t.Fatal(err)
		}
		for n := begun; n < len(entries); n++ {
			if _, err := grown.Append(b.Numbered(int64(n + 1))); err != nil {
				t.Fatalf("entry %d: %v", n+1, err)
			}
		}
		if d := differ(pictureOf(grown, grown.State()), pictureOf(b, b.State())); d != "" {
			t.Fatalf("appended to and opened anew: %s", d)
		}
	})
}

// spoilOne makes one entry of a book unreadable.
func spoilOne(entries []*ledger.Entry, id ledger.ID) []*ledger.Entry {
	out := slices.Clone(entries)
	i := slices.IndexFunc(out, func(e *ledger.Entry) bool { return e.ID == id })
	spoilt := *out[i]
	spoilt.Spoil([]byte(`{"body":`), "cut short")
	out[i] = &spoilt
	return out
}

// growsAsOpened opens a book with its first entries, appends the others, and compares what
// that gives with all of them opened at once.
func growsAsOpened(t *testing.T, entries []*ledger.Entry, first int) *ledger.Book {
	t.Helper()
	grown, err := ledger.Restore(time.UTC, entries[:first])
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries[first:] {
		if _, err := grown.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	opened, err := ledger.Restore(time.UTC, entries)
	if err != nil {
		t.Fatal(err)
	}
	if d := differ(pictureOf(grown, grown.State()), pictureOf(opened, opened.State())); d != "" {
		t.Error(d)
	}
	return grown
}

// A reading on boxes tells of the honey that came out of them before, also where the
// entry of their pull cannot be read: at once, and not only when the book is opened anew.
func TestAReadingOnAPullThatCannotBeReadTellsOfItsHoney(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(0, o.SetUp(&ledger.Yard{Name: "Mill"}), 10, 0)
	run := o.Run(1, "first")
	o.Supers(1, run, pull, 10)
	o.Out(2, run, o.Sump, 50_000)
	o.Write(3, ledgertest.Moisture(ledger.PlacePull, pull, 19.5))
	grown := growsAsOpened(t, spoilOne(o.Entries, pull), len(o.Entries)-1)
	if of, known := grown.State().BeliefAt(o.Sump, ledgertest.At(3)); !known || math.Abs(of.Moisture.Mean-19.5) > 1e-9 {
		t.Errorf("the sump is taken for %v", of.Moisture)
	}
}

// Boxes that are written down late tell where the honey came from that left their run before,
// also where the run could not be read, was withdrawn and stands again: at once, and not only when the
// book is opened anew.
func TestBoxesOfARunThatCouldNotBeReadTellWhereItsHoneyCameFrom(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(0, o.SetUp(&ledger.Yard{Name: "Mill"}), 10, 0)
	run := o.Run(1, "first")
	o.Out(2, run, o.Sump, 50_000)
	begun := slices.IndexFunc(o.Entries, func(e *ledger.Entry) bool { return e.ID == run })
	right := *o.Entries[begun]
	gone := &ledger.Entry{ID: uuid.New(), Number: int64(len(o.Entries) + 1), Kind: ledger.KindWithdrawal, OccurredAt: right.OccurredAt, Replaces: run, Reason: "it cannot be read", Body: &ledger.Withdrawal{}}
	right.ID, right.Number, right.Replaces, right.Reason = uuid.New(), gone.Number+1, gone.ID, "it was that run after all"
	o.Entries = append(o.Entries, gone, &right)
	o.Supers(3, run, pull, 10)
	grown := growsAsOpened(t, spoilOne(o.Entries, run), begun)
	if mix := pictureOf(grown, grown.State()).Holders[o.Sump].Mix; len(mix.Parts) != 1 || mix.Parts[0].Origin != pull {
		t.Errorf("the sump's honey came from %v", mix.Parts)
	}
}

// An unreadable tank is a tank again once it is corrected, for all that named it; and
// an unreadable correction leaves what it corrected as it was.
func TestACorrectionPutsAnUnreadableEntryRight(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "first")
	o.Out(2, run, o.Sump, 50_000)
	whole := mustOpen(t, o.Entries)
	tank, _ := whole.Entry(o.Sump)
	entries := spoilOne(o.Entries, tank.ID)
	b, err := ledger.Restore(time.UTC, entries)
	if err != nil {
		t.Fatal(err)
	}
	if held := b.State().Totals().Held; held != 0 {
		t.Fatalf("%d g are held in a tank that nobody knows", held)
	}
	wrong := &ledger.Entry{ID: uuid.New(), Kind: ledger.KindYard, Replaces: tank.ID, Reason: "x", Body: &ledger.Yard{Name: "x"}}
	if err := b.Check(wrong, ledgertest.At(3)); err == nil {
		t.Error("a yard corrects what was stored as a tank")
	}
	right := *tank
	right.ID, right.Number, right.Replaces, right.Reason = uuid.New(), b.Len()+1, tank.ID, "it could not be read"
	if err := b.Check(&right, ledgertest.At(3)); err != nil {
		t.Errorf("the correction is refused: %v", err)
	}
	if _, err := b.Append(&right); err != nil {
		t.Fatal(err)
	}
	if held := b.State().Totals().Held; held != 50_000 {
		t.Errorf("%d g held once the tank is known again", held)
	}
	anew, err := ledger.Restore(time.UTC, append(slices.Clone(entries), &right))
	if err != nil {
		t.Fatal(err)
	}
	if d := differ(pictureOf(b, b.State()), pictureOf(anew, anew.State())); d != "" {
		t.Error(d)
	}
	later := right
	later.ID, later.Number, later.Replaces = uuid.New(), b.Len()+1, right.ID
	later.Spoil([]byte(`{}`), "of a newer version")
	if _, err := b.Append(&later); err != nil {
		t.Fatal(err)
	}
	if held := b.State().Totals().Held; held != 50_000 || b.InForce(tank.ID).ID != right.ID || b.Tip(tank.ID).ID != later.ID {
		t.Errorf("%d g held, entry %d stands", held, b.InForce(tank.ID).Number)
	}
}

// An entry at which the replay breaks down is set aside, whether it was there when the
// book was opened or comes later, late or not.
func TestAnEntryThatBreaksTheReplayIsSetAside(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "first")
	for h := range 20 {
		o.Out(2+float64(h), run, o.Sump, 1_000)
	}
	for _, hours := range []float64{5.5, 100} {
		for _, body := range []ledger.Body{(*ledger.Movement)(nil), (*ledger.Reading)(nil), (*ledger.Stocktake)(nil)} {
			bad := &ledger.Entry{Number: int64(len(o.Entries)) + 1, ID: uuid.New(), Kind: body.Kind(), OccurredAt: ledgertest.At(hours), RecordedAt: ledgertest.At(101), RecordedBy: "Ada", Body: body}
			grown := mustOpen(t, o.Entries)
			if _, err := grown.Append(bad); err != nil {
				t.Fatalf("%s: %v", bad.Kind, err)
			}
			opened, err := ledger.Restore(time.UTC, append(slices.Clone(o.Entries), bad))
			if err != nil {
				t.Fatalf("%s: %v", bad.Kind, err)
			}
			for what, b := range map[string]*ledger.Book{"appended": grown, "opened": opened} {
				last := b.Numbered(b.Len())
				u, is := last.Body.(*ledger.Unreadable)
				if !is || !strings.Contains(u.Why, "broke down") || b.State().Totals().Held != 20_000 {
					t.Errorf("%s with a %s: %+v, %d g held", what, bad.Kind, last.Body, b.State().Totals().Held)
				}
				if f := b.State().Findings(); !slices.ContainsFunc(f, func(f *ledger.Flag) bool { return f.Code == ledger.EntryUnreadable && f.Entry == bad.ID }) {
					t.Errorf("%s with a %s: no finding says so", what, bad.Kind)
				}
			}
		}
	}
}
