package balance_test

import (
	"reflect"
	"testing"

	"pullbook/domain/balance"
	"pullbook/domain/balance/balancetest"
	"pullbook/domain/demo"
)

// TestEveryDayOfASeasonCanBeReconciled holds that days close as seasons do, and
// that a clean season's days mostly agree.
func TestEveryDayOfASeasonCanBeReconciled(t *testing.T) {
	t.Parallel()
	days, tested, failed := 0, 0, 0
	for seed := range uint64(6) {
		b, p, _ := balancetest.Season(t, balancetest.Small(seed))
		lines, err := balance.Days(b, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			one, err := balance.Day(b, l.Day)
			if err != nil {
				t.Fatal(err)
			}
			r, err := balance.Reconcile(b, one)
			if err != nil {
				t.Fatal(err)
			}
			balancetest.Closes(t, r)
			if r.Statement.String() != l.Statement.String() {
				t.Errorf("%s by itself: %s\namong others: %s", l.Day, r.Statement, l.Statement)
			}
			days++
			if l.Global.DegreesOfFreedom > 0 {
				tested++
			}
			if !l.Global.Passed {
				failed++
			}
		}
	}
	t.Logf("%d days, %d of them with weights that check one another, %d of those do not agree", days, tested, failed)
	if days < 100 || tested < days/4 || failed > tested/10 {
		t.Errorf("%d days, %d tested, %d failed", days, tested, failed)
	}
}

// TestTheYardsOfASeasonComeToItsBoxes holds the yards' lines against the whole.
func TestTheYardsOfASeasonComeToItsBoxes(t *testing.T) {
	t.Parallel()
	_, _, r := balancetest.Season(t, balancetest.Small(1))
	measured, adjusted, flagged := 0.0, 0.0, 0
	for _, y := range r.Yards {
		measured += y.MeasuredKg
		adjusted += y.AdjustedKg
		if y.Flagged {
			flagged++
		}
		if y.Factor == nil || *y.Factor < 0.7 || *y.Factor > 1.4 || y.AdjustedUncertaintyKg > y.UncertaintyKg+1e-9 {
			t.Errorf("%s", y.Sentence)
		}
		of, err := r.OfYard(y.YardID)
		if err != nil || len(of.Flows) == 0 || len(of.Yards) != 1 {
			t.Errorf("%s alone: %v", y.Name, err)
		}
	}
	for _, f := range r.Flows {
		if f.Kind == balance.Boxes {
			measured -= f.MeasuredKg
			adjusted -= f.ReconciledKg
		}
	}
	near(t, "what is left of the boxes", measured, 0, 1e-6)
	near(t, "what is left of the adjusted", adjusted, 0, 1e-6)
	if flagged > 0 {
		t.Errorf("%d yards are flagged in a clean season", flagged)
	}
}

// BenchmarkSeason reconciles an ordinary season: 60 runs of 3,000 supers.
func BenchmarkSeason(b *testing.B) {
	book, p, _ := balancetest.Season(b, demo.Outfit(demo.Ordinary(1)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := balance.Reconcile(book, p); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDays reconciles each of its days.
func BenchmarkDays(b *testing.B) {
	book, p, _ := balancetest.Season(b, demo.Outfit(demo.Ordinary(1)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := balance.Days(book, p); err != nil {
			b.Fatal(err)
		}
	}
}

// Whoever opens the same book twice reads the same figures, to the last digit.
func TestTheSameBookReconcilesToTheSameDigits(t *testing.T) {
	t.Parallel()
	m := demo.Outfit(demo.Ordinary(3))
	_, _, first := balancetest.Season(t, m)
	for range 5 {
		if _, _, again := balancetest.Season(t, m); !reflect.DeepEqual(again, first) {
			t.Fatal("the same book gives other figures when it is opened again")
		}
	}
}
