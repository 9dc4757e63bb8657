package ledger_test

import (
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestABookTellsHowMuchALateEntryHasWalkedAgain also holds that telling changes nothing.
func TestABookTellsHowMuchALateEntryHasWalkedAgain(t *testing.T) {
	t.Parallel()
	entries := ledgertest.Large(6_000, 1)
	b := mustOpen(t, entries)
	before := pictureOf(b, b.State())
	var line []*ledger.Entry
	for _, e := range b.Happened {
		line = append(line, e)
	}
	var tank, deep ledger.ID
	b.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = root; return true })
	b.InForceOf(ledger.KindSuperKind, func(root ledger.ID, _ *ledger.Entry) bool { deep = root; return true })
	wash := func(after int) *ledger.Entry {
		return &ledger.Entry{Number: b.Len() + 1, ID: ledgertest.ID(9_000_000), Kind: ledger.KindWash, OccurredAt: line[after].OccurredAt, Body: &ledger.Wash{TankID: tank}}
	}
	early, late := wash(len(line)-1), wash(1_000)
	correction, withdrawal := *wash(len(line) - 1), *wash(len(line) - 1)
	for _, e := range line[:1_000] {
		if e.Kind == ledger.KindMovement {
			correction.Kind, correction.Body, correction.Replaces = e.Kind, e.Body, e.ID
			withdrawal.Kind, withdrawal.Body, withdrawal.Replaces = ledger.KindWithdrawal, &ledger.Withdrawal{}, e.ID
			break
		}
	}
	kind := &ledger.Entry{Number: b.Len() + 1, ID: ledgertest.ID(9_000_000), Kind: ledger.KindSuperKind, OccurredAt: line[0].OccurredAt,
		Body: ledger.Named[ledger.SuperKind](b, deep), Replaces: b.InForce(deep).ID}
	for _, c := range []struct {
		what        string
		entry       *ledger.Entry
		least, most int
	}{
		{"at the end", early, 0, 20},
		{"late", late, len(line) - 1_001, len(line) - 900},
		{"a correction of what happened early", &correction, len(line) - 1_000, len(line)},
		{"a withdrawal of it", &withdrawal, len(line) - 1_000, len(line)},
		{"a correction of the kind of box", kind, len(line), len(line)},
	} {
		if n := b.Walks(c.entry); n < c.least || n > c.most {
			t.Errorf("%s has %d facts of %d walked again, not %d to %d", c.what, n, len(line), c.least, c.most)
		}
	}
	if d := differ(before, pictureOf(b, b.State())); d != "" {
		t.Errorf("asking changed the book: %s", d)
	}
}
