package api_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pullbook/openapi"
)

func TestTheShedKnowsWhatIsOpen(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "pulls", s.aPull("yard_id", s.birch, "supers", []M{{"super_kind_id": s.deep, "supers": 12}}))
	s.book(t, "loads", s.aLoad("load", 3))
	s.book(t, "readings", s.aReading())
	shed := func() openapi.ShedReport { return as[openapi.ShedReport](t, s.get(t, "reports/shed")) }

	was := shed()
	if len(was.Pulls) != 1 || was.Pulls[0].Yard != "Birch Hollow" || was.Pulls[0].Supers[0].Supers != 12 {
		t.Errorf("pulls with supers left: %+v, want Birch Hollow's 12 (Alder Bend's 40 went into the run)", was.Pulls)
	}
	if len(was.Runs) != 1 || was.Runs[0].LastLoad != 3 || was.Runs[0].SupersIn != 40 || was.Runs[0].HoneyKg != 1000 {
		t.Errorf("open runs: %+v, want one with load 3, 40 supers and 1000 kg", was.Runs)
	}
	if len(was.Lots) != 1 || *was.Lots[0].LastContainer != "D-1" || *was.Lots[0].LastTareKg != 20 || was.Lots[0].LastTankID.String() != s.large {
		t.Errorf("lots: %+v, want the one whose last drum is D-1, 20 kg empty", was.Lots)
	}
	large := was.Tanks[0]
	if large.HeldKg != 730 || large.Expected == nil || math.Abs(large.Expected.MoisturePct-17.4) > 0.3 || large.SampleStdUncertaintyPct < 0.1 {
		t.Errorf("the large tank: %+v, want 730 kg of about 17.4 %%", large)
	}
	if small := was.Tanks[1]; small.HeldKg != 0 || small.Expected != nil {
		t.Errorf("the small tank: %+v, want it empty, with nothing expected", small)
	}
	// 208 L of 1.45 kg/L, the densest honey in the published tables.
	if drum := was.ContainerKinds[0]; math.Abs(drum.MostNetKg-301.6) > 1e-9 {
		t.Errorf("a drum holds at most %v kg, want 301.6", drum.MostNetKg)
	}

	s.book(t, "run-ends", M{"id": id(), "occurred_at": at(21, "16:00"), "run_id": s.run})
	if now := shed(); len(now.Runs) != 0 {
		t.Errorf("a run that ended is still open: %+v", now.Runs)
	}

	stocked := func() (out []string) {
		for _, l := range shed().Stock {
			for _, c := range l.Containers {
				out = append(out, l.Code+" "+c.Container)
			}
		}
		return out
	}
	s.release(t, s.lot, at(21, "17:00"))
	if got := strings.Join(stocked(), ", "); got != "L26-001 D-1" {
		t.Errorf("on hand of a released lot: %s", got)
	}
	s.book(t, "dispatches", s.aDispatch())
	if got := stocked(); len(got) != 0 {
		t.Errorf("on hand after it left: %v", got)
	}
}

func TestTheShedKnowsWhenInstrumentsWereChecked(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	weekly := s.book(t, "instruments", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "floor scale", "scale": "kg", "compensates_temperature": false, "check_every_days": 7}).ID
	check := M{"id": id(), "occurred_at": at(20, "7:00"), "instrument_id": weekly, "reference": "20 kg weight", "expected": 20, "as_found": 20.3, "as_left": 20.2, "tolerance": 0.1}
	s.book(t, "calibrations", check)
	byName := map[string]openapi.ShedCheck{}
	for _, c := range as[openapi.ShedReport](t, s.get(t, "reports/shed")).Checks {
		byName[c.Name] = c
	}
	if c := byName["floor scale"]; c.CheckEveryDays == nil || *c.CheckEveryDays != 7 || c.CheckedAt == nil || *c.Reference != "20 kg weight" || *c.Expected != 20 || *c.Tolerance != 0.1 || c.LeftWrong == nil || !*c.LeftWrong {
		t.Errorf("the floor scale: %+v, want its check of the 20th, which left it wrong", c)
	}
	if c := byName["Abbe"]; c.Scale != "refractive_index" || c.CheckedAt != nil || c.CheckEveryDays != nil {
		t.Errorf("the Abbe: %+v, want it never checked, and no need", c)
	}
}

// A device works out what a figure on a refractometer means by going straight
// between the lines that it has; that has to come to what the book makes of it.
func TestADeviceReadsRefractometersAsTheBookDoes(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	shed := as[openapi.ShedReport](t, s.get(t, "reports/shed"))
	byName := map[string]openapi.ShedInstrument{}
	for _, i := range shed.Instruments {
		byName[i.Name] = i
	}
	for _, test := range []struct {
		instrument, id, field string
		shown                 float64
	}{
		{"Abbe", s.abbe, "refractive_index", 1.4917}, {"Abbe", s.abbe, "refractive_index", 1.4873},
		{"Brix stick", s.brix, "brix_deg", 80.85}, {"Brix stick", s.brix, "brix_deg", 78.3},
		{"blue refractometer", s.blue, "moisture_pct", 17.43},
	} {
		body := s.aReading("instrument_id", test.id)
		delete(body, "moisture_pct")
		body[test.field] = test.shown
		booked := as[openapi.Recorded](t, s.post(t, "readings", body)).MoistureAt20C
		pct, sd := between(byName[test.instrument].Shown, test.shown)
		if unsaid := byName[test.instrument].UnsaidTemperaturePct; unsaid != nil {
			sd = math.Hypot(sd, *unsaid)
		}
		if math.Abs(pct-booked.MoisturePct) > 0.01 || math.Abs(sd-booked.StdUncertaintyPct) > 0.02 {
			t.Errorf("%s showing %v: the device makes %.3f ± %.3f, the book %.3f ± %.3f", test.instrument, test.shown, pct, sd, booked.MoisturePct, booked.StdUncertaintyPct)
		}
	}
}

func between(lines []openapi.ShedShown, shown float64) (pct, sd float64) {
	for i := 1; i < len(lines); i++ {
		a, b := lines[i-1], lines[i]
		if a.Shown <= shown && shown <= b.Shown {
			part := (shown - a.Shown) / (b.Shown - a.Shown)
			return a.MoisturePct + part*(b.MoisturePct-a.MoisturePct), a.StdUncertaintyPct + part*(b.StdUncertaintyPct-a.StdUncertaintyPct)
		}
	}
	return math.NaN(), math.NaN()
}

// The same for dips: of tanks of every shape, at depths between the lines.
func TestADeviceReadsDipsAsTheBookDoes(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for name, shape := range map[string]M{
		"upright": {"form": "upright_cylinder", "diameter_cm": 110, "height_cm": 150},
		"lying":   {"form": "lying_cylinder", "diameter_cm": 150, "length_cm": 240, "dish_depth_cm": 15},
		"cone":    {"form": "cone_bottom", "diameter_cm": 110, "height_cm": 150, "cone_depth_cm": 60},
		"table":   {"form": "dip_table", "dip_table": []M{{"depth_cm": 0, "litres": 0}, {"depth_cm": 60, "litres": 190.07}, {"depth_cm": 100, "litres": 570.20}, {"depth_cm": 150, "litres": 1045.36}}},
		"box":     {"form": "box", "length_cm": 120, "width_cm": 80, "height_cm": 90},
	} {
		tank := s.book(t, "tanks", M{"id": id(), "occurred_at": at(1, "8:00"), "name": name, "use": "bulk", "capacity_kg": 6000, "shape": shape}).ID
		line := openapi.ShedTank{}
		for _, l := range as[openapi.ShedReport](t, s.get(t, "reports/shed")).Tanks {
			if l.TankID.String() == tank {
				line = l
			}
		}
		hour := 1
		for _, dip := range []float64{21.3, 50.7, 88.1} {
			for _, celsius := range []float64{20, 33} {
				hour++
				taken := as[openapi.Recorded](t, s.post(t, "stocktakes", M{"id": id(), "occurred_at": at(21, fmt.Sprintf("%d:00", hour)), "tank_id": tank, "method": "dip", "depth_cm": dip, "temperature_c": celsius}))
				booked := taken.Levels[0].AfterKg
				device := litresAt(*line.Dip, dip) * (*line.KgPerLAt20C + (*line.KgPerLAt40C-*line.KgPerLAt20C)*(celsius-20)/20)
				if math.Abs(device-booked) > 0.002*booked {
					t.Errorf("%s, %v cm at %v °C: the device makes %.1f kg, the book %.1f", name, dip, celsius, device, booked)
				}
			}
		}
	}
}

func litresAt(lines []openapi.DipPoint, depth float64) float64 {
	for i := 1; i < len(lines); i++ {
		if a, b := lines[i-1], lines[i]; a.DepthCm <= depth && depth <= b.DepthCm {
			return a.Litres + (b.Litres-a.Litres)*(depth-a.DepthCm)/(b.DepthCm-a.DepthCm)
		}
	}
	return math.NaN()
}
