package api_test

import (
	"reflect"
	"testing"
)

// A laboratory's certificate says more than its figures: the book gives all of it back as
// it came, and takes the laboratory's uncertainty instead of a hand-held instrument's.
func TestALaboratorysResultKeepsWhatItsCertificateSays(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	sent := M{"id": id(), "occurred_at": at(21, "16:00"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Fern Valley",
		"certificate_number": "26-1207", "accreditation": "ISO/IEC 17025, no. 4411", "analysed_on": "2026-08-20",
		"moisture_pct": 17.1, "moisture_std_uncertainty_pct": 0.05,
		"measured": []M{{"quantity": "hmf_mg_per_kg", "value": 3.1, "method": "HPLC", "std_uncertainty": 0, "limit_of_quantification": 0.8}}}
	s.book(t, "readings", sent)
	var got M
	for _, e := range read[[]M](t, s.outfit, "readings") {
		if e["id"] == sent["id"] {
			got = e
		}
	}
	for _, field := range []string{"laboratory", "certificate_number", "accreditation", "analysed_on", "moisture_std_uncertainty_pct"} {
		if !reflect.DeepEqual(got[field], sent[field]) {
			t.Errorf("%s came back as %v, want %v", field, got[field], sent[field])
		}
	}
	if m, ok := got["moisture_at_20c"].(map[string]any); !ok || m["std_uncertainty_pct"] != 0.05 {
		t.Errorf("the moisture is %v, want the laboratory's own uncertainty of 0.05", got["moisture_at_20c"])
	}
	figures, ok := got["measured"].([]any)
	if !ok || len(figures) != 1 {
		t.Fatalf("measured came back as %v", got["measured"])
	}
	hmf := figures[0].(map[string]any)
	if hmf["std_uncertainty"] != 0.0 || hmf["limit_of_quantification"] != 0.8 {
		t.Errorf("HMF came back as %v: an uncertainty of zero is zero", hmf)
	}
	for _, r := range s.rows(t, "readings.csv") {
		if r["id"] != sent["id"] {
			continue
		}
		for column, want := range map[string]string{
			"certificate_number": "26-1207", "accreditation": "ISO/IEC 17025, no. 4411", "analysed_on": "2026-08-20", "moisture_std_uncertainty_pct": "0.05",
			"std_uncertainties": "hmf_mg_per_kg 0", "limits_of_quantification": "hmf_mg_per_kg 0.8",
		} {
			if r[column] != want {
				t.Errorf("the feed says %s %q, want %q", column, r[column], want)
			}
		}
	}
}
