package recording_test

import (
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// TestCrewPourABlendWithoutNetwork: Tam pours two drums and some of a tank that a manager prepared, by code and by
// touch. The book gets a movement of each, and nothing of the blend waits any more.
func TestCrewPourABlendWithoutNetwork(t *testing.T) {
	t.Parallel()
	s := apitest.NewShed()
	blend, second := s.PrepareBlend()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := browsertest.Start(t).WithAWorker().Device(t, "en-CA")
	d.SignInAs(l, h, "Tam", h.CrewMember(t, "Tam"))
	d.Until(`document.getElementById('tile-blend').innerText === 'to pour: two drums for the bakery'`)
	d.WorkerStands()
	d.NoNetwork(l, true)

	d.Tile("blend")
	if got := d.Text("#form-note"); got != "stir it well" {
		t.Errorf("the manager's note is shown as %q", got)
	}
	says := func(where, want string) {
		t.Helper()
		d.Until(`document.getElementById('` + where + `').innerText.includes(` + browsertest.Quoted(want) + `)`)
	}
	says("opinion", "0 of 3 are poured.")
	d.Scan("D-010")
	d.Look("pouring", phones...)
	d.Save()
	d.Waits(1)
	says("opinion", "1 of 3 are poured.")
	d.Choose("take", "D-009")
	d.Save()
	d.Waits(2)
	// What is left of it is taken on by itself, with the mass that was planned.
	says("opinion", "2 of 3 are poured.")
	d.Until(`document.getElementById('in-mass').value === '100.0'`)
	d.Save()
	d.Waits(3)
	says("lacks", "No blend waits to be poured")
	d.Touch("#form .back")
	d.Until(`document.getElementById('tile-blend').closest('li').hidden`)

	d.NoNetwork(l, false)
	d.Waits(0)
	d.InBook()
	var moved []string
	for _, m := range h.Booked(t, "movements") {
		from := m["from"].(map[string]any)
		if m["recorded_by"] == "Tam" && m["to"].(map[string]any)["id"] == s.Two.String() {
			moved = append(moved, from["id"].(string))
		}
	}
	if want := strings.Join([]string{second.String(), s.Fill.String(), s.Large.String()}, " "); strings.Join(moved, " ") != want {
		t.Errorf("poured %v, want %s", moved, want)
	}
	h.SignIn(t)
	response, page := h.Get(t, "/plans/blend/prepared/"+blend.String())
	if response.StatusCode != 200 || !strings.Contains(page, "0 left to pour") {
		t.Errorf("%s: something is left of the blend", response.Status)
	}
}
