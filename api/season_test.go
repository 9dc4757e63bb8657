package api_test

import (
	"math"
	"testing"
)

// TestASeasonTypedByHand types a small season in and holds the reports against
// figures worked out on paper.
//
// Deeps: tare 13 kg, usually 27 kg of honey, ten frames. Drums: 208 l.
//
//	18 Aug  32 hives counted at Alder Bend, 20 at Birch Hollow ("main flow")
//	20 Aug  Alder Bend: 60 deeps off 30 hives, 2340 kg on the scale
//	        net 2340 - 60 x 13 = 1560 kg, 26 kg a box
//	20 Aug  Birch Hollow: 40 deeps off 18 hives, not weighed
//	21 Aug  run 1: 30 deeps of Alder Bend; 700 kg into the large tank
//	        all of it Alder Bend's: one pull
//	21 Aug  run 2: 30 deeps of Alder Bend and 40 of Birch Hollow; 1750 kg
//	        Birch Hollow was not weighed, so it is shared out by usual weight:
//	        30 : 40, Alder Bend 750 kg, Birch Hollow 1000 kg
//	        5 loads of 29 + 29 frames are 290 frames, 29.0 boxes; wax 35 kg, 2 %
//	22 Aug  the large tank holds 2450 kg: Alder Bend 1450, Birch Hollow 1000
//	        490 kg go to the small tank, 290 kg of them Alder Bend's
//	22 Aug  lot L26-001 from the large tank: two drums, 280 and 294 kg net
//	        574 kg, 1450/2450 of them Alder Bend's: 339.714 kg, and 234.286 kg
//	22 Aug  the first drum leaves for Northgate Packing
func TestASeasonTypedByHand(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	enter := func(path, when string, body M) string {
		t.Helper()
		body["id"], body["occurred_at"] = id(), when
		r := o.book(t, path, body)
		if len(r.Flags) > 0 {
			t.Errorf("%s is flagged: %+v", path, r.Flags)
		}
		return r.ID
	}
	spring := at(-100, "9:00")
	enter("seasons", spring, M{"name": "2026", "first": "2026-01-01", "last": "2026-12-31"})
	alder := enter("yards", spring, M{"name": "Alder Bend"})
	birch := enter("yards", spring, M{"name": "Birch Hollow"})
	deep := enter("super-kinds", spring, M{"name": "deep", "tare_kg": 13, "usual_net_kg": 27, "fullest_net_kg": 36})
	drum := enter("container-kinds", spring, M{"name": "drum", "volume_l": 208, "usual_tare_kg": 18, "usual_net_kg": 290})
	large := enter("tanks", spring, M{"name": "large tank", "use": "settling", "capacity_kg": 4900})
	small := enter("tanks", spring, M{"name": "small tank", "use": "heated", "capacity_kg": 700})
	blue := enter("instruments", spring, M{"name": "blue refractometer", "scale": "moisture", "compensates_temperature": true})
	buyer := enter("buyers", spring, M{"name": "Northgate Packing"})

	enter("hive-counts", at(20, "7:00"), M{"yard_id": alder, "name": "main flow", "hives": 32})
	enter("hive-counts", at(20, "7:30"), M{"yard_id": birch, "name": "main flow", "hives": 20})
	fromAlder := enter("pulls", at(20, "10:00"), M{"yard_id": alder, "supers": []M{{"super_kind_id": deep, "supers": 60}}, "hives_worked": 30, "gross_kg": 2340})
	fromBirch := enter("pulls", at(20, "15:00"), M{"yard_id": birch, "supers": []M{{"super_kind_id": deep, "supers": 40}}, "hives_worked": 18})
	into := func(run, pull, when string, supers int) {
		t.Helper()
		enter("run-supers", when, M{"run_id": run, "pull_id": pull, "super_kind_id": deep, "supers": supers})
	}
	out := func(run, when string, kg float64) {
		t.Helper()
		enter("movements", when, M{"from": M{"kind": "run", "id": run}, "to": M{"kind": "tank", "id": large}, "mass_kg": kg})
	}
	run1 := enter("runs", at(21, "7:00"), M{"name": "morning"})
	into(run1, fromAlder, at(21, "7:10"), 30)
	out(run1, at(21, "11:00"), 700)
	run2 := enter("runs", at(21, "12:00"), M{"name": "afternoon"})
	into(run2, fromAlder, at(21, "12:10"), 30)
	into(run2, fromBirch, at(21, "12:15"), 40)
	for i, when := range []string{"12:30", "12:50", "13:10", "13:30", "13:50"} {
		enter("loads", at(21, when), M{"run_id": run2, "load": i + 1, "frames_left": 29, "frames_right": 29})
	}
	out(run2, at(21, "18:00"), 1750)
	enter("run-ends", at(21, "18:30"), M{"run_id": run2, "wax_kg": 35})
	enter("readings", at(21, "11:05"), M{"on": M{"kind": "run", "id": run1}, "instrument_id": blue, "moisture_pct": 17.0})
	enter("readings", at(21, "18:05"), M{"on": M{"kind": "run", "id": run2}, "instrument_id": blue, "moisture_pct": 18.0})
	enter("movements", at(22, "8:00"), M{"from": M{"kind": "tank", "id": large}, "to": M{"kind": "tank", "id": small}, "mass_kg": 490})
	lot := enter("lots", at(22, "9:00"), M{"code": "L26-001", "product": "wildflower honey"})
	first := enter("fills", at(22, "9:10"), M{"lot_id": lot, "tank_id": large, "container_kind_id": drum, "container": "D-1", "tare_kg": 18.5, "gross_kg": 298.5})
	enter("fills", at(22, "9:30"), M{"lot_id": lot, "tank_id": large, "container_kind_id": drum, "container": "D-2", "tare_kg": 17.5, "gross_kg": 311.5})
	enter("readings", at(22, "9:40"), M{"on": M{"kind": "container", "id": first}, "instrument_id": blue, "moisture_pct": 17.6})
	o.release(t, lot, at(22, "10:00"))
	enter("dispatches", at(22, "11:00"), M{"buyer_id": buyer, "containers": []string{first}})

	t.Run("the season by yard", func(t *testing.T) {
		type yard struct {
			Name                                       string
			Rank, Hives                                int
			SupersPulled                               int `json:"supers_pulled"`
			HivesWorked                                int `json:"hives_worked"`
			HoneyKg, KgPerSuper, KgPerHive, Share, Pct float64
			Allocation                                 string
		}
		rows := read[struct{ Yards []M }](t, o, "reports/season").Yards
		want := []yard{
			// 700 + 750; over 60 boxes and 32 hives; of 2450; (700 x 17 + 750 x 18) / 1450
			{"Alder Bend", 1, 32, 60, 30, 1450, 1450. / 60, 1450. / 32, 1450. / 2450, 17.517241379310345, "shared out"},
			{"Birch Hollow", 2, 20, 40, 18, 1000, 25, 50, 1000. / 2450, 18, "shared out"},
		}
		if len(rows) != len(want) {
			t.Fatalf("%v", rows)
		}
		for i, w := range want {
			for name, v := range map[string]any{"name": w.Name, "allocation": w.Allocation, "rank": w.Rank, "hives": w.Hives, "supers_pulled": w.SupersPulled,
				"hives_worked": w.HivesWorked, "honey_kg": w.HoneyKg, "kg_per_super": w.KgPerSuper, "kg_per_hive": w.KgPerHive, "share": w.Share, "moisture_pct": w.Pct} {
				same(t, w.Name+" "+name, rows[i][name], v)
			}
		}
	})
	t.Run("the season's balance", func(t *testing.T) {
		b := read[struct{ Balance M }](t, o, "reports/season").Balance
		for name, want := range map[string]any{
			"supers_pulled": 100, "supers_extracted": 100, "supers_left": 0,
			"harvested_kg": 2450, "in_tanks_kg": 2450 - 574, "in_containers_kg": 294, "filled_kg": 574, "dispatched_kg": 280,
			"wax_kg": 35, "unaccounted_kg": 0, "unexplained_kg": 0, "wasted_kg": 0, "washed_kg": 0, "lost_kg": 0,
			"wax_pct": 35. / 2450 * 100,
		} {
			same(t, name, b[name], want)
		}
		buyers := b["buyers"].([]any)
		same(t, "what the buyer took", buyers[0].(M)["mass_kg"], 280)
	})
	t.Run("the runs", func(t *testing.T) {
		runs := read[[]M](t, o, "reports/runs")
		for name, want := range map[string]any{"name": "morning", "honey_kg": 700, "supers_in": 30, "loads": 0, "allocation": "one pull", "kg_per_super": 700. / 30} {
			same(t, "morning "+name, runs[0][name], want)
		}
		for name, want := range map[string]any{"name": "afternoon", "honey_kg": 1750, "supers_in": 70, "loads": 5, "frames": 290, "boxes": 29, "wax_pct": 2, "allocation": "shared out"} {
			same(t, "afternoon "+name, runs[1][name], want)
		}
	})
	t.Run("the tanks", func(t *testing.T) {
		tanks := read[[]M](t, o, "reports/tanks")
		// 2450 - 490 - 574
		same(t, "large tank", tanks[0]["held_kg"], 1386)
		same(t, "small tank", tanks[1]["held_kg"], 490)
		same(t, "small tank, full", tanks[1]["full_pct"], 70)
		makeup := tanks[1]["makeup"].([]any)
		same(t, "small tank, Alder Bend's", makeup[0].(M)["mass_kg"], 290)
		same(t, "small tank, Birch Hollow's", makeup[1].(M)["mass_kg"], 200)
	})
	t.Run("the lot", func(t *testing.T) {
		l := read[M](t, o, "reports/lots/"+lot)
		for name, want := range map[string]any{"code": "L26-001", "net_kg": 574, "held_kg": 294, "dispatched_kg": 280, "reworked_kg": 0} {
			same(t, name, l[name], want)
		}
		containers := l["containers"].([]any)
		same(t, "D-1", containers[0].(M)["net_kg"], 280)
		same(t, "D-1's state", containers[0].(M)["state"], "dispatched")
		same(t, "D-1's buyer", containers[0].(M)["buyer"], "Northgate Packing")
		same(t, "D-2", containers[1].(M)["net_kg"], 294)
		same(t, "D-2's state", containers[1].(M)["state"], "held")
		makeup := l["makeup"].([]any)
		same(t, "Alder Bend's part", makeup[0].(M)["mass_kg"], 339.714)
		same(t, "Birch Hollow's part", makeup[1].(M)["mass_kg"], 234.286)
		pulls := makeup[0].(M)["pulls"].([]any)
		same(t, "Alder Bend's pull", pulls[0].(M)["pulled_at"], "2026-08-20T15:00:00Z")
		readings := l["readings"].([]any)
		same(t, "its moisture", readings[0].(M)["moisture_pct"], 17.6)
	})
	t.Run("the totals", func(t *testing.T) {
		totals := read[M](t, o, "reports/totals")
		for name, want := range map[string]any{"balanced": true, "harvested_kg": 2450, "held_kg": 2170, "dispatched_kg": 280, "unexplained_kg": 0} {
			same(t, name, totals[name], want)
		}
	})
	t.Run("nothing is odd", func(t *testing.T) {
		if list := read[[]M](t, o, "reports/findings"); len(list) > 0 {
			t.Errorf("%v", list)
		}
	})
}

// same holds a figure against the one worked out, to a millionth.
func same(t *testing.T, what string, got, want any) {
	t.Helper()
	g, isNumber := got.(float64)
	switch w := want.(type) {
	case float64:
		if !isNumber || math.Abs(g-w) > 1e-6*math.Abs(w) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	case int:
		if !isNumber || g != float64(w) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	default:
		if got != want {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
}
