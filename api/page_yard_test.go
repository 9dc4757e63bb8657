package api_test

import (
	"net/http"
	"testing"
	"time"

	"pullbook/api/apitest"
	"pullbook/domain/ledger"
)

// A yard with one pull in one season has its picture, beside all yards together.
func TestAYardWithOnePullHasItsPictures(t *testing.T) {
	t.Parallel()
	y := newYearBook(in2025, in2026)
	y.read(y.run("2026-08-01", 250_000), 17.4)
	y.put(time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC), &ledger.HiveCount{YardID: y.yard.ID, Name: "main flow", Hives: 10})
	y.limit("Southgate", "18.6")
	h := y.open(t, apitest.MetricOutfit)
	path := "/yards/" + y.yard.ID.String()
	_, body := h.Get(t, path)
	wants(t, "the yard", body, path+"/seasons.svg", path+"/pulls.svg", "The upright marks are all yards together.", ">250.0<", ">25.0<", "main flow, 1 Jun 2026", "The dashed line is the limit of 18.6 % (Southgate).")
	lacks(t, "the yard", body, "Hives were not counted")
	drawn(t, h, path+"/seasons.svg", "2026", "kg per super", "kg per hive")
	drawn(t, h, path+"/pulls.svg", "1 Aug", "moisture, %")
	if response, _ := h.Get(t, "/yards/"+y.tank.ID.String()+"/pulls.svg"); response.StatusCode != http.StatusNotFound {
		t.Errorf("the pulls of a tank answered %s", response.Status)
	}
}

// Of a pull that was not extracted, on a yard whose hives nobody counted, there is nothing to
// draw, and the page says why.
func TestAYardWithoutHoneySaysWhatItLacks(t *testing.T) {
	t.Parallel()
	y := newYearBook(in2025, in2026)
	y.pull(time.Date(2026, 8, 1, 18, 0, 0, 0, time.UTC))
	h := y.open(t, apitest.MetricOutfit)
	path := "/yards/" + y.yard.ID.String()
	_, body := h.Get(t, path)
	wants(t, "the yard", body, "No moisture was read.", "Hives were not counted in 2026, so there is no honey per hive.", "1 Aug 2026", "None of its supers went into a run yet.", "No lot holds any yet.")
	lacks(t, "the yard", body, "/seasons.svg", "/pulls.svg", "The upright marks", "The dashed line")
	drawn(t, h, path+"/seasons.svg") // with nothing on it
	drawn(t, h, path+"/pulls.svg")
}

// What is folded away is on the page all the same, with a short way to it.
func TestWhatIsFoldedOnAYardsPageIsThere(t *testing.T) {
	t.Parallel()
	entries, _, yard, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/yards/"+yard.ID.String())
	for _, at := range []string{"seasons", "lots", "pulls", "runs"} {
		wants(t, "the yard", body, `href="#`+at+`"`, `id="`+at+`"`)
	}
	// Of each drum of 290 kg 232 are of it as far as the book knows.
	wants(t, "the yard", body, "The pulls in figures (1)", "The runs in figures (1)", "The lots in figures (1)", "honey of it in lots", "26-001", "first")
}
