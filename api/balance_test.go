package api_test

import (
	"math"
	"net/http"
	"strings"
	"testing"
)

// weighhouse is an outfit with what the tests of the balance name.
type weighhouse struct {
	*outfit
	yard, deep, drum, room, sump, large, blue, buyer string
}

func newWeighhouse(t *testing.T) *weighhouse {
	t.Helper()
	s := &weighhouse{outfit: openHouse(t).newOutfit(t, "Fern Gully Honey")}
	spring := at(-100, "9:00")
	s.enter(t, "seasons", spring, M{"name": "2026", "first": "2026-01-01", "last": "2026-12-31"})
	s.yard = s.enter(t, "yards", spring, M{"name": "Alder Bend"})
	s.deep = s.enter(t, "super-kinds", spring, M{"name": "deep", "tare_kg": 10, "usual_net_kg": 25, "fullest_net_kg": 36})
	s.drum = s.enter(t, "container-kinds", spring, M{"name": "drum", "volume_l": 208, "usual_tare_kg": 17, "usual_net_kg": 290})
	s.room = s.enter(t, "rooms", spring, M{"name": "hot room", "use": "hot_room"})
	s.large = s.enter(t, "tanks", spring, M{"name": "large tank", "use": "settling", "capacity_kg": 2000})
	s.sump = s.enter(t, "tanks", spring, M{"name": "sump", "use": "sump", "capacity_kg": 500, "feeds_tank_id": s.large})
	s.blue = s.enter(t, "instruments", spring, M{"name": "blue refractometer", "scale": "moisture", "compensates_temperature": true})
	s.buyer = s.enter(t, "buyers", spring, M{"name": "Northgate Packing"})
	return s
}

func (s *weighhouse) enter(t *testing.T, path, when string, body M) string {
	t.Helper()
	body["id"], body["occurred_at"] = id(), when
	return s.book(t, path, body).ID
}

type reconciliation struct {
	Statement, Unseen string
	Test              struct {
		ChiSquare        float64 `json:"chi_square"`
		DegreesOfFreedom int     `json:"degrees_of_freedom"`
		Agree            bool
	}
	Suspects []struct {
		TooHighKg float64 `json:"too_high_kg"`
		Sentence  string
		Flow      struct {
			EntryIDs []string `json:"entry_ids"`
		}
	}
	Flows []struct {
		Name, Kind, Basis, Class string
		MeasuredKg               *float64 `json:"measured_kg"`
		AdjustedKg               *float64 `json:"adjusted_kg"`
	}
	Yards []struct {
		Name       string
		MeasuredKg float64 `json:"measured_kg"`
	}
	Claims []struct {
		By         string
		Complete   bool
		MeasuredKg *float64 `json:"measured_kg"`
	}
	Days []struct{ Day, Statement string }
}

// The sump was washed, took in 500 kg of a run of twenty boxes and was dipped at 60;
// the large tank was dipped at 300 before and 735 after, so that its float pump
// moved about 440 kg.
func (s *weighhouse) day(t *testing.T) (out string) {
	t.Helper()
	s.enter(t, "washes", at(21, "6:30"), M{"tank_id": s.sump})
	dip := func(when, tank string, kg float64) {
		s.enter(t, "stocktakes", when, M{"tank_id": tank, "method": "dip", "mass_kg": kg, "uncertainty_kg": 3})
	}
	dip(at(21, "6:30"), s.large, 300)
	pull := s.enter(t, "pulls", at(20, "10:00"), M{"yard_id": s.yard, "room_id": s.room, "supers": []M{{"super_kind_id": s.deep, "supers": 20}}, "gross_kg": 715})
	run := s.enter(t, "runs", at(21, "7:00"), M{"name": "1"})
	s.enter(t, "run-supers", at(21, "7:10"), M{"run_id": run, "pull_id": pull, "super_kind_id": s.deep, "supers": 20})
	out = s.enter(t, "movements", at(21, "11:00"), M{"from": M{"kind": "run", "id": run}, "to": M{"kind": "tank", "id": s.sump}, "mass_kg": 500})
	s.enter(t, "run-ends", at(21, "12:00"), M{"run_id": run, "wax_kg": 7})
	dip(at(21, "18:00"), s.sump, 60)
	dip(at(21, "18:10"), s.large, 735)
	return out
}

func TestTheWeightsOfADayAreServedBesideTheAdjusted(t *testing.T) {
	t.Parallel()
	s := newWeighhouse(t)
	out := s.day(t)
	r := read[reconciliation](t, s.outfit, "reports/reconciliation?day=2026-08-21")
	if !r.Test.Agree || r.Test.DegreesOfFreedom != 2 || len(r.Suspects) != 0 {
		t.Errorf("%s %+v", r.Statement, r.Test)
	}
	pumped := false
	for _, f := range r.Flows {
		switch {
		case f.Kind == "into tank" && (f.MeasuredKg == nil || *f.MeasuredKg != 500 || f.AdjustedKg == nil || *f.AdjustedKg == 500):
			t.Errorf("the run: %+v", f)
		case f.Kind == "float pump" && f.Class == "determinable":
			pumped = f.Basis == "unseen" && f.MeasuredKg == nil && math.Abs(*f.AdjustedKg-437) < 5
		}
	}
	if !pumped || !strings.Contains(r.Unseen, "the float pump took from the sump to the large tank") {
		t.Errorf("what the pump moved: %s %+v", r.Unseen, r.Flows)
	}
	if len(r.Yards) != 1 || r.Yards[0].Name != "Alder Bend" || r.Yards[0].MeasuredKg != 515 || len(r.Claims) != 3 || len(r.Days) != 0 {
		t.Errorf("%+v %+v", r.Yards, r.Claims)
	}

	season := read[reconciliation](t, s.outfit, "reports/reconciliation")
	if len(season.Days) != 1 || season.Days[0].Day != "2026-08-21" || season.Days[0].Statement != r.Statement {
		t.Errorf("the days of the season: %+v", season.Days)
	}
	yard := read[reconciliation](t, s.outfit, "reports/reconciliation?yard="+s.yard)
	if len(yard.Yards) != 1 || !strings.HasPrefix(yard.Statement, "Alder Bend: its boxes make 515.0 kg") {
		t.Errorf("the yard: %s", yard.Statement)
	}

	// Three times too much is named, with its entry.
	s.enter(t, "movements", at(21, "11:00"), M{"replaces": out, "reason": "typed wrong",
		"from": M{"kind": "run", "id": s.runOf(t)}, "to": M{"kind": "tank", "id": s.sump}, "mass_kg": 1500})
	wrong := read[reconciliation](t, s.outfit, "reports/reconciliation?day=2026-08-21")
	if wrong.Test.Agree || len(wrong.Suspects) != 1 || wrong.Suspects[0].Flow.EntryIDs[0] != out || math.Abs(wrong.Suspects[0].TooHighKg-1000) > 30 {
		t.Errorf("%s %+v", wrong.Statement, wrong.Suspects)
	}
}

func (s *weighhouse) runOf(t *testing.T) string {
	t.Helper()
	return read[[]struct{ ID string }](t, s.outfit, "runs")[0].ID
}

func TestWhatCannotBeReconciledIsExplained(t *testing.T) {
	t.Parallel()
	s := newWeighhouse(t)
	season := read[[]struct{ ID string }](t, s.outfit, "seasons")[0].ID
	for path, want := range map[string]int{
		"reports/reconciliation?day=2026-08-21&season=" + season: http.StatusUnprocessableEntity,
		"reports/reconciliation?season=" + id():                  http.StatusNotFound,
		"reports/reconciliation?yard=" + s.yard:                  http.StatusNotFound,
		"reports/reconciliation?day=yesterday":                   http.StatusUnprocessableEntity,
		"reports/drying?season=" + id():                          http.StatusNotFound,
		"reports/drying?target_pct=12":                           http.StatusUnprocessableEntity,
		"reports/instruments/" + s.yard:                          http.StatusNotFound,
	} {
		if r := s.send(t, http.MethodGet, "/v1/"+path, s.reader, nil); r.status != want {
			t.Errorf("%s: %d, want %d: %s", path, r.status, want, r.raw)
		}
	}
}

func TestAFloatPumpOfATankIsKeptAndChecked(t *testing.T) {
	t.Parallel()
	s := newWeighhouse(t)
	for _, x := range read[[]struct {
		Name  string
		Feeds string `json:"feeds_tank_id"`
	}](t, s.outfit, "tanks") {
		if want := map[string]string{"sump": s.large, "large tank": ""}[x.Name]; x.Feeds != want {
			t.Errorf("%s feeds %q, want %q", x.Name, x.Feeds, want)
		}
	}
	r := s.post(t, "tanks", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "bulk", "use": "bulk", "capacity_kg": 900, "feeds_tank_id": s.yard})
	if r.status != http.StatusUnprocessableEntity || !strings.Contains(string(r.raw), "/feeds_tank_id") {
		t.Errorf("a pump into a yard: %d %s", r.status, r.raw)
	}
}

func TestTheDryingOfAStackIsServed(t *testing.T) {
	t.Parallel()
	s := newWeighhouse(t)
	pull := s.enter(t, "pulls", at(18, "10:00"), M{"yard_id": s.yard, "room_id": s.room, "supers": []M{{"super_kind_id": s.deep, "supers": 20}}})
	for _, x := range []struct {
		when, point string
		pct         float64
	}{{at(18, "12:00"), "top", 19.0}, {at(18, "12:00"), "bottom", 18.2}, {at(20, "12:00"), "top", 18.2}, {at(20, "12:00"), "bottom", 17.4}} {
		s.enter(t, "readings", x.when, M{"on": M{"kind": "pull", "id": pull}, "point": x.point, "instrument_id": s.blue, "moisture_pct": x.pct})
	}
	rooms := read[[]struct {
		Name      string
		TargetPct float64 `json:"target_pct"`
		Stacks    []struct {
			PullID string `json:"pull_id"`
			DryAt  string `json:"dry_at"`
			Layers []struct {
				Layer        string
				PointsPerDay float64 `json:"slope_points_per_day"`
			}
		}
	}](t, s.outfit, "reports/drying?target_pct=17.4")
	if len(rooms) != 1 || rooms[0].TargetPct != 17.4 || len(rooms[0].Stacks) != 1 {
		t.Fatalf("%+v", rooms)
	}
	stack := rooms[0].Stacks[0]
	// 0.4 points a day, 0.8 above 17.4: two days after the last reading.
	if stack.PullID != pull || len(stack.Layers) != 2 || math.Abs(stack.Layers[0].PointsPerDay+0.4) > 1e-9 || !strings.HasPrefix(stack.DryAt, "2026-08-22T") {
		t.Errorf("%+v", stack)
	}
}

func TestWhatAnInstrumentFoundWrongHasTouchedIsServed(t *testing.T) {
	t.Parallel()
	s := newWeighhouse(t)
	check := func(when string, found float64) string {
		return s.enter(t, "calibrations", when, M{"instrument_id": s.blue, "reference": "reference liquid", "expected": 17.0,
			"as_found": found, "as_left": 17.0, "tolerance": 0.25})
	}
	check(at(10, "8:00"), 17.0)
	s.day(t)
	lot := s.enter(t, "lots", at(21, "19:00"), M{"code": "L26-001"})
	drum := s.enter(t, "fills", at(21, "19:10"), M{"lot_id": lot, "tank_id": s.large, "container_kind_id": s.drum, "container": "D-1", "tare_kg": 17.4, "gross_kg": 307.4})
	s.enter(t, "readings", at(21, "19:15"), M{"on": M{"kind": "container", "id": drum}, "instrument_id": s.blue, "moisture_pct": 18.0})
	s.release(t, lot, at(21, "20:00"))
	gone := s.enter(t, "dispatches", at(22, "8:00"), M{"buyer_id": s.buyer, "containers": []string{drum}})
	bad := check(at(22, "10:00"), 16.1)
	r := read[struct {
		Name, Sentence string
		Checks         []struct{ Good bool }
		Doubts         []struct {
			CheckID  string  `json:"check_id"`
			HighBy   float64 `json:"read_high_by"`
			Worst    float64 `json:"worst_pct"`
			Readings []struct {
				Corrected float64 `json:"corrected_pct"`
			}
			Lots []struct {
				Code    string
				MayFail []float64 `json:"may_fail"`
			}
			Dispatches []struct {
				DispatchID string `json:"dispatch_id"`
				Buyer      string
			}
		}
	}](t, s.outfit, "reports/instruments/"+s.blue)
	if len(r.Checks) != 2 || len(r.Doubts) != 1 || r.Doubts[0].CheckID != bad {
		t.Fatalf("%+v", r)
	}
	d := r.Doubts[0]
	if math.Abs(d.HighBy+0.9) > 1e-9 || math.Abs(d.Worst-18.9) > 1e-9 || len(d.Readings) != 1 || math.Abs(d.Readings[0].Corrected-18.9) > 1e-9 {
		t.Errorf("%+v", d)
	}
	if len(d.Lots) != 1 || d.Lots[0].Code != "L26-001" || len(d.Lots[0].MayFail) != 1 || d.Lots[0].MayFail[0] != 18.6 {
		t.Errorf("%+v", d.Lots)
	}
	if len(d.Dispatches) != 1 || d.Dispatches[0].DispatchID != gone || d.Dispatches[0].Buyer != "Northgate Packing" {
		t.Errorf("%+v", d.Dispatches)
	}
}
