package ledger_test

import (
	"encoding/json"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// What the book says of an earlier moment is what the book opened then says: what each thing
// was called, and which entries were in force, also of those that cannot be read and of those
// that came with an import that was withdrawn later.
func TestTheBookSaysOfAMomentWhatItSaidThen(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 20)
		first := len(o.Entries)
		yard := o.SetUp(&ledger.Yard{Name: "Alder Bend"})
		o.Correct(yard, 1, &ledger.Yard{Name: "Alder Bank"})
		sheet := o.SetUp(&ledger.Import{Of: "yards", SHA256: "00", Entries: int64(len(o.Entries) - first), Rows: 1, Headings: "00", Mapping: json.RawMessage(`{}`)})
		o.Withdraw(sheet)
		entries := spoil(t, o.Entries)
		b, err := ledger.Restore(time.UTC, entries)
		if err != nil {
			t.Fatal(err)
		}
		n := int64(rapid.IntRange(1, len(entries)).Draw(t, "n"))
		then, err := ledger.Restore(time.UTC, entries[:n])
		if err != nil {
			t.Fatal(err)
		}
		if name := b.NameAsKnown(ledgertest.ID(9000), n); name != "" {
			t.Fatalf("what is not in the book is called %q", name)
		}
		for e := range b.Entries {
			if e.Number > n {
				if b.InForceAt(e, n) || then.InForce(e.ID) != nil {
					t.Fatalf("entry %d is in force in a book of %d", e.Number, n)
				}
				continue
			}
			if got, want := b.NameAsKnown(e.ID, n), then.Name(e.ID); got != want {
				t.Fatalf("entry %d of %d is called %q, and was %q", e.Number, n, got, want)
			}
			want := e.Kind != ledger.KindWithdrawal && !then.Overtaken(e.ID) && !then.TakenBack(e.ID)
			if got := b.InForceAt(e, n); got != want {
				t.Fatalf("entry %d (%s) in a book of %d: in force is %t", e.Number, e.Kind, n, got)
			}
		}
	})
}
