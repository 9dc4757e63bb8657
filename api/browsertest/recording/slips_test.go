package recording_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// TestTheCrewPutTheirOwnSlipsRight: Tam, of the crew, reads wrong and fills wrong, without
// network and with it, and puts it right from the list of today.
func TestTheCrewPutTheirOwnSlipsRight(t *testing.T) {
	t.Parallel()
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := browsertest.Start(t).WithAWorker().Device(t, "en-CA")
	d.SignInAs(l, h, "Tam", h.CrewMember(t, "Tam"))
	d.KnowsTheShed()
	d.WorkerStands()
	d.NoNetwork(l, true)
	today := func() string { return strings.ReplaceAll(d.Text("#today-list"), "\u00a0", " ") }

	// A figure that was typed wrong: put right is the same screen, with what it said.
	d.Tile("reading")
	d.Choose("on", "tank 2")
	d.Key("129")
	d.Saved()
	d.Touch("#today-list li:first-child .choices button")
	d.Look("put-right", browsertest.Size{Name: "phone", Width: 320, Height: 640}, browsertest.Size{Name: "phone", Width: 390, Height: 780})
	d.Touch("#today-list li:first-child a.go")
	d.Until(`!document.getElementById('form').hidden && document.getElementById('in-shown')?.value === '12.9'`)
	if got := d.Text("#righting"); !strings.Contains(got, "puts right what stands on the device as: Moisture: tank 2, blue refractometer, 12.9") {
		t.Errorf("the page says %q", got)
	}
	d.Look("putting-right", browsertest.Size{Name: "phone", Width: 320, Height: 640}, browsertest.Size{Name: "phone", Width: 390, Height: 780})
	d.Aim("shown")
	d.Key("192")
	d.Saved()

	// A transfer that never was: the reason is one touch, and the tank has its honey again.
	d.Tile("transfer")
	d.Choose("from", "large tank")
	d.Choose("to", "tank 2")
	d.Key("200")
	d.Saved()
	d.Touches = 0
	d.Touch("#today-list li:first-child .choices button")
	d.Touch("#today-list li:first-child .danger")
	if d.Touches != 2 {
		t.Errorf("taking back takes %d touches", d.Touches)
	}
	d.Until(`document.getElementById('today-list').innerText.includes('Taken back: Transfer')`)
	browsertest.Evaluated[bool](d, `(scrollTo(0, 0), true)`) // up to the tiles again
	d.Tile("transfer")
	if got := strings.ReplaceAll(d.Text("[data-field=from]"), "\u00a0", " "); !strings.Contains(got, "2,000 kg") {
		t.Errorf("after the transfer was taken back the large tank is shown as %q", got)
	}
	d.Touch("#form .back")
	d.Until(`!document.getElementById('home').hidden`)
	d.Waits(4)

	d.NoNetwork(l, false)
	d.Waits(0)
	var all []apitest.M
	var kinds []string
	for _, e := range h.Ask(t, "entries?limit=1000") {
		if e["recorded_by"] == "Tam" {
			all, kinds = append(all, e), append(kinds, e["kind"].(string))
		}
	}
	if got := strings.Join(kinds, " "); got != "reading reading movement withdrawal" {
		t.Fatalf("the book has %s", got)
	}
	if r := all[1]; r["replaces"] != all[0]["id"] || r["reason"] != "typed wrong" || r["occurred_at"] != all[0]["occurred_at"] {
		t.Errorf("the correction is %v", r)
	}
	if r := h.One(t, "readings"); r["moisture_pct"] != 19.2 {
		t.Errorf("the reading that stands is %v", r)
	}
	if w := all[3]; w["replaces"] != all[2]["id"] || w["reason"] != "typed wrong" {
		t.Errorf("the withdrawal is %v", w)
	}
	if got := today(); !strings.Contains(got, "Put right since") || !strings.Contains(got, "Taken back since") {
		t.Errorf("the list of today reads %q", got)
	}

	browsertest.Evaluated[bool](d, `(scrollTo(0, 0), true)`)
	// A drum, whose lot is released meanwhile, stays: the page says whom to ask.
	d.Tile("fill")
	d.Aim("gross")
	d.Key("308")
	d.Save()
	d.InBook()
	d.Touch("#form .back")
	d.Until(`!document.getElementById('home').hidden`)
	release := &ledger.LotStatus{LotID: s.Lot, Status: ledger.StatusReleased, Override: true, Note: "sold as it is"}
	h.RecordMore(t, &ledger.Entry{ID: uuid.New(), Kind: release.Kind(), OccurredAt: time.Now().Truncate(time.Second), Body: release})
	d.Touch("#today-list li:first-child .choices button")
	d.Touch("#today-list li:first-child .danger")
	d.Until(`document.querySelectorAll('#refused-list li').length === 1`)
	if got := d.Text("#refused-list"); !strings.Contains(got, "Lot L26-014 was released since") || !strings.Contains(got, "Ask a manager") {
		t.Errorf("the page says %q", got)
	}
	h.One(t, "fills")
}
