package quality_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// inStore puts the house's store right.
func (h *house) inStore(room ledger.Room) {
	h.t.Helper()
	room.Name, room.Use = "store", ledger.Store
	h.instead(h.store, 1, &room)
}

func months(warmest, coldest float64, month int) ledger.Room {
	return ledger.Room{WarmestMonthMeanC: &warmest, ColdestMonthMeanC: &coldest, WarmestMonth: month}
}

// By hand: at 45 C the middle honey forms 5.1468 exp(-134635/8.31446 (1/318.15 - 1/323.15)) =
// 2.342 mg/kg a day, so 12 mg/kg pass 40 after 11.96 days of the spell, the fast honey after
// 5.04, and the slow one not in its twenty days. Counted back from September at the 8 C that
// are usual, the spell would be 44 years, and the limit be passed before the honey was made.
func TestAHotSpellUsesHoneyUpWhileItLasts(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	eight := 8.0
	h.inStore(ledger.Room{UsualTemperatureC: &eight})
	h.certify(42, hmf(12))
	h.at(42, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: h.store}, Held: true,
		Points: []ledger.TemperaturePoint{{At: ledgertest.At(42), TemperatureC: 45}, {At: ledgertest.At(42 + 480), TemperatureC: 8}}})
	for _, on := range []standard.Date{"2026-09-01", "2026-10-15"} {
		k := h.keeps(on, []ledger.ID{h.lot}, "eu-honey")[0]
		x := lineOn(t, k, "hmf").Leaves
		near(t, "days to the limit, fast honey", daysBetween(t, day2, x.Low), 5.04+0.75, 1)
		near(t, "days to the limit", daysBetween(t, day2, x.Middle), 11.96+0.75, 1)
		if x.High < "2030-01-01" {
			t.Errorf("a slow honey passes the limit by %s, in a store of 8 C", x.High)
		}
		if k.GoBy != x.Low || k.GoBy < day2 {
			t.Errorf("it has to go by %s", k.GoBy)
		}
	}
}

// HMF goes with the year: what the middle honey forms from day to day, added up here by the
// wave's own formula, passes the limit when the book says. One usual temperature, the mean,
// would let it stay two and a half times as long.
func TestADateFollowsTheYearOfTheStore(t *testing.T) {
	t.Parallel()
	flat, wave := newHouse(t, nil), newHouse(t, nil)
	twenty := 20.0
	flat.inStore(ledger.Room{UsualTemperatureC: &twenty})
	wave.inStore(months(32, 8, 7))
	for _, h := range []*house{flat, wave} {
		h.certify(41.9, hmf(12))
	}
	formed, days := 0.0, 0
	for ; formed < 28; days++ {
		day := float64(time.Date(2026, 7, 3, 0, 0, 0, 0, time.UTC).YearDay()-1+days) + 0.5
		formed += heat.Default().HMFRate(20 + 12*math.Cos(2*math.Pi*(day-6.5*365.25/12)/365.25))
	}
	k := wave.keeps(day2, []ledger.ID{wave.lot}, "eu-honey")[0]
	got := daysBetween(t, day2, lineOn(t, k, "hmf").Leaves.Middle)
	near(t, "days to the limit", got, float64(days), 3)
	level := daysBetween(t, day2, lineOn(t, flat.keeps(day2, []ledger.ID{flat.lot}, "eu-honey")[0], "hmf").Leaves.Middle)
	if times := level / got; times < 2 || times > 4 {
		t.Errorf("%g days at 20 C all year, %g days over the year: %.2g times", level, got, times)
	}
	if k.StoreC == nil || *k.StoreC < 24 || *k.StoreC > 28 || !strings.Contains(k.StoreBasis.String(), "warmest") {
		t.Errorf("as warm as %v all year: %s", k.StoreC, k.StoreBasis)
	}
}

// A summer begins in January south of the tropics: what was measured in July keeps through a
// winter first.
func TestTheWarmestMonthSaysWhichHalfOfTheEarth(t *testing.T) {
	t.Parallel()
	when := func(month int) standard.Date {
		h := newHouse(t, nil)
		h.inStore(months(35, 10, month))
		h.certify(41.9, hmf(25))
		return lineOn(t, h.keeps(day2, []ledger.ID{h.lot}, "eu-honey")[0], "hmf").Leaves.Middle
	}
	north, south := when(0), when(1)
	if daysBetween(t, north, south) < 60 {
		t.Errorf("in the north by %s, in the south by %s", north, south)
	}
}

// A log of most of a year is believed before what the outfit says is usual.
func TestAYearOfLogsIsBelievedBeforeTheUsualTemperature(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	ten := 10.0
	h.inStore(ledger.Room{UsualTemperatureC: &ten})
	log := &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: h.store}}
	for i := range 340 {
		at := ledgertest.At(float64(i-340) * 24)
		log.Points = append(log.Points, ledger.TemperaturePoint{At: at, TemperatureC: heat.YearOfMonths(30, 6, 7).TemperatureC(at)})
	}
	h.at(-1, log)
	h.certify(42, hmf(12))
	k := h.keeps(day2, []ledger.ID{h.lot}, "eu-honey")[0]
	if k.StoreC == nil || *k.StoreC < 22 || *k.StoreC > 25 || !strings.Contains(k.StoreBasis.String(), "logged") {
		t.Errorf("as warm as %v all year: %s", k.StoreC, k.StoreBasis)
	}
}

// A forecast is told no more exactly than it can be.
func TestFarDaysAreToldAsMonthOrYear(t *testing.T) {
	t.Parallel()
	for d, want := range map[standard.Date]standard.Date{
		"2026-07-03": "2026-07-03", "2026-09-30": "2026-09-30", "2026-10-01": "2026-10", "2029-06-30": "2029-06", "2029-07-01": "2029-07", "2029-07-02": "2029", "2029-07-15": "2029", "2061-01-01": "2061",
		"2026-01-01": "2026-01", "": "",
	} {
		if got := quality.Roughly(d, day2); got != want {
			t.Errorf("%q is told on %s as %q, want %q", d, day2, got, want)
		}
	}
}
