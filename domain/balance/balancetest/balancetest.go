// Package balancetest makes up seasons for the tests of balances, and checks what every
// balance must hold.
package balancetest

import (
	"math"
	"strings"
	"testing"

	"pullbook/domain/balance"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/reconcile"
)

// Small makes up a third of an ordinary season in one house.
func Small(seed uint64) *demo.Book {
	o := demo.Ordinary(seed)
	o.Yards, o.Supers, o.Runs = 12, 1000, 20
	return demo.Outfit(o)
}

// Season reconciles the only season of a made-up book.
func Season(t testing.TB, m *demo.Book) (*ledger.Book, balance.Period, *balance.Report) {
	t.Helper()
	b, err := ledger.Open(m.Location, m.Recorded())
	if err != nil {
		t.Fatal(err)
	}
	var season ledger.ID
	b.InForceOf(ledger.KindSeason, func(id ledger.ID, _ *ledger.Entry) bool { season = id; return false })
	p, err := balance.Season(b, season)
	if err != nil {
		t.Fatal(err)
	}
	r, err := balance.Reconcile(b, p)
	if err != nil {
		t.Fatal(err)
	}
	return b, p, r
}

// Closes fails a test unless every node of a report balances in the adjusted flows, what was
// written down is shown as it was, and the yards' lines come to their boxes. t is a test's, or
// a property test's.
func Closes(t interface{ Fatalf(string, ...any) }, r *balance.Report) {
	left, scale, unknown := map[string]float64{}, 1.0, map[string]bool{}
	add := func(node string, f balance.Flow, sign float64) {
		unknown[node] = unknown[node] || !f.Known()
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
		if node != reconcile.Outside && !strings.HasPrefix(node, "the boxes of ") && !unknown[node] && math.Abs(kg) > 1e-6*scale {
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
