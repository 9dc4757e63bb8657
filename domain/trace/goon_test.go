package trace_test

import (
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/trace"
)

// traced is all that a tracer says of a book's yards, tanks, lots and containers.
func traced(b *ledger.Book, t *trace.Tracer) (out []any) {
	for _, kind := range []ledger.Kind{ledger.KindYard, ledger.KindPull, ledger.KindRun, ledger.KindTank} {
		b.InForceOf(kind, func(root ledger.ID, _ *ledger.Entry) bool {
			if s, err := trace.SubjectOf(b, root); err == nil {
				out = append(out, t.Forward(s))
			}
			return true
		})
	}
	for _, kind := range []ledger.Kind{ledger.KindTank, ledger.KindLot, ledger.KindFill} {
		b.InForceOf(kind, func(root ledger.ID, _ *ledger.Entry) bool {
			back, err := t.Back(root)
			out = append(out, back, err)
			return true
		})
	}
	return out
}

// asOpenedAnew appends entries to a book one by one, and fails where a tracer that went on
// with it says something else than one that was opened anew. It returns how many entries moved
// honey, and with how many of these it went on.
func asOpenedAnew(t interface{ Fatalf(string, ...any) }, b *ledger.Book, entries []*ledger.Entry) (moved, wentOn int) {
	kept := trace.Open(b)
	for _, e := range entries {
		if _, err := b.Append(e); err != nil {
			t.Fatalf("%v", err)
		}
		moves := e.Kind == ledger.KindMovement || e.Kind == ledger.KindFill
		if moves {
			moved++
		}
		switch {
		case !kept.GoOn(b):
			kept = trace.Open(b)
		case moves:
			wentOn++
		}
		if !kept.Of(b) {
			t.Fatalf("after entry %d the tracer is of an earlier book", b.Len())
		}
		if got, want := traced(b, kept), traced(b, trace.Open(b)); !reflect.DeepEqual(got, want) {
			t.Fatalf("after entry %d, a %s, a tracer that went on says\n%+v\nand one opened anew\n%+v", e.Number, e.Kind, got, want)
		}
	}
	return moved, wentOn
}

// However a book goes on, late, corrected and withdrawn, a tracer that goes on with it says
// what one that is opened anew does.
func TestATracerGoesOnAsOneOpenedAnew(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		entries := ledgertest.Random(rt, 40).Entries
		from := rapid.IntRange(len(entries)/2, len(entries)-1).Draw(rt, "from")
		b, err := ledger.Open(time.UTC, entries[:from])
		if err != nil {
			rt.Fatal(err)
		}
		asOpenedAnew(rt, b, entries[from:])
	})
}

// A house that works in order of time has it opened seldom: for supers and new runs.
func TestATracerGoesOnThroughTheWorkOfAHouse(t *testing.T) {
	t.Parallel()
	o := demo.Ordinary(3)
	o.Yards, o.Supers, o.Runs = 4, 120, 4
	m := demo.Outfit(o)
	entries := m.Recorded()
	from := len(entries) / 3
	b, err := ledger.Open(m.Location, entries[:from])
	if err != nil {
		t.Fatal(err)
	}
	if moved, wentOn := asOpenedAnew(t, b, entries[from:]); moved == 0 || wentOn < moved/2 {
		t.Errorf("of %d entries that moved honey the tracer went on with %d", moved, wentOn)
	}
}
