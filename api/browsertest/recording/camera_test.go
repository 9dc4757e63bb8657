package recording_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"testing"

	"rsc.io/qr"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// libraryIsHere says of a page whether it loaded the library that reads codes.
const libraryIsHere = `performance.getEntriesByType('resource').some(e => e.name.includes('/assets/qr-decode.'))`

// A browser that does not read codes itself reads them by the library that is served with the
// page and kept on the device: the camera is Chromium's own false one, which shows a film.
func TestTheCameraReadsCodesWhereTheBrowserCannot(t *testing.T) {
	t.Parallel()
	h := apitest.NewShed()
	house := h.Open(t, "metric")
	camera := browsertest.NewCamera(t)
	house.SignIn(t)
	camera.Show(browsertest.LabelCode(t, house, fmt.Sprintf("/lots/%s/labels?first=D-009&last=D-009", h.Lot)))

	d := browsertest.Start(t, camera.Flags()...).WithAWorker().Device(t, "en-CA")
	line := house.Line(t)
	d.SignInAs(line, house, "Tamsin", house.Password)
	d.KnowsTheShed()
	d.WorkerStands()
	if browsertest.Evaluated[bool](d, `'BarcodeDetector' in self`) {
		t.Fatal("this browser reads codes itself: it says nothing of the library")
	}

	// A label's code, without network from the beginning.
	d.NoNetwork(line, true)
	d.RecordOffline(line)
	d.Tile("transfer")
	if browsertest.Evaluated[bool](d, libraryIsHere) {
		t.Error("the library is loaded before anybody opens the camera")
	}
	d.Until(`document.getElementById('camera-button')?.checkVisibility()`) // the device says first that it has one
	d.Touch("#camera-button")
	d.Until(`document.getElementById('in-container')?.value === 'D-009' && !document.getElementById('camera').open`)
	if !browsertest.Evaluated[bool](d, libraryIsHere) {
		t.Error("something else than the library read the code")
	}
	d.Choose("to", "tank 2")
	d.Saved()
	d.NoNetwork(line, false)
	d.InBook()
	if from := house.One(t, "movements")["from"].(apitest.M); from["kind"] != "container" || from["id"] != h.Fill.String() {
		t.Errorf("the book has honey from %v", from)
	}

	// Another's code.
	other, err := qr.Encode("K-4711", qr.M)
	if err != nil {
		t.Fatal(err)
	}
	drawn, err := png.Decode(bytes.NewReader(other.PNG()))
	if err != nil {
		t.Fatal(err)
	}
	camera.Show(drawn)
	d.Tile("reading")
	d.Touch("#camera-button")
	d.Until(`document.getElementById('scanned').innerText === 'No container K-4711 is here by the book.'`)
	d.Touch("#form .back")

	// No code: the camera looks on until somebody closes it, and nothing is said.
	camera.Show(image.NewUniform(color.Gray{Y: 120}))
	d.Tile("reading")
	d.Touch("#camera-button")
	d.Until(`document.querySelector('#camera video').currentTime > 2`)
	d.Look("camera", browsertest.Size{Name: "phone", Width: 320, Height: 640}, browsertest.Size{Name: "desk", Width: 1280, Height: 800})
	if said := d.Text("#scanned"); said != "" || !browsertest.Evaluated[bool](d, `document.getElementById('camera').open`) {
		t.Errorf("of a picture without a code the page says %q", said)
	}
	browsertest.Evaluated[bool](d, `(self.looked = document.querySelector('#camera video').srcObject, true)`)
	d.Touch("#camera button")
	d.Until(`looked.getTracks().length === 1 && looked.getTracks()[0].readyState === 'ended' && !document.getElementById('camera').open`)
	if said := d.Text("#scanned"); said != "" {
		t.Errorf("after the camera was closed the page says %q", said)
	}
}
