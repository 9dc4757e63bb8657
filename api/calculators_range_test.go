package api_test

import (
	"encoding/json"
	"testing"
)

// Each answer says what its formulas rest on, and flags what it was asked beyond that.
func TestEachCalculatorSaysWhatItRestsOnAndFlagsWhatLiesBeyond(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	type answer struct {
		ValidFor []struct {
			Of     string
			Covers bool
		} `json:"valid_for"`
		Flags []struct{ Code string }
	}
	for _, test := range []struct {
		path, beyond string
		body         M
		flag         string
	}{
		{"hours-until-hmf?hmf_mg_per_kg=5&temperature_c=5", "temperature", nil, "outside-measured-range"},
		{"hours-until-diastase?diastase_gothe=15&temperature_c=5", "temperature", nil, "outside-measured-range"},
		{"highest-temperature-for-hmf?hours=0.01&hmf_mg_per_kg=5", "temperature", nil, "outside-measured-range"},
		{"highest-temperature-for-diastase?hours=0.01&diastase_gothe=20", "temperature", nil, "outside-measured-range"},
		{"settling?particle=bubble&depth_m=1&diameter_mm=1&moisture_pct=21.3&temperature_c=30", "moisture", nil, "beyond-range"},
		{"settling?particle=bubble&depth_m=1&diameter_mm=5&moisture_pct=18&temperature_c=60", "Reynolds number", nil, "beyond-stokes"},
		{"heat-exposure", "temperature", M{"honey": M{"hmf_mg_per_kg": 5}, "history": M{"points": []M{
			{"at": at(1, "8:00"), "temperature_c": 4}, {"at": at(2, "8:00"), "temperature_c": 4}}}}, "outside-measured-range"},
		{"loss-coefficient", "moisture", M{"mass_kg": 1000, "moisture_pct": 32, "heater_w": 0, "ambient_c": 15, "log": M{"points": []M{
			{"at": at(1, "8:00"), "temperature_c": 45}, {"at": at(1, "14:00"), "temperature_c": 42}, {"at": at(1, "20:00"), "temperature_c": 39.4}}}}, "beyond-range"},
		{"warming", "moisture", M{"start_temperature_c": 15, "tank": M{"mass_kg": 1000, "moisture_pct": 32, "loss_w_per_k": 8}, "honey": M{"hmf_mg_per_kg": 5},
			"stages": []M{{"hours": 10, "heater_w": 3000, "control_c": 40, "ambient_c": 15}}}, "beyond-range"},
	} {
		method := "GET"
		var body []byte
		if test.body != nil {
			var err error
			if body, err = json.Marshal(test.body); err != nil {
				t.Fatal(err)
			}
			method = "POST"
		}
		r := o.send(t, method, "/v1/calculators/"+test.path, o.reader, body)
		if r.status != 200 {
			t.Errorf("%s: %d %s", test.path, r.status, r.raw)
			continue
		}
		got := as[answer](t, r)
		outside, flagged := false, false
		for _, v := range got.ValidFor {
			outside = outside || v.Of == test.beyond && !v.Covers
		}
		for _, f := range got.Flags {
			flagged = flagged || f.Code == test.flag
		}
		if !outside || !flagged {
			t.Errorf("%s rests on %v and flags %v; want %s outside and the flag %s", test.path, got.ValidFor, got.Flags, test.beyond, test.flag)
		}
	}
}
