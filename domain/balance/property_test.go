package balance_test

import (
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/balance"
	"pullbook/domain/balance/balancetest"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestWhateverHappenedTheAdjustedFlowsClose writes random books, some with a
// float pump, and asks for the season and a day: every node balances in the
// adjusted flows, and what was written down is shown as it was.
func TestWhateverHappenedTheAdjustedFlowsClose(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		if rapid.Bool().Draw(t, "a pump") {
			sump := o.SumpTank
			sump.FeedsTankID = o.Settling
			o.Correct(o.Latest(o.Sump), 0, &sump)
		}
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		day := ledger.Date(rapid.SampledFrom([]string{"2026-07-01", "2026-07-02", "2026-07-03"}).Draw(t, "day"))
		one, err := balance.Day(b, day)
		if err != nil {
			t.Fatal(err)
		}
		season := balance.Period{Name: "season", From: ledgertest.At(-1000), To: ledgertest.At(1000)}
		for _, p := range []balance.Period{one, season} {
			r, err := balance.Reconcile(b, p)
			if err != nil {
				t.Fatal(err)
			}
			balancetest.Closes(t, r)
		}
	})
}

// TestTheOrderOfRecordingDoesNotMatter records the same things in another order.
func TestTheOrderOfRecordingDoesNotMatter(t *testing.T) {
	t.Parallel()
	book := func(late bool) *balance.Report {
		o := ledgertest.NewOutfit()
		pull := o.Pull(1, o.Mill, 10, 360_000)
		run := o.Run(2, "1")
		if !late {
			o.Supers(2, run, pull, 10)
		}
		o.Out(3, run, o.Settling, 245_000)
		o.Write(4, &ledger.RunEnd{RunID: run, WaxG: 4_000})
		if late {
			o.WriteLate(2, 30, o.SupersBody(run, pull, 10))
		}
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		p, err := balance.Season(b, o.Season)
		if err != nil {
			t.Fatal(err)
		}
		r, err := balance.Reconcile(b, p)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	a, c := book(false), book(true)
	if len(a.Flows) != len(c.Flows) || a.Statement.String() != c.Statement.String() || a.Global != c.Global {
		t.Fatalf("in time: %s\nlate: %s", a.Statement, c.Statement)
	}
	for i := range a.Flows {
		if a.Flows[i].StreamResult != c.Flows[i].StreamResult {
			t.Errorf("in time %s, late %s", a.Flows[i].Sentence, c.Flows[i].Sentence)
		}
	}
}
