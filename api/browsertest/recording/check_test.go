package recording_test

import (
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// TestAnInstrumentIsCheckedBeforeItIsReadFromWhereThatIsDue: a refractometer that has to be
// checked each week was last checked in July. The check waits without network, and the
// device knows of it.
func TestAnInstrumentIsCheckedBeforeItIsReadFromWhereThatIsDue(t *testing.T) {
	t.Parallel()
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	red := apitest.EntryAt(0, &ledger.Instrument{Name: "red refractometer", Scale: ledger.ScaleMoisture, Compensates: true, StdUncertainty: new(0.1), CheckEveryDays: 7})
	h.RecordMore(t, red)
	l := h.Line(t)
	d := browsertest.Start(t).WithAWorker().Device(t, "en-CA")
	d.SignInAs(l, h, "Tamsin", h.Password)
	d.KnowsTheShed()
	d.Until(`document.getElementById('tile-check').innerText === 'due: red refractometer'`)
	d.WorkerStands()
	d.NoNetwork(l, true)
	d.Tile("reading")
	d.Choose("on", "tank 2")
	d.Choose("instrument", "red refractometer")
	d.Until(`document.getElementById('form-ask').innerText.includes('red refractometer is due for its first check.')`)
	d.Look("reading-check-due", browsertest.Size{Name: "phone", Width: 320, Height: 640}, browsertest.Size{Name: "phone", Width: 390, Height: 780})
	d.Touch("#form-ask a")
	d.Until(`document.getElementById('form').dataset.kind === 'check' && document.getElementById('in-found') !== null`)
	d.Retype("reference", "test liquid")
	d.Aim("expected")
	d.Key("17.5")
	d.Aim("found")
	d.Key("181")
	d.Aim("tolerance")
	d.Key("0.2")
	if got := d.Text("#opinion"); !strings.Contains(got, "red refractometer is still off by 0.6, more than 0.2") {
		t.Errorf("before saving the page says %q", got)
	}
	d.Aim("left")
	d.Key("17.5")
	if got := d.Text("#opinion"); !strings.Contains(got, "red refractometer was off by 0.6, more than 0.2: what was read with it since the last check is in doubt") {
		t.Errorf("adjusted, the page says %q", got)
	}
	d.Look("check", browsertest.Size{Name: "phone", Width: 320, Height: 640}, browsertest.Size{Name: "phone", Width: 390, Height: 780})
	d.Saved()
	d.Until(`document.getElementById('tile-check').innerText === 'against what it should show'`)
	d.Tile("reading")
	if got := d.Text("#form-ask"); got != "" {
		t.Errorf("once it was checked the page still says %q", got)
	}
	d.Touch("#form .back")
	d.NoNetwork(l, false)
	d.Waits(0)
	if c := h.One(t, "calibrations"); c["instrument_id"] != red.ID.String() || c["as_found"] != 18.1 || c["as_left"] != 17.5 || c["tolerance"] != 0.2 {
		t.Errorf("the book has %v", c)
	}
}
