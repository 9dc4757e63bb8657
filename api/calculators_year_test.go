package api_test

import (
	"encoding/json"
	"net/http"
	"testing"
	"time"
)

// A reading every ten minutes for a year, as JSON, is within what a request may
// hold.
func TestAYearOfReadingsFitsInARequest(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	const readings = 52_560
	points := make([]M, readings)
	begin := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range points {
		points[i] = M{"at": begin.Add(time.Duration(i) * 10 * time.Minute).Format(time.RFC3339), "temperature_c": 14 + float64(i%144)/24}
	}
	body, err := json.Marshal(exposed(M{"points": points}))
	if err != nil {
		t.Fatal(err)
	}
	r := o.send(t, http.MethodPost, "/v1/calculators/heat-exposure", o.reader, body)
	if r.status != http.StatusOK {
		t.Fatalf("%d bytes: %d %.300s", len(body), r.status, r.raw)
	}
	if hours := as[struct{ Hours float64 }](t, r).Hours; hours < 8759 || hours > 8760 {
		t.Errorf("the year has %v hours", hours)
	}
}
