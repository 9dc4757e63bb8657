package api_test

import (
	"math"
	"net/url"
	"testing"
	"time"

	"pullbook/domain/heat"
)

type expected struct {
	Expected *struct {
		MoisturePct   float64 `json:"moisture_pct"`
		HmfMgPerKg    float64 `json:"hmf_mg_per_kg"`
		DiastaseGothe float64 `json:"diastase_gothe"`
	}
	HeldKg float64 `json:"held_kg"`
}

// TestWhatIsExpectedOfALotFollowsItsStore asks for a lot of drums at days to
// come: warmth forms HMF at the rate of the store's temperature, 20 C.
func TestWhatIsExpectedOfALotFollowsItsStore(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	store := s.book(t, "rooms", M{"id": id(), "occurred_at": at(1, "8:30"), "name": "store", "use": "store", "usual_temperature_c": 20}).ID
	lot := s.book(t, "lots", s.aLot("code", "L26-002", "store_id", store)).ID
	for _, number := range []string{"D-7", "D-8"} {
		s.book(t, "fills", s.aFill("lot_id", lot, "container", number))
	}
	on := func(day string) expected {
		moment := url.QueryEscape(day + "T12:00:00Z")
		e := read[expected](t, s.outfit, "reports/holders/"+lot+"?at="+moment)
		if e.Expected == nil {
			t.Fatalf("on %s nothing is expected of the lot", day)
		}
		return e
	}
	winter, spring := on("2026-12-01"), on("2027-05-01")
	if winter.HeldKg != 540 {
		t.Errorf("the lot holds %g kg", winter.HeldKg)
	}
	days := time.Date(2027, 5, 1, 0, 0, 0, 0, time.UTC).Sub(time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)).Hours() / 24
	formed := heat.Default().HMFRate(20) * days
	if got := spring.Expected.HmfMgPerKg - winter.Expected.HmfMgPerKg; math.Abs(got-formed) > 1e-6*formed {
		t.Errorf("over %g days at 20 C %g mg/kg of HMF, at the rate of 20 C %g", days, got, formed)
	}
	if spring.Expected.MoisturePct != winter.Expected.MoisturePct || spring.Expected.DiastaseGothe >= winter.Expected.DiastaseGothe {
		t.Errorf("from %+v to %+v", winter.Expected, spring.Expected)
	}
	report := read[struct {
		expected
		Containers []expected
	}](t, s.outfit, "reports/lots/"+lot)
	if report.Expected == nil || len(report.Containers) != 2 || report.Containers[1].Expected == nil {
		t.Fatalf("the lot's report expects %+v", report)
	}
	if now := report.Expected.HmfMgPerKg; now >= winter.Expected.HmfMgPerKg || math.Abs(now-report.Containers[0].Expected.HmfMgPerKg) > 1e-9 {
		t.Errorf("now %g, in winter %g, a drum %g", now, winter.Expected.HmfMgPerKg, report.Containers[0].Expected.HmfMgPerKg)
	}
}
