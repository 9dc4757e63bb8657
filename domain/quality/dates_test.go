package quality_test

import (
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/quality"
)

// TestALimitIsInTheCalendarWithinNinetyDays: at 30 °C, by the hand calculation of
// TestALotPassesItsLimitsWhenItsStoreMakesIt, HMF of 12 mg/kg passes 40 after 53.0 days at the
// earliest. At 10 °C it takes years, which is no day of a calendar.
func TestALimitIsInTheCalendarWithinNinetyDays(t *testing.T) {
	t.Parallel()
	for _, store := range []struct {
		celsius float64
		limits  int
	}{{30, 1}, {10, 0}} {
		h := newHouse(t, nil)
		h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &store.celsius})
		h.certify(41.9, hmf(12), diastase(20))
		dates, err := quality.Dates(h.book, h.published(day2, "eu-honey"), day2)
		if err != nil {
			t.Fatal(err)
		}
		var limits []quality.Dated
		for _, d := range dates {
			if d.Key == "limit-"+h.lot.String() {
				limits = append(limits, d)
			}
		}
		if len(limits) != store.limits {
			t.Fatalf("at %v °C the calendar has %+v", store.celsius, dates)
		}
		for _, d := range limits {
			near(t, "the earliest day over 40 mg/kg", daysBetween(t, day2, d.From), 53.0, 1.3)
			if d.To != d.From || d.About != h.lot || d.Detail.IsEmpty() {
				t.Errorf("the event is %+v", d)
			}
		}
	}
}
