package api_test

import (
	"testing"
)

// TestRecordingInABrowser uses each recording screen as a person would.
func TestRecordingInABrowser(t *testing.T) {
	t.Parallel()
	b := startBrowser(t)
	t.Run("a reading", func(t *testing.T) {
		s := newShedNow()
		h := s.open(t, "metric")
		l := h.line(t)
		d := b.device(t, "en-CA")
		d.signInAs(l, h, "Tamsin", h.password)
		d.record(l)
		d.look("home", sizes...)
		d.touches = 0
		d.tile("reading")
		d.look("reading", sizes...)
		t.Log(d.text("#opinion"))
		d.key("191")
		t.Log(d.text("#opinion"), d.text("#save"))
		d.look("reading-odd", sizes...)
		d.saved()
		d.waits(0)
		t.Log(d.touches, d.text("#home-result"))
		d.look("home-after", sizes...)
	})
}
