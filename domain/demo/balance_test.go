package demo_test

import (
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/balance"
	"pullbook/domain/balance/balancetest"
	"pullbook/domain/ledger"
)

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
		m := balancetest.Small(seed)
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
		b, _, r := balancetest.Season(t, m)
		balancetest.Closes(t, r)
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
