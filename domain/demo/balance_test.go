package demo_test

import (
	"fmt"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/balance"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/reconcile"
)

// invented seasons: one house, a third of an ordinary season.
func small(seed uint64) *demo.Book {
	o := demo.Ordinary(seed)
	o.Yards, o.Supers, o.Runs = 12, 1000, 20
	return demo.Outfit(o)
}

// seasonOf is the report of an invented book's only season.
func seasonOf(t testing.TB, m *demo.Book) (*ledger.Book, balance.Period, *balance.Report) {
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

// names reports whether the suspicion of a report falls on an entry, or on one
// that says just the same: on the first suspect, or on one that the balances
// cannot tell apart from it.
func names(b *ledger.Book, r *balance.Report, entry ledger.ID) (first, any bool) {
	same := func(id ledger.ID) bool {
		return id == entry || reflect.DeepEqual(b.InForce(id).Body, b.InForce(entry).Body)
	}
	for _, p := range r.Parts {
		if p.Suspect == nil {
			continue
		}
		first = first || slices.ContainsFunc(p.Suspect.Entries, same)
		for _, f := range p.Suspect.Others {
			any = any || slices.ContainsFunc(f.Entries, same)
		}
	}
	return first, first || any
}

// closes holds that every node of a report balances, as the tests of domain/balance do.
func closes(t testing.TB, r *balance.Report) {
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

// TestCleanSeasonsPassAndPlantedErrorsAreNamed counts, over seasons without and
// with one mistake, how often the global test fails and the mistake is named.
// The README of domain/balance has the table; this test holds it to be what is counted.
func TestCleanSeasonsPassAndPlantedErrorsAreNamed(t *testing.T) {
	t.Parallel()
	kinds := []Mistake{"", PoundsAsKilograms, RunTwice, StocktakeFarOff, HoseOnWrongTank,
		DrumFarOff, GrossAsNet}
	rows := make([]string, len(kinds))
	t.Run("count", func(t *testing.T) {
		for i, kind := range kinds {
			t.Run(string(kind), func(t *testing.T) {
				t.Parallel()
				rows[i] = countSeasons(t, kind)
			})
		}
	})
	readme, err := os.ReadFile("../balance/README.md")
	if err != nil {
		t.Fatal(err)
	}
	if table := strings.Join(rows, "\n"); !strings.Contains(string(readme), table) {
		t.Errorf("README.md does not have the table that was counted:\n%s", table)
	}
}

func countSeasons(t *testing.T, kind Mistake) string {
	n, failed, first, named, agree := 0, 0, 0, 0, 0
	least, most, unit := 0.0, 0.0, ""
	for seed := range uint64(seeds) {
		m := small(seed)
		var planted []Planted
		if kind != "" {
			if m, planted = Plant(m, kind, 1, seed); len(planted) == 0 {
				continue
			}
			p := planted[0]
			if n == 0 || p.Size < least {
				least = p.Size
			}
			most, unit = max(most, p.Size), p.Unit
		}
		n++
		b, _, r := seasonOf(t, m)
		closes(t, r)
		if !r.Global.Passed {
			failed++
		}
		if r.Global.Passed && !slices.ContainsFunc(r.Parts, func(p balance.Part) bool { return p.Suspect != nil }) {
			agree++
		}
		if kind != "" {
			f, a := names(b, r, planted[0].Entry)
			if f {
				first++
			}
			if a {
				named++
			}
		}
	}
	if kind == "" {
		if agree < n*9/10 {
			t.Errorf("of %d clean seasons only %d agree", n, agree)
		}
		return fmt.Sprintf("| none | | %d | %d | | |", n, failed)
	}
	if n < seeds {
		t.Errorf("only %d seasons gave occasion for it", n)
	}
	return fmt.Sprintf("| %s | %.0f to %.0f %s | %d | %d | %d | %d |", kind, least, most, unit, n, failed, named, first)
}
