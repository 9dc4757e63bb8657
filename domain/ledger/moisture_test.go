package ledger

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/estimate"
)

// In whatever parts runs are poured into a tank, one after the other and some through a
// sump that is emptied, the variance is that of a sum of what each run has by itself, by
// the squares of their shares, and of what all share, whole.
func TestTheVarianceOfATankIsThatOfItsRunsByTheirShares(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		type part struct{ kg, apart float64 }
		var parts []part
		var tank knownMoisture
		held, common := 0.0, rapid.Float64Range(0, 0.1).Draw(t, "shared by all")
		for n := range rapid.IntRange(1, 5).Draw(t, "runs") {
			apart := rapid.Float64Range(0.001, 0.5).Draw(t, "of the run itself")
			run := knownMoisture{Contested: estimate.Uncontested(estimate.Estimate{Mean: 17, Variance: common + apart}), common: common}.
				ofRun(&fact{Entry: &Entry{ID: ID{byte(n + 1)}}})
			poured := 0.0
			for range rapid.IntRange(1, 3).Draw(t, "parts") {
				kg := rapid.Float64Range(1, 500).Draw(t, "kg")
				if held == 0 {
					tank = run
				} else {
					tank = tank.mixed(held/(held+kg), run, true)
				}
				held, poured = held+kg, poured+kg
			}
			parts = append(parts, part{poured, apart})
		}
		want := common
		for _, p := range parts {
			share := p.kg / held
			want += share * share * p.apart
		}
		if got := tank.Held.Variance; math.Abs(got-want) > 1e-9 {
			t.Fatalf("the variance is %g, of the shares %g: %+v", got, want, parts)
		}
	})
}

// Whatever is mixed, nothing is less certain than if all errors were alike, and nothing
// more than what its parts share.
func TestAMixtureIsAsCertainAsItsPartsAllow(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		honey := func(name string) knownMoisture {
			common, apart := rapid.Float64Range(0, 1).Draw(t, name+" shared"), rapid.Float64Range(0, 1).Draw(t, name+" apart")
			k := knownMoisture{Contested: estimate.Uncontested(estimate.Estimate{Mean: rapid.Float64Range(14, 22).Draw(t, name), Variance: common + apart}), common: common}
			if rapid.Bool().Draw(t, name+" is of a run") {
				k = k.ofRun(&fact{Entry: &Entry{ID: ID{byte(rapid.IntRange(1, 2).Draw(t, name+"'s run"))}}})
			}
			if rapid.Bool().Draw(t, name+" was read") {
				k, _ = k.take(k.Held.Mean+rapid.Float64Range(-3, 3).Draw(t, name+" read at"), 0.02, 0.1)
			}
			return k
		}
		a, b := honey("one"), honey("other")
		wa := rapid.Float64Range(0.01, 0.99).Draw(t, "share")
		got := a.mixed(wa, b, rapid.Bool().Draw(t, "fresh"))
		alike := mixedAlike(wa, a.Held, b.Held)
		if v := got.Held.Variance; v > alike.Variance+1e-9 || v < got.common-1e-9 {
			t.Fatalf("mixed, the variance is %g; all errors alike %g, shared %g", v, alike.Variance, got.common)
		}
		if math.Abs(got.Held.Mean-alike.Mean) > 1e-9 || got.Disputed() != (a.Disputed() || b.Disputed()) {
			t.Fatalf("%+v and %+v make %+v", a, b, got)
		}
		if got.frames < 0 || got.loading < 0 || got.loading > 1+1e-9 || got.frames > 1+1e-9 {
			t.Fatalf("%+v and %+v share %+v", a, b, got)
		}
	})
}
