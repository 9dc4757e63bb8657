package ledger_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// besideTheBook are findings that the replay does not find.
var besideTheBook = []ledger.Code{ledger.RunYieldUnusual, ledger.NetUnusual, ledger.MoreSpun, ledger.NeverExtracted, ledger.WarmWithoutLog, ledger.EntryUnreadable}

type odd struct {
	code      ledger.Code
	entry, on ledger.ID
	quantity  string
}

// replayed are the open findings of the replay, each as what it says of its entries.
func replayed(b *ledger.Book) (out [][]odd) {
	for _, f := range b.State().Findings() {
		if f.Accepted != nil || slices.Contains(besideTheBook, f.Code) {
			continue
		}
		of := []odd{{f.Code, f.Entry, f.On.ID, f.Quantity}}
		for _, with := range f.With {
			of = append(of, odd{f.Code, with, f.On.ID, f.Quantity})
		}
		out = append(out, of)
	}
	return out
}

// apart are the findings that share no entry with one of the same sort in another book.
func apart(list, other [][]odd, butOf ledger.ID) (out []odd) {
	there := slices.Concat(other...)
	for _, of := range list {
		if of[0].entry != butOf && !slices.ContainsFunc(of, func(o odd) bool { return slices.Contains(there, o) }) {
			out = append(out, of[0])
		}
	}
	return out
}

func told(flags []*ledger.Flag) (out []odd) {
	for _, f := range flags {
		out = append(out, odd{f.Code, f.Entry, f.On.ID, f.Quantity})
	}
	return out
}

// TestTheReplySaysWhatTwoBooksOpenedAnewDifferIn holds the reply to each entry of random
// seasons against the lists of findings before and after it.
func TestTheReplySaysWhatTwoBooksOpenedAnewDifferIn(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		b, err := ledger.OpenKeeping(time.UTC, nil, rapid.IntRange(1, 20).Draw(t, "kept"))
		if err != nil {
			t.Fatal(err)
		}
		for n, e := range o.Entries {
			effect, err := b.Append(e)
			if err != nil {
				t.Fatalf("entry %d: %v", n+1, err)
			}
			before, after := mustOpen(t, o.Entries[:n]), mustOpen(t, o.Entries[:n+1])
			opened := apart(replayed(after), replayed(before), after.Root(e.ID))
			closed := apart(replayed(before), replayed(after), ledger.ID{})
			if got := told(effect.Opened); !sameOdd(got, opened) {
				t.Fatalf("entry %d (%s) opened %v, not %v", n+1, e.Kind, got, opened)
			}
			if got := told(effect.Closed); !sameOdd(got, closed) {
				t.Fatalf("entry %d (%s) closed %v, not %v", n+1, e.Kind, got, closed)
			}
		}
	})
}

func sameOdd(a, b []odd) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(o odd) bool { return !slices.Contains(b, o) })
}

func TestATransferWrittenDownLateSettlesWhatWasDrawnTooMuch(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.Pump(2, o.Settling, o.Sump, 100_000)
	before := mustOpen(t, o.Entries)
	n := len(o.Entries)
	pull, run := o.Pull(0, o.Mill, 20, 0), o.Run(0, "1")
	o.Supers(0, run, pull, 20)
	o.Out(1, run, o.Settling, 200_000)
	var last ledger.Effect
	for _, e := range o.Entries[n:] {
		var err error
		if last, err = before.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	if len(last.Closed) != 1 || last.Closed[0].Code != ledger.Overdrawn || len(last.Opened) != 0 {
		t.Errorf("closed %+v, opened %+v", last.Closed, last.Opened)
	}
}
