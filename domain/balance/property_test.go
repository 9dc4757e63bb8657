package balance_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/balance"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/reconcile"
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
			closes(t, r)
		}
	})
}

type failer interface{ Fatalf(string, ...any) }

func closes(t failer, r *balance.Report) {
	left, scale, known := map[string]float64{}, 1.0, map[string]bool{}
	add := func(node string, f balance.Flow, sign float64) {
		if _, ok := known[node]; !ok {
			known[node] = true
		}
		known[node] = known[node] && f.Known()
		left[node] += sign * f.ReconciledKg
	}
	for _, f := range r.Flows {
		scale = max(scale, math.Abs(f.ReconciledKg))
		add(f.From, f, -1)
		add(f.To, f, 1)
		if f.Basis == balance.Unseen && f.MeasuredKg != 0 || f.Basis != balance.Unseen && math.Abs(f.ReconciledKg-f.MeasuredKg-f.AdjustmentKg) > 1e-6*scale {
			t.Fatalf("%s was written down as %g kg, adjusted by %g to %g", f.Name, f.MeasuredKg, f.AdjustmentKg, f.ReconciledKg)
		}
		if f.Sentence.IsEmpty() || f.Name == "" {
			t.Fatalf("nothing is said of %+v", f)
		}
	}
	for node, kg := range left {
		if node != reconcile.Outside && !strings.HasPrefix(node, "the boxes of ") && known[node] && math.Abs(kg) > 1e-6*scale {
			t.Fatalf("%s does not balance: %g kg (%s)", node, kg, r.Name)
		}
	}
	sums := map[ledger.ID]float64{}
	for _, f := range r.Flows {
		if f.Kind == balance.Boxes {
			sums[f.Yard] += f.ReconciledKg
		}
	}
	for _, y := range r.Yards {
		if math.Abs(sums[y.YardID]-y.AdjustedKg) > 1e-6*scale {
			t.Fatalf("the boxes of %s come to %g kg, its line says %g", y.Name, sums[y.YardID], y.AdjustedKg)
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
