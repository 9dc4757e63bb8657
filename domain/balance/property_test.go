package balance_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/balance"
	"pullbook/domain/balance/balancetest"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/reconcile"
)

// TestWhateverHappenedTheAdjustedFlowsClose writes random books, some with a
// float pump, and asks for the season and a day: every node balances in the
// adjusted flows, none is below nothing or beyond its tank, and what was written down is
// shown as it was.
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
			within(t, b, r)
		}
	})
}

// within fails where an adjusted or inferred flow is below nothing, or a level beyond its
// tank's size, and where one that a bound keeps does not say so.
func within(t *rapid.T, b *ledger.Book, r *balance.Report) {
	for _, f := range r.Flows {
		if !f.Known() {
			continue
		}
		most := math.Inf(1)
		if tank := ledger.Named[ledger.Tank](b, f.Tank); tank != nil && (f.Kind == balance.Level || f.Kind == balance.Start || f.Kind == balance.End) {
			most = float64(tank.CapacityG) / 1000
		}
		if f.ReconciledKg < 0 || f.ReconciledKg > most {
			t.Fatalf("%s is adjusted to %g kg, and can be 0 to %g", f.Name, f.ReconciledKg, most)
		}
		said := strings.Contains(f.Sentence.String(), "the weights by themselves would make it")
		if (f.Bound != reconcile.Free) != said {
			t.Fatalf("%s is kept at its bound %q, and says %q", f.Name, f.Bound, f.Sentence)
		}
	}
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
