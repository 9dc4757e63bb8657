package importing_test

import (
	"maps"
	"reflect"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// What was typed stays with the entry wherever reading it took more than its digits.
func TestWhatWasTypedStaysWithTheEntry(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		kind  importing.Kind
		text  string
		typed map[string]string
	}{
		{importing.Pulls, "Date,Yard,Supers,Kind,Hives,Gross kg\n2026-07-06,Mill,12 boxes,deep,4 hives,360\n", map[string]string{"supers": "12 boxes", "hives_worked": "4 hives"}},
		{importing.Pulls, "Date,Yard,Deep,Shallow\n2026-07-06,Mill,12 deeps,3\n", map[string]string{"supers deep": "12 deeps"}},
		{importing.Pulls, "Date,Yard,Supers,Kind,Gross\n2026-07-06,Mill,12,deep,360½ kg\n", map[string]string{"gross_kg": "360½ kg"}},
		{importing.Pulls, "Date,Yard,Supers,Kind,Gross lb\n2026-07-06,Mill,12,deep,800½\n", map[string]string{"gross_kg": "800½ lb"}},
		{importing.Pulls, "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,12,deep,360.5\n", nil},
		{importing.Readings, "Date,Tank,Moisture,Sample temp F\n2026-07-06,sump,17½ %,68\n", map[string]string{"moisture_pct": "17½ %", "sample_temperature_c": "68 F"}},
		{importing.Readings, "Date;Tank;HMF;Method\n2026-07-06;sump;<3,5 mg/kg;HPLC\n", map[string]string{"hmf_mg_per_kg": "<3,5 mg/kg"}},
		{importing.Yards, "Yard,Lat,Long\nAlder Bend,49.5 N,97.25° W\n", map[string]string{"latitude_deg": "49.5 N", "longitude_deg": "97.25° W"}},
		{importing.Runs, "Date,Run,Frames,Honey lb,Tank\n2026-07-06,first,29 a side,900,sump\n", map[string]string{"frames_per_side": "29 a side"}},
	} {
		h := newHouse()
		had := len(h.Entries)
		h.bring(t, row.kind, row.text)
		if len(h.Entries) == had {
			t.Fatalf("%s brings nothing", row.text)
		}
		if got := h.Entries[had].AsEntered; !maps.Equal(got, row.typed) {
			t.Errorf("%s: typed was %q", row.text, got)
		}
	}
}

func TestALetterSaysOnWhichSideOfTheEquatorAYardIs(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Yards, "Apiary,Lat,Long\nAlder Bend,\"33,45° S\",70.5 W\nBirch Rise,49.5 N,12.25 E\nCedar Flat,-34.5,58.25 O\n")
	var got []float64
	for _, y := range bodies[ledger.Yard](h) {
		got = append(got, *y.Latitude, *y.Longitude)
	}
	if want := []float64{-33.45, -70.5, 49.5, 12.25, -34.5, -58.25}; !reflect.DeepEqual(got, want) {
		t.Errorf("%v", got)
	}
	text := "Apiary,Lat,Long\nAlder Bend,-33.45 S,70.5\n"
	r := h.check(t, text, h.guess(t, importing.Yards, text))
	if got := problems(r); !reflect.DeepEqual(got, []string{"2B text_behind_figure"}) {
		t.Errorf("a latitude that is south twice: %v", got)
	}
}
