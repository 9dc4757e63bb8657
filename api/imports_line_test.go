package api_test

import (
	"bytes"
	"net/http"
	"testing"
	"time"

	"pullbook/api/request"
)

// waits asks how far the sheet is, until so many others come before it.
func (d *departure) waits(t *testing.T, before int) {
	t.Helper()
	var last string
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		r := d.o.send(t, http.MethodGet, "/v1/imports/"+d.id, d.o.manager, nil)
		if r.status == http.StatusNotFound {
			continue
		}
		p := as[struct {
			State    string
			WaitsFor int `json:"waits_for"`
		}](t, r)
		if p.State == "waiting" && p.WaitsFor == before {
			return
		}
		last = string(r.raw)
	}
	t.Fatalf("the sheet does not wait for %d others: %s", before, last)
}

// Where the memory has room for one sheet, three that come at once are read one after the
// other. Those that wait are told how many come before them.
func TestSheetsWaitForTheMemoryAndAreToldForHowMany(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	h.serve(t, func(c *request.Config) { c.Memory = 500_000_000 })
	first, second, third := h.newOutfit(t, "Fern Gully Honey"), h.newOutfit(t, "Sedge Hollow Honey"), h.newOutfit(t, "Tamarack Honey")
	free := first.holdBook(t)
	one := first.comes(t, true, lots(10))
	one.progress(t, func(state string, rows int64) bool { return state == "reading" && rows == 10 })
	two := second.comes(t, true, lots(20))
	two.waits(t, 1)
	three := third.comes(t, true, lots(30))
	three.waits(t, 2)
	two.leave() // who leaves holds up nobody
	<-two.gone
	three.waits(t, 1)
	free()
	for _, d := range []*departure{one, three} {
		<-d.gone
		d.progress(t, func(state string, _ int64) bool { return state == "stored" })
	}
	two.progress(t, func(state string, rows int64) bool { return state == "done" && rows == 0 })
}

// A sheet that waited in vain is sent away, and told when to come again.
func TestASheetThatWaitedInVainIsToldWhenToComeAgain(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	h.serve(t, func(c *request.Config) { c.Memory, c.ImportWait = 1, 50*time.Millisecond })
	first, second := h.newOutfit(t, "Fern Gully Honey"), h.newOutfit(t, "Sedge Hollow Honey")
	free := first.holdBook(t)
	defer free()
	one := first.comes(t, true, lots(10))
	one.progress(t, func(_ string, rows int64) bool { return rows == 10 })
	r := second.bringIn(t, second.manager, "lots", "false", lots(10), withSeasons)
	if r.status != http.StatusServiceUnavailable || r.header.Get("Retry-After") != "60" || !bytes.Contains(r.raw, []byte("waited in vain")) {
		t.Errorf("%d, Retry-After %q: %s", r.status, r.header.Get("Retry-After"), r.raw)
	}
	one.leave()
	<-one.gone
}
