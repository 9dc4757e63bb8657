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

var phones = []browsertest.Size{{Name: "phone", Width: 320, Height: 640}, {Name: "phone", Width: 390, Height: 780}}

// atTheTruck gives Tam of the crew a device without network, on which a tile says what a
// manager prepared.
func atTheTruck(t *testing.T, language, tile string) (truck apitest.Truck, h *apitest.House, l *apitest.Line, d *browsertest.Browser) {
	t.Helper()
	s := apitest.NewShed()
	truck = s.Prepare()
	h = s.Open(t, "metric")
	l = h.Line(t)
	d = browsertest.Start(t).WithAWorker().Device(t, language)
	d.SignInAs(l, h, "Tam", h.CrewMember(t, "Tam"))
	d.Until(`document.getElementById('tile-dispatch').innerText === ` + browsertest.Quoted(tile))
	d.WorkerStands()
	d.NoNetwork(l, true)
	return truck, h, l, d
}

// TestCrewLoadATruckWithoutNetwork: Tam loads three of the four drums that a manager
// prepared, by code and by touch, and the book gets just those.
func TestCrewLoadATruckWithoutNetwork(t *testing.T) {
	t.Parallel()
	truck, h, l, d := atTheTruck(t, "en-CA", "to load: Northgate Packing")

	d.Tile("dispatch")
	if got := d.Text("#form-note"); got != "red strap on the left" {
		t.Errorf("the manager's note is shown as %q", got)
	}
	says := func(where, want string) {
		t.Helper()
		d.Until(`document.getElementById('` + where + `').innerText.includes(` + browsertest.Quoted(want) + `)`)
	}
	d.Save()
	says("opinion", "Nothing is loaded yet")
	d.Scan("D-010")
	says("scanned", "D-010 goes on: 1 of 4 loaded.")
	d.Scan("d-010")
	says("scanned", "D-010 is on already: 1 of 4 loaded.")
	d.Scan("D-012")
	says("scanned", "D-012 is not part of this dispatch. Leave it here")
	if !browsertest.Evaluated[bool](d, `(() => { const r = document.getElementById('scanned').getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight })()`) {
		t.Error("that a drum is not part of it is said out of sight")
	}
	d.Choose("loaded", "D-009")
	d.Choose("loaded", "E-001")
	says("opinion", "3 of 4 loaded. Not loaded yet: D-011.")
	d.Look("loading", phones...)
	d.Choose("loaded", "D-009")
	says("opinion", "Not loaded yet: D-009, D-011.")

	// Whoever is called away in between finds what is on the truck as it was.
	d.Touch("#form .back")
	d.Until(`document.getElementById('draft-list').innerText.includes('2 of 4 loaded')`)
	d.RecordOffline(l)
	d.Touch("#drafts .choices a.go")
	d.Until(`!document.getElementById('form').hidden`)
	d.Choose("loaded", "D-009")
	d.Until(`document.getElementById('save').innerText === 'Save: 3 of 4 loaded'`)
	d.Saved()
	d.Waits(1)
	d.Tile("dispatch")
	says("lacks", "No dispatch waits to be loaded")
	d.Touch("#form .back")

	d.NoNetwork(l, false)
	d.Waits(0)
	d.InBook()
	got := h.One(t, "dispatches")
	var sent []string
	for _, id := range got["containers"].([]any) {
		sent = append(sent, id.(string))
	}
	want := strings.Join([]string{truck.Drums[0].String(), truck.Drums[1].String(), truck.Drums[3].String()}, " ")
	if strings.Join(sent, " ") != want || got["prepared_id"] != truck.Plan.String() || got["recorded_by"] != "Tam" || got["reference"] != "WB 1182" {
		t.Errorf("the book has %v", got)
	}
	if got := d.Text("#today-list"); !strings.Contains(got, "Dispatch: Northgate Packing, 3 of 4 loaded.") || strings.Contains(got, "Put right") {
		t.Errorf("the day's list says %q", got)
	}
}

// TestTheDoorTurnsATruckBack: a lot is held while the truck is loaded without network. The
// device says so once the book answers, what was prepared stays, and the rest goes.
func TestTheDoorTurnsATruckBack(t *testing.T) {
	t.Parallel()
	truck, h, l, d := atTheTruck(t, "es-MX", "por cargar: Northgate Packing")
	d.Tile("dispatch")
	d.Choose("loaded", "D-009")
	d.Choose("loaded", "E-001")
	d.Saved()
	h.RecordMore(t, &ledger.Entry{ID: uuid.New(), Kind: ledger.KindLotStatus, OccurredAt: time.Now().UTC().Truncate(time.Second), Body: &ledger.LotStatus{LotID: truck.Other, Status: ledger.StatusHeld, Why: ledger.HeldForRecall, Note: "glass"}})
	d.NoNetwork(l, false)
	d.Until(`document.querySelectorAll('#refused-list li').length === 1`)
	if got := d.Text("#refused-list"); !strings.Contains(got, "El envase E-001 es del lote L26-015, que no puede salir: está retenido") {
		t.Errorf("the device says %q", got)
	}
	d.Look("truck-refused", phones...)
	if got := h.Booked(t, "dispatches"); len(got) != 0 {
		t.Errorf("the book has %v", got)
	}

	d.Until(`document.getElementById('tile-dispatch').innerText === 'por cargar: Northgate Packing'`)
	d.Touch("#refused-list a.go")
	d.Until(`document.getElementById('opinion').innerText.includes('E-001 no puede salir según lo último que dijo el libro')`)
	d.Look("truck-mended", phones...)
	d.Choose("loaded", "E-001")
	d.Saved()
	d.InBook()
	if got := h.One(t, "dispatches"); len(got["containers"].([]any)) != 1 {
		t.Errorf("the book has %v", got)
	}
}
