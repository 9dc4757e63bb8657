package quality_test

import (
	"testing"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// By hand: at 30 C the middle honey forms 0.1887 mg/kg of HMF a day and loses 0.003467 of
// its diastase, so 12 mg/kg are 30.87 after 100 days, and 20 diastase numbers are 14.14.
func TestAMeasuredFigureIsCarriedOverTheStoresTemperatures(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	thirty := 30.0
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &thirty})
	c := quality.ClimateOf(h.book)
	from := time.Date(2026, 7, 2, 18, 0, 0, 0, time.UTC)
	carry := func(parameter string, value float64, to time.Time) heat.Band {
		x, err := c.Carry(heat.Default(), h.store, parameter, value, from, to)
		if err != nil {
			t.Fatal(err)
		}
		return x.Band
	}
	later := from.Add(100 * 24 * time.Hour)
	near(t, "HMF after 100 days", carry("hmf", 12, later).Middle, 30.87, 0.01)
	near(t, "diastase after 100 days", carry("diastase", 20, later).Middle, 14.14, 0.01)
	if b := carry("hmf", 12, from.Add(-time.Hour)); b != (heat.Band{Low: 12, Middle: 12, High: 12}) {
		t.Errorf("before it was measured it is %+v, not as measured", b)
	}
	worst := quality.Carried{Band: heat.Band{Low: 1, Middle: 2, High: 3}}
	if worst.Worst("hmf") != 3 || worst.Worst("diastase") != 1 {
		t.Errorf("the worst HMF is %g, the worst diastase %g", worst.Worst("hmf"), worst.Worst("diastase"))
	}
}

// A store of which nothing tells how warm it is carries nothing, and says so.
func TestNothingIsCarriedWhereNoTemperatureIsKnown(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store})
	c := quality.ClimateOf(h.book)
	from := time.Date(2026, 7, 2, 18, 0, 0, 0, time.UTC)
	for _, store := range []ledger.ID{h.store, {}} {
		if x, err := c.Carry(heat.Default(), store, "hmf", 12, from, from.Add(time.Hour)); err == nil {
			t.Errorf("carried to %+v", x.Band)
		}
	}
	if _, err := c.Carry(heat.Default(), h.store, "moisture", 17, from, from.Add(time.Hour)); err == nil {
		t.Error("moisture was carried")
	}
}

// Citrus honey was published as 1.84 times as fast, so a lot of it is carried half of that way
// on the logarithm, 1.36 times as fast: 12 mg/kg are 37.6 after 100 days at 30 C.
func TestADeclaredKindIsCarriedByWhatWasPublishedOfIt(t *testing.T) {
	t.Parallel()
	h := newHouse(t, standard.Declaration{"kind": {"citrus"}})
	thirty := 30.0
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &thirty})
	c := quality.ClimateOf(h.book)
	g, err := quality.Gather(h.book, h.lot, day10)
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2026, 7, 2, 18, 0, 0, 0, time.UTC)
	x, err := c.Carry(quality.KineticsOf(g, c), h.store, "hmf", 12, from, from.Add(100*24*time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "HMF after 100 days", x.Band.Middle, 37.6, 0.1)
}

// The middle honey forms 0.1887 mg/kg a day at 30 C. Results of 4, 10 and 16 over 32 days each
// are of such a honey; a slip of 100 for 10 is no reason to carry it any faster, nor one of
// 1.6 for 16 any slower, and a slip alone beside one good result teaches nothing.
func TestASlipDoesNotMoveALotsRateOfHMF(t *testing.T) {
	t.Parallel()
	rate := func(results ...float64) float64 {
		h := newHouse(t, nil)
		thirty := 30.0
		h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &thirty})
		for i, v := range results {
			h.certify(48+float64(i)*32*24, hmf(v))
		}
		g, err := quality.Gather(h.book, h.lot, "2027-06-30")
		if err != nil {
			t.Fatal(err)
		}
		return quality.KineticsOf(g, quality.ClimateOf(h.book)).HMFRate(30)
	}
	middle := heat.Default().HMFRate(30)
	near(t, "the rate by three good results", rate(4, 10, 16), middle, 0.01)
	near(t, "with a slip upwards between them", rate(4, 100, 16), middle, 0.02)
	near(t, "with a slip downwards at the end", rate(4, 10, 16, 1.6), middle, 0.01)
	near(t, "with one good result and a slip", rate(4, 100), middle, 0)
	near(t, "with a fall that no honey has", rate(40, 5), middle, 0)
	if fast := rate(4, 16, 28); fast < 1.5*middle {
		t.Errorf("results that show twice the rate teach %.2f times", fast/middle)
	}
}
