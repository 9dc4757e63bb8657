package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
)

// badQuestion is one that has no answer, and what must be said of it.
type badQuestion struct {
	name     string
	path     string
	body     M
	pointer  string
	says     string
	sent     any
	didMean  any
	hasOther bool // more than one field is complained of
}

func TestACalculatorSaysWhichFigureCannotBeAndWhatWouldDo(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	for _, bad := range append(append(flatBadQuestions(), historyBadQuestions()...), warmingBadQuestions()...) {
		t.Run(bad.name, func(t *testing.T) {
			method, body := http.MethodGet, []byte(nil)
			if bad.body != nil {
				method = http.MethodPost
				var err error
				if body, err = json.Marshal(bad.body); err != nil {
					t.Fatal(err)
				}
			}
			r := o.send(t, method, "/v1/calculators/"+bad.path, o.reader, body)
			if r.status != http.StatusUnprocessableEntity {
				t.Fatalf("%d %s", r.status, r.raw)
			}
			p := as[problem](t, r)
			if len(p.Errors) == 0 || len(p.Errors) > 1 != bad.hasOther {
				t.Fatalf("%s", r.raw)
			}
			e := p.Errors[0]
			if e.Pointer != bad.pointer || !strings.Contains(e.Detail, bad.says) || fmt.Sprint(e.DidYouMean) != fmt.Sprint(bad.didMean) {
				t.Errorf("want %s, %q, did you mean %v: %s", bad.pointer, bad.says, bad.didMean, r.raw)
			}
			if bad.sent != nil && fmt.Sprint(e.Sent) != fmt.Sprint(bad.sent) {
				t.Errorf("sent was %v: %s", bad.sent, r.raw)
			}
		})
	}
}

const uprightTank = "form=upright_cylinder&diameter_cm=110&height_cm=150&"

func flatBadQuestions() []badQuestion {
	return []badQuestion{
		{name: "a tank at 113 C", path: "density?moisture_pct=17.2&temperature_c=113", pointer: "query:temperature_c",
			says: "from 0 °C to 80 °C; it looks like Fahrenheit: 113 F is 45.0 C", sent: 113, didMean: 45},
		{name: "a moisture as a fraction", path: "density?moisture_pct=0.172", pointer: "query:moisture_pct",
			says: "from 5 to 40 %; it looks like a fraction: send 17.2 for 17.2 %", sent: 0.172, didMean: 17.2},
		{name: "a figure that is none", path: "density?moisture_pct=NaN", pointer: "query:moisture_pct", says: "number with a point", sent: "NaN"},
		{name: "a decimal comma", path: "density?moisture_pct=17,2", pointer: "query:moisture_pct", says: "number with a point", sent: "17,2"},
		{name: "a negative depth", path: "dip?" + uprightTank + "moisture_pct=17.2&dip_cm=-3", pointer: "query:dip_cm",
			says: "from 0 to 150 cm; a dip is measured up from the bottom and cannot be negative", sent: -3},
		{name: "a dip above the rim", path: "dip?" + uprightTank + "moisture_pct=17.2&dip_cm=150.5", pointer: "query:dip_cm",
			says: "from 0 to 150 cm; it is above the rim", sent: 150.5},
		{name: "more than the tank holds", path: "dip-for-mass?" + uprightTank + "moisture_pct=17.2&mass_kg=9000", pointer: "query:mass_kg",
			says: "it is more than the tank holds", sent: 9000},
		{name: "more litres than the tank holds", path: "dip-for-mass?" + uprightTank + "moisture_pct=17.2&volume_l=1426", pointer: "query:volume_l",
			says: "it is more than the tank holds", sent: 1426},
		{name: "a tank in metres", path: "dip?form=box&length_cm=1.2&width_cm=80&height_cm=90&moisture_pct=17&dip_cm=1", pointer: "query:length_cm",
			says: "from 5 to 3000 cm; it looks like metres", sent: 1.2},
		{name: "a dish deeper than the radius", path: "dip?form=lying_cylinder&diameter_cm=100&length_cm=200&dish_depth_cm=60&moisture_pct=17&dip_cm=1",
			pointer: "query:dish_depth_cm", says: "from 0 to 50 cm", sent: 60},
		{name: "a cylinder without its height", path: "dip?form=upright_cylinder&diameter_cm=110&moisture_pct=17&dip_cm=3", pointer: "query:height_cm",
			says: "upright_cylinder needs diameter_cm, height_cm"},
		{name: "a dip table that falls", path: "dip?form=dip_table&dip_table_cm=0,20,10&dip_table_l=0,10,20&moisture_pct=17&dip_cm=3", pointer: "query:dip_table_cm",
			says: "row 3 of the dip table", sent: 10},
		{name: "a dip table whose volumes fall", path: "dip?form=dip_table&dip_table_cm=0,10,20&dip_table_l=0,20,10&moisture_pct=17&dip_cm=3", pointer: "query:dip_table_l",
			says: "row 3 of the dip table", sent: 10},
		{name: "a dip table with a volume short", path: "dip?form=dip_table&dip_table_cm=0,10,20&dip_table_l=0,20&moisture_pct=17&dip_cm=3", pointer: "query:dip_table_cm",
			says: "as many volumes", sent: "3 dips, 2 volumes"},
		{name: "Brix sent as index", path: "moisture?refractive_index=81.2", pointer: "query:refractive_index", says: "1.438665", sent: 81.2},
		{name: "index sent as Brix", path: "moisture?brix_deg=1.4935", pointer: "query:brix_deg", says: "it looks like a refractive index", sent: 1.4935},
		{name: "no reading", path: "moisture?sample_temperature_c=20", pointer: "query:brix_deg", says: "brix_deg, honey_scale_pct, refractive_index"},
		{name: "two readings", path: "moisture?brix_deg=81&refractive_index=1.49", pointer: "query:brix_deg", says: "only one", hasOther: true},
		{name: "a sample at 77 F", path: "moisture?brix_deg=81&sample_temperature_c=77", pointer: "query:sample_temperature_c",
			says: "it looks like Fahrenheit: 77 F is 25.0 C", sent: 77, didMean: 25},
		{name: "an instrument worse than any", path: "moisture?brix_deg=81&instrument_std_uncertainty=9", pointer: "query:instrument_std_uncertainty", says: "from 0 to 5"},
		{name: "an index for honey that is no honey", path: "refractive-index?moisture_pct=47", pointer: "query:moisture_pct", says: "from 5 to 40 %", sent: 47},
		{name: "viscosity in the cold", path: "viscosity?moisture_pct=17&temperature_c=4", pointer: "query:temperature_c", says: "from 10 °C to 75 °C", sent: 4},
		{name: "specific heat of syrup", path: "specific-heat?moisture_pct=44", pointer: "query:moisture_pct", says: "from 5 to 40 %", sent: 44},
		{name: "conductivity above its range", path: "thermal-conductivity?moisture_pct=17&temperature_c=95", pointer: "query:temperature_c", says: "from 0 °C to 80 °C", didMean: 35},
		{name: "water activity above its range", path: "water-activity?moisture_pct=43", pointer: "query:moisture_pct", says: "from 5 to 40 %", sent: 43},
		{name: "more crystals than glucose", path: "granulation?moisture_pct=18&crystals_pct=60", pointer: "query:crystals_pct", says: "from 0 to 45", sent: 60},
		{name: "an uncertainty below nothing", path: "granulation?moisture_pct=18&crystals_pct=6&moisture_std_uncertainty_pct=-1",
			pointer: "query:moisture_std_uncertainty_pct", says: "from 0 to 5", sent: -1},
		{name: "darker than the grader", path: "colour?colour_mm_pfund=150", pointer: "query:colour_mm_pfund", says: "from 0 to 140 mm Pfund", sent: 150},
		{name: "absorbance in percent", path: "colour?absorbance_635nm=25", pointer: "query:absorbance_635nm", says: "from 0 to 0.481", sent: 25},
		{name: "optical density on a Canadian scale", path: "colour?optical_density_560nm=0.5&scale=canada_bulk", pointer: "query:scale", says: "united_states only", sent: "canada_bulk"},
		{name: "a scale that is none", path: "colour-classes?scale=lovibond", pointer: "query:scale", says: "one of united_states, canada_bulk, canada_consumer", sent: "lovibond"},
		{name: "hours at 113 C", path: "hours-until-hmf?hmf_mg_per_kg=4&temperature_c=113", pointer: "query:temperature_c",
			says: "from -40 °C to 100 °C; it looks like Fahrenheit: 113 F is 45.0 C", sent: 113, didMean: 45},
		{name: "HMF below nothing", path: "hours-until-hmf?hmf_mg_per_kg=-1&temperature_c=45", pointer: "query:hmf_mg_per_kg", says: "from 0 to 1000 mg/kg", sent: -1},
		{name: "diastase of nothing", path: "hours-until-diastase?diastase_gothe=0&temperature_c=45", pointer: "query:diastase_gothe", says: "above 0"},
		{name: "a job of no length", path: "highest-temperature-for-hmf?hours=0&hmf_mg_per_kg=4", pointer: "query:hours", says: "longer than nothing"},
		{name: "a limit that is passed", path: "highest-temperature-for-hmf?hours=5&hmf_mg_per_kg=41", pointer: "query:hmf_mg_per_kg", says: "leaves nothing to the limit of 40"},
		{name: "a diastase limit that is passed", path: "highest-temperature-for-diastase?hours=5&diastase_gothe=7", pointer: "query:diastase_gothe", says: "leaves nothing to the limit of 8"},
		{name: "a tank without depth", path: "settling?particle=wax&diameter_mm=0.3&depth_m=0&moisture_pct=17&temperature_c=35", pointer: "query:depth_m", says: "to 20 m", sent: 0},
		{name: "a particle as large as a bee", path: "settling?particle=wax&diameter_mm=13&depth_m=1&moisture_pct=17&temperature_c=35", pointer: "query:diameter_mm", says: "from 0.005 to 5 mm", sent: 13},
		{name: "a particle that does not rise", path: "settling?particle=sand&diameter_mm=1&depth_m=1&moisture_pct=17&temperature_c=35", pointer: "query:particle", says: "bubble, wax", sent: "sand"},
	}
}

func point(at string, celsius float64) M { return M{"at": at, "temperature_c": celsius} }

func exposed(history M) M { return M{"history": history} }

func historyBadQuestions() []badQuestion {
	first, second, third := point(at(21, "8:00"), 24), point(at(21, "9:00"), 25), point(at(21, "10:00"), 26)
	long := M{"points": []M{first, point(at(23, "8:00"), 30)}}
	file := func(text string, pairs ...any) M { return exposed(M{"csv": with(M{"text": text}, pairs...)}) }
	return []badQuestion{
		{name: "points out of order", path: "heat-exposure", body: exposed(M{"points": []M{first, third, second}}), pointer: "/history/points/2",
			says: "comes before the end of reading 2"},
		{name: "doubled points that differ", path: "heat-exposure", body: exposed(M{"points": []M{first, with(first, "temperature_c", 31)}}), pointer: "/history/points/0",
			says: "keep one"},
		{name: "a log with one point", path: "heat-exposure", body: exposed(M{"points": []M{first}}), pointer: "/history", says: "needs at least two readings, this one has 1"},
		{name: "a log without points", path: "heat-exposure", body: exposed(M{"points": []M{}}), pointer: "/history", says: "needs at least two readings, this one has 0"},
		{name: "a reading of 113 C", path: "heat-exposure", body: exposed(M{"points": []M{first, with(second, "temperature_c", 113)}}),
			pointer: "/history/points/1/temperature_c", says: "it looks like Fahrenheit: 113 F is 45.0 C", sent: 113, didMean: 45},
		{name: "a gap of two days that nothing fills", path: "heat-exposure", body: exposed(long), pointer: "/history", says: "(48 h): say the store's usual temperature"},
		{name: "a store at 68 C in Fahrenheit", path: "heat-exposure", body: exposed(with(long, "usual_temperature_c", 168)), pointer: "/history/usual_temperature_c",
			says: "from -40 °C to 100 °C", sent: 168, didMean: 75.6},
		{name: "a set point that ends before it begins", path: "heat-exposure",
			body:    exposed(M{"set_points": []M{{"from": at(21, "9:00"), "to": at(21, "8:00"), "temperature_c": 30}}}),
			pointer: "/history/set_points/0", says: "not after its start"},
		{name: "a set point of 113 C", path: "heat-exposure",
			body:    exposed(M{"set_points": []M{{"from": at(21, "8:00"), "to": at(21, "9:00"), "temperature_c": 113}}}),
			pointer: "/history/set_points/0/temperature_c", says: "it looks like Fahrenheit", sent: 113, didMean: 45},
		{name: "no history", path: "heat-exposure", body: exposed(M{}), pointer: "/history/csv", says: "csv, points, set_points"},
		{name: "two histories", path: "heat-exposure", body: exposed(M{"points": []M{first, second}, "set_points": []M{}}), pointer: "/history/points", says: "only one", hasOther: true},
		{name: "an activation energy of nothing", path: "heat-exposure",
			body:    with(exposed(M{"points": []M{first, second}}), "rates", M{"hmf": M{"rate_per_day": 5, "at_temperature_c": 50, "activation_energy_kj_per_mol": 0}}),
			pointer: "/rates/hmf/activation_energy_kj_per_mol", says: "from 1 to 500 kJ/mol; published values for honey run from 83 to 173", sent: 0},
		{name: "a rate of nothing", path: "heat-exposure",
			body:    with(exposed(M{"points": []M{first, second}}), "rates", M{"diastase": M{"rate_per_day": 0, "at_temperature_c": 50, "activation_energy_kj_per_mol": 140}}),
			pointer: "/rates/diastase/rate_per_day", says: "above zero"},
		{name: "a reference in Fahrenheit", path: "heat-exposure", body: with(exposed(M{"points": []M{first, second}}), "reference_temperature_c", 104),
			pointer: "/reference_temperature_c", says: "from -40 °C to 100 °C", didMean: 40},
		{name: "invertase below nothing", path: "heat-exposure", body: with(exposed(M{"points": []M{first, second}}), "honey", M{"invertase": -4}),
			pointer: "/honey/invertase", says: "from 0 to 10000", sent: -4},
		{name: "a file in Fahrenheit told to be Celsius", path: "heat-exposure", body: file("time,temp C\n2026-08-21T08:00:00Z,113\n"),
			pointer: "/history/csv/text", says: "Line 2: temperature 113 C cannot be used", didMean: 45},
		{name: "a file that does not say its unit", path: "heat-exposure", body: file("time,temp\n2026-08-21T08:00:00Z,24\n"), pointer: "/history/csv/text", says: "C or F: say which"},
		{name: "a file without offsets", path: "heat-exposure", body: file("time,temp C\n2026-08-21 08:00,24\n"), pointer: "/history/csv/text", says: "in which time zone"},
		{name: "a file in no time zone", path: "heat-exposure", body: file("time,temp C\n2026-08-21 08:00,24\n", "time_zone", "Atlantis"),
			pointer: "/history/csv/time_zone", says: "America/Chicago", sent: "Atlantis"},
		{name: "one laboratory result", path: "laboratory-results",
			body:    M{"results": []M{{"at": at(21, "8:00"), "hmf_mg_per_kg": 5}}, "history": M{"points": []M{first, second}}},
			pointer: "/results", says: "at least two HMF results, here are 1"},
		{name: "laboratory results out of order", path: "laboratory-results",
			body:    M{"results": []M{{"at": at(21, "8:00"), "hmf_mg_per_kg": 5}, {"at": at(21, "8:00"), "hmf_mg_per_kg": 6}}, "history": M{"points": []M{first, second}}},
			pointer: "/results/1", says: "send them oldest first"},
		{name: "a laboratory result below nothing", path: "laboratory-results",
			body:    M{"results": []M{{"at": at(21, "8:00"), "hmf_mg_per_kg": 5}, {"at": at(21, "9:00"), "hmf_mg_per_kg": -6}}, "history": M{"points": []M{first, second}}},
			pointer: "/results/1/hmf_mg_per_kg", says: "from 0 to 20000", sent: -6},
	}
}

func warmingBadQuestions() []badQuestion {
	tank := M{"mass_kg": 1200, "moisture_pct": 17.4, "loss_w_per_k": 12}
	stage := M{"hours": 36, "heater_w": 2500, "control_c": 45, "ambient_c": 18}
	good := M{"tank": tank, "start_temperature_c": 22, "stages": []M{stage}}
	staged := func(pairs ...any) M { return with(good, "stages", []M{stage, with(stage, pairs...)}) }
	tanked := func(pairs ...any) M { return with(good, "tank", with(tank, pairs...)) }
	log := M{"points": []M{point(at(21, "8:00"), 45), point(at(21, "10:00"), 44), point(at(21, "12:00"), 43)}}
	loss := M{"mass_kg": 1200, "moisture_pct": 17.4, "heater_w": 0, "ambient_c": 18, "log": log}
	return []badQuestion{
		{name: "a tank that starts at 113 C", path: "warming", body: with(good, "start_temperature_c", 113), pointer: "/start_temperature_c",
			says: "from -40 °C to 80 °C", sent: 113, didMean: 45},
		{name: "a control point of 113 C", path: "warming", body: staged("control_c", 113), pointer: "/stages/1/control_c",
			says: "it looks like Fahrenheit: 113 F is 45.0 C", sent: 113, didMean: 45},
		{name: "a heater without a control point", path: "warming", body: staged("control_c", nil), pointer: "/stages/1/control_c", says: "needs a control point"},
		{name: "a stage of no length", path: "warming", body: staged("hours", 0), pointer: "/stages/1", says: "longer than nothing"},
		{name: "a heater in kilowatts below nothing", path: "warming", body: staged("heater_w", -2), pointer: "/stages/1/heater_w", says: "from 0 to 200000 W", sent: -2},
		{name: "a room at 70 F", path: "warming", body: staged("ambient_c", 70), pointer: "/stages/1/ambient_c", says: "from -40 °C to 60 °C", sent: 70, didMean: 21.1},
		{name: "a tank's moisture as a fraction", path: "warming", body: tanked("moisture_pct", 0.174), pointer: "/tank/moisture_pct",
			says: "it looks like a fraction", sent: 0.174, didMean: 17.4},
		{name: "a tank without its losses", path: "warming", body: tanked("loss_w_per_k", nil), pointer: "/tank/loss_w_per_k", says: "loss_w_per_k, surface"},
		{name: "a tank without surface", path: "warming", body: tanked("loss_w_per_k", nil, "surface", M{"area_m2": 0, "insulation_mm": 50}),
			pointer: "/tank/surface/area_m2", says: "to 1000 m2", sent: 0},
		{name: "a wall allowance beyond reason", path: "warming", body: tanked("wall_allowance_k", 80), pointer: "/tank/wall_allowance_k", says: "from 0 to 60 K", sent: 80},
		{name: "honey that boils at the wall", path: "warming", body: with(good, "tank", with(tank, "wall_allowance_k", 60)), pointer: "/tank/wall_allowance_k",
			says: "would reach 100.1 °C. Above 100 °C", sent: 60},
		{name: "HMF of the honey below nothing", path: "warming", body: with(good, "honey", M{"hmf_mg_per_kg": -1}), pointer: "/honey/hmf_mg_per_kg", says: "from 0 to 20000", sent: -1},
		{name: "a log too short for losses", path: "loss-coefficient", body: with(loss, "log", M{"points": []M{point(at(21, "8:00"), 45), point(at(21, "8:20"), 44)}}),
			pointer: "/log", says: "at least three readings over an hour"},
		{name: "a tank as warm as its room", path: "loss-coefficient", body: with(loss, "ambient_c", 44), pointer: "/log", says: "at least 2 K"},
		{name: "a cooling tank of no mass", path: "loss-coefficient", body: with(loss, "mass_kg", 0), pointer: "/mass_kg", says: "from 0.1 kg to 100000 kg", sent: 0},
	}
}

func TestWhatIsOnlyOddIsAnsweredAndFlagged(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	hot := point(at(21, "8:00"), 75)
	for _, odd := range []struct {
		name, path string
		body       M
		flag       string
	}{
		{name: "a gap of two days filled", path: "heat-exposure", flag: "gap",
			body: exposed(M{"points": []M{point(at(21, "8:00"), 24), point(at(23, "8:00"), 30)}, "usual_temperature_c": 20})},
		{name: "the same point twice", path: "heat-exposure", flag: "doubled-point",
			body: exposed(M{"points": []M{point(at(21, "8:00"), 24), point(at(21, "8:00"), 24), point(at(21, "9:00"), 24)}})},
		{name: "a log that reads like Fahrenheit", path: "heat-exposure", flag: "looks-like-fahrenheit",
			body: exposed(M{"points": []M{hot, point(at(21, "21:00"), 76)}})},
		{name: "a logger that lost its sensor for an hour", path: "heat-exposure", flag: "skipped-rows",
			body: exposed(M{"csv": M{"text": "time,temp C\n2026-08-21T08:00:00Z,24\n2026-08-21T09:00:00Z,--\n2026-08-21T10:00:00Z,25\n"}})},
		{name: "a freezer", path: "hours-until-hmf?hmf_mg_per_kg=4&temperature_c=-18", flag: "outside-measured-range"},
		{name: "a limit passed already", path: "hours-until-hmf?hmf_mg_per_kg=44&temperature_c=40", flag: "limit-passed"},
		{name: "honey as wet as syrup", path: "refractive-index?moisture_pct=24", flag: "unusual-moisture"},
		{name: "molten wax", path: "settling?particle=wax&diameter_mm=0.3&depth_m=1&moisture_pct=17&temperature_c=65", flag: "wax-is-molten"},
		{name: "water that yeast can use", path: "water-activity?moisture_pct=20.5", flag: "yeast-may-grow"},
		{name: "a heater that is too small", path: "warming", flag: "control-point-not-reached",
			body: M{"tank": M{"mass_kg": 290, "moisture_pct": 17, "loss_w_per_k": 17}, "start_temperature_c": 15,
				"stages": []M{{"hours": 72, "heater_w": 300, "control_c": 50, "ambient_c": 15}}}},
		{name: "laboratory results an hour apart", path: "laboratory-results", flag: "nothing-learnt",
			body: M{"results": []M{{"at": at(21, "8:00"), "hmf_mg_per_kg": 5}, {"at": at(21, "9:00"), "hmf_mg_per_kg": 5}},
				"history": M{"points": []M{point(at(21, "8:00"), 24), point(at(21, "9:00"), 24)}}}},
	} {
		t.Run(odd.name, func(t *testing.T) {
			method, body := http.MethodGet, []byte(nil)
			if odd.body != nil {
				method = http.MethodPost
				body, _ = json.Marshal(odd.body)
			}
			r := o.send(t, method, "/v1/calculators/"+odd.path, o.reader, body)
			if r.status != http.StatusOK {
				t.Fatalf("%d %s", r.status, r.raw)
			}
			got := as[struct{ Flags []flag }](t, r)
			if len(got.Flags) != 1 || got.Flags[0].Code != odd.flag || !strings.HasSuffix(got.Flags[0].Sentence, ".") {
				t.Errorf("want %s alone: %s", odd.flag, r.raw)
			}
		})
	}
}
