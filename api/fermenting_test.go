package api_test

import (
	"math"
	"net/http"
	"strings"
	"testing"

	"pullbook/api/apitest"
)

type fermentation struct {
	Code, Worst, Why string
	Fermentation     string
	SeenFermenting   bool `json:"seen_fermenting"`
	Unknown          []string
	Risks            []struct {
		Container, Risk, Basis string
		SeenFermenting         bool     `json:"seen_fermenting"`
		MoisturePct            *float64 `json:"moisture_pct"`
		Lower                  []struct{ Kind, Text string }
	}
}

// Three lots: one that nobody read, one that is wet, one that foams though it is dry.
// None of them is low, anywhere, and what is worst comes first.
func TestHoneyThatNobodyReadOrThatFoamsIsNeverLow(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	lot := func(code, drum string) (string, string) {
		l := s.book(t, "lots", s.aLot("code", code)).ID
		return l, s.book(t, "fills", s.aFill("container", drum, "lot_id", l)).ID
	}
	unread, _ := lot("L26-021", "D-21")
	_, wet := lot("L26-022", "D-22")
	_, wetter := lot("L26-023", "D-23")
	foams, foaming := lot("L26-024", "D-24")
	read1 := func(drum string, pct float64) {
		s.book(t, "readings", s.aReading("on", M{"kind": "container", "id": drum}, "moisture_pct", pct))
	}
	read1(wet, 19.4)
	read1(wetter, 20.6)
	read1(foaming, 16.2)
	s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "16:00"), "on": M{"kind": "container", "id": foaming}, "observed": []M{{"what": "fermentation", "word": "present"}}})

	of := read[fermentation](t, s.outfit, "reports/fermentation/"+foams+"?on=2026-08-21")
	if of.Worst != "high" || !of.SeenFermenting || of.Risks[0].Risk != "high" || !of.Risks[0].SeenFermenting || of.Risks[0].Lower[0].Kind != "set_apart" {
		t.Errorf("the lot that foams: %+v", of)
	}
	if of := read[fermentation](t, s.outfit, "reports/fermentation/"+unread+"?on=2026-08-21"); of.Worst == "low" {
		t.Errorf("the lot that nobody read: %+v", of)
	}
	var order []string
	for _, k := range read[[]fermentation](t, s.outfit, "reports/keeping?on=2026-08-21") {
		if k.Code != "L26-001" {
			order = append(order, k.Code+" "+k.Fermentation)
		}
		if k.SeenFermenting != (k.Code == "L26-024") {
			t.Errorf("%s is said to be seen fermenting: %t", k.Code, k.SeenFermenting)
		}
	}
	if got := strings.Join(order[:3], ", "); got != "L26-024 high, L26-023 high, L26-022 high" {
		t.Errorf("in the order %s", got)
	}
	for _, l := range s.rows(t, "lots.csv") {
		want := map[string]string{"L26-021": "not_known FALSE", "L26-022": "high FALSE", "L26-023": "high FALSE", "L26-024": "high TRUE"}[l["lot"]]
		if got := l["fermentation_risk"] + " " + l["seen_fermenting"]; want != "" && got != want {
			t.Errorf("lot %s in the feed: %s, want %s", l["lot"], got, want)
		}
	}
	for _, c := range s.rows(t, "containers.csv") {
		want := map[string]string{
			"D-21": "not_known FALSE  not known", "D-22": "high FALSE 19.40 measured", "D-23": "high FALSE 20.60 measured", "D-24": "high TRUE 16.20 measured",
		}[c["container"]]
		got := c["fermentation_risk"] + " " + c["seen_fermenting"] + " " + c["fermentation_moisture_pct"] + " " + c["fermentation_moisture_from"]
		if want != "" && got != want {
			t.Errorf("container %s in the feed: %s, want %s", c["container"], got, want)
		}
	}
}

// What is gone ferments no more here: the feeds say nothing of it, and do not call it low.
func TestTheFeedsSayNoRiskOfWhatIsGone(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.release(t, s.lot, at(21, "17:00"))
	s.book(t, "dispatches", s.aDispatch())
	for _, c := range s.rows(t, "containers.csv") {
		if gone := c["whereabouts"] != "held"; gone != (c["fermentation_risk"] == "") {
			t.Errorf("container %s is %s, and its risk %q", c["container"], c["whereabouts"], c["fermentation_risk"])
		}
	}
}

// Drums of a lot that was filled from a tank that nobody read either.
func TestALotThatNobodyReadSaysSoOnItsPages(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	_, page := h.Get(t, "/lots")
	wants(t, "the lots", page, ">L-2</a>", "not known")
	_, page = h.Get(t, "/lots/"+h.Other.String())
	wants(t, "the lot", page, "Container D-9", "not known", "moisture not known", "nobody read its moisture, so the risk is not known: read it", "read its moisture: until then")
	_, page = h.Send(t, http.MethodGet, "/lots/"+h.Other.String(), nil, http.Header{"Accept-Language": {"es"}})
	wants(t, "in Spanish", page, "no se conoce", "humedad desconocida", "nadie leyó su humedad")
}

// A tank of 1 m by 1.5 m over a cone of 0.5 m: at 20 cm it holds pi/12 0.4^2 0.2 m3,
// 8.378 L, and 17.5 % honey of 20 C weighs 1.4178 kg/L (White's table, between 17 and 18).
func TestATankOverAConeIsDippedFromItsPoint(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	cone := func(depth float64) M {
		return M{"id": id(), "occurred_at": at(1, "8:00"), "name": "cone", "use": "settling", "capacity_kg": 1200,
			"shape": M{"form": "cone_bottom", "diameter_cm": 100, "height_cm": 150, "cone_depth_cm": depth}}
	}
	for depth, says := range map[float64]string{0: "in centimetres", 160: "at most that"} {
		r := s.post(t, "tanks", cone(depth))
		if p := as[problem](t, r); r.status != http.StatusUnprocessableEntity || p.Errors[0].Pointer != "/shape/cone_depth_cm" || !strings.Contains(p.Errors[0].Detail, says) {
			t.Errorf("a cone of %v cm in a tank of 150: %d %s", depth, r.status, r.raw)
		}
	}
	tank := s.book(t, "tanks", cone(50)).ID
	taken := as[struct {
		Levels []struct {
			AfterKg float64 `json:"after_kg"`
		}
	}](t, s.post(t, "stocktakes", M{"id": id(), "occurred_at": at(21, "9:00"), "tank_id": tank, "method": "dip", "depth_cm": 20, "temperature_c": 20}))
	if want := 8.378 * 1.4178; math.Abs(taken.Levels[0].AfterKg-want) > 0.02 {
		t.Errorf("at 20 cm the book has %.3f kg, by hand %.3f", taken.Levels[0].AfterKg, want)
	}
}
