package recording_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// TestCodesAreReadWhereDrumsAreFilledMovedAndLookedAt: a scanner that types, wherever the
// focus is, and the camera where the browser reads codes itself (here another reads in its
// place, since no browser for tests can).
func TestCodesAreReadWhereDrumsAreFilledMovedAndLookedAt(t *testing.T) {
	t.Parallel()
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	d := browsertest.Start(t, chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true)).WithAWorker().Device(t, "en-CA")
	d.SignInAs(h.Line(t), h, "Tamsin", h.Password)
	d.KnowsTheShed()
	// A label's code, as the labels of the lot have it.
	label := fmt.Sprintf("https://honey.example/lots/%s?c=D-009#c%s", s.Lot, s.Fill.String()[:8])

	// The focus is on the gross: what the scanner types there is taken out again.
	d.Tile("fill")
	d.Key("30")
	d.Scan("DRUM-0077")
	d.Until(`document.getElementById('in-container').value === 'DRUM-0077'`)
	if got := browsertest.Evaluated[string](d, `document.getElementById('in-gross').value`); got != "30" {
		t.Errorf("after the code was read the gross is %q", got)
	}
	d.Aim("gross")
	d.Key("308")
	d.Look("fill-scanned", browsertest.Size{Name: "phone", Width: 320, Height: 640}, browsertest.Size{Name: "phone", Width: 390, Height: 780})
	d.Save()
	d.InBook()
	if f := h.One(t, "fills"); f["container"] != "DRUM-0077" || f["gross_kg"] != 308.0 {
		t.Errorf("the book has %v", f)
	}
	// Who types a number by hand and ends it by Enter means Enter.
	d.Retype("container", "D-0")
	d.Until(`document.getElementById('in-container').value.endsWith('D-0')`)
	d.Touch("#form .back")

	d.Tile("signs")
	d.Scan(label)
	d.Until(`document.querySelector('[name=drum]:checked')?.parentElement.innerText.includes('D-009')`)
	d.Choose("sign", "looked, and nothing of it")
	d.Saved()
	d.InBook()

	d.Tile("reading")
	d.Scan("d-009")
	d.Until(`document.querySelector('[name=on]:checked')?.parentElement.innerText.includes('D-009')`)
	d.Key("174")
	d.Saved()
	d.InBook()
	for _, r := range h.Booked(t, "readings") {
		if on := r["on"].(apitest.M); on["kind"] != "container" || on["id"] != s.Fill.String() {
			t.Errorf("the book has %v", r)
		}
	}

	// By the camera: a drum is emptied into a tank, whole.
	browsertest.Evaluated[bool](d, `(self.BarcodeDetector = class { static async getSupportedFormats() { return ['qr_code'] } async detect() { return [{rawValue: 'D-009'}] } }, true)`)
	d.Tile("transfer")
	d.Scan("D-123")
	d.Until(`document.getElementById('scanned').innerText === 'No container D-123 is here by the book.'`)
	d.Touch("#camera-button")
	d.Until(`document.getElementById('in-container')?.value === 'D-009' && !document.getElementById('camera').open`)
	if browsertest.Evaluated[bool](d, libraryIsHere) {
		t.Error("the library was loaded by a browser that reads codes itself")
	}
	d.Choose("to", "tank 2")
	d.Saved()
	d.InBook()
	m := h.One(t, "movements")
	if from := m["from"].(apitest.M); from["kind"] != "container" || from["id"] != s.Fill.String() || m["to"].(apitest.M)["id"] != s.Two.String() {
		t.Errorf("the book has %v", m)
	}
	if got := d.Text("#home-result"); !strings.Contains(strings.ReplaceAll(got, "\u00a0", " "), "tank 2 600 kg → 890 kg") {
		t.Errorf("after saving the page says %q", got)
	}
}

// Some scales type what they weigh, as fast as a scanner: in a field for figures a figure is
// a weight.
func TestAScaleThatTypesIsNoScanner(t *testing.T) {
	t.Parallel()
	h := apitest.NewShed().Open(t, "metric")
	d := browsertest.Start(t).Device(t, "en-CA")
	d.SignInAs(h.Line(t), h, "Tamsin", h.Password)
	d.KnowsTheShed()
	d.Tile("fill")
	d.Aim("gross")
	d.Do(chromedp.KeyEvent("308.5\r"))
	d.InBook()
	if f := h.One(t, "fills"); f["container"] != "D-010" || f["gross_kg"] != 308.5 {
		t.Errorf("the book has %v", f)
	}
}
