package recording_test

import (
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// TestCrewDoTheStepsOfAPlanWithoutNetwork: Tam does what a plan asks for as it happens: the heater is set and the honey's
// temperature noted, supers are pulled in two goes, and a yard's hives are gone. The book gets a log, two pulls and
// a count, and one step that is still to come waits.
func TestCrewDoTheStepsOfAPlanWithoutNetwork(t *testing.T) {
	t.Parallel()
	s := apitest.NewShed()
	plan := s.AdoptPlan()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := browsertest.Start(t).WithAWorker().Device(t, "en-CA")
	d.SignInAs(l, h, "Tam", h.CrewMember(t, "Tam"))
	d.Until(`document.getElementById('tile-step').innerText === 'clear the large tank'`)
	d.WorkerStands()
	d.NoNetwork(l, true)

	d.Tile("step")
	if got := d.Text("#form-note"); got != "stir it now and then" {
		t.Errorf("the manager's note is shown as %q", got)
	}
	d.Choose("step", "Set the heater of large tank to 45.0\u00a0°C")
	d.Look("doing-a-step", phones...)
	d.Retype("value", "31.5")
	d.Save()
	d.Waits(1)
	d.Choose("step", "Pull 12 supers at Alder Bend")
	d.Retype("n-"+s.Deep.String(), "7")
	d.Save()
	d.Waits(2)
	d.Choose("step", "Pull 5 supers at Alder Bend")
	d.Retype("n-"+s.Deep.String(), "5")
	d.Save()
	d.Waits(3)
	d.Choose("step", "Move the hives of Mill Race")
	d.Until(`document.getElementById('in-hives').value === '0'`)
	d.Save()
	d.Waits(4)
	// The heater is off in ten days: that step stays.
	d.Until(`document.getElementById('asks').innerText.includes('Switch off the heater of large tank')`)

	d.NoNetwork(l, false)
	d.Waits(0)
	d.InBook()
	if logs, pulls, counts := len(h.Booked(t, "temperature-logs")), h.Booked(t, "pulls"), h.Booked(t, "hive-counts"); logs != 1 || len(counts) != 1 || counts[0]["hives"] != 0.0 || pulls[len(pulls)-1]["recorded_by"] != "Tam" {
		t.Errorf("%d logs, %v, %v", logs, pulls[len(pulls)-1], counts)
	}
	h.SignIn(t)
	response, page := h.Get(t, "/plans/adopted/"+plan.String())
	if response.StatusCode != 200 || !strings.Contains(page, "1 step left") || !strings.Contains(page, "done: 12") {
		t.Errorf("%s: the plan is not done but for its last step", response.Status)
	}
}
