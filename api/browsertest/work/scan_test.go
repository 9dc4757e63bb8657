package work_test

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// TestADrumIsSentOffByItsCode: the code that is printed on the label of D-2 is read by a hand
// scanner, which types it, and the drum leaves.
func TestADrumIsSentOffByItsCode(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	release := &ledger.LotStatus{LotID: h.Lot, Status: ledger.StatusReleased, Override: true, Note: "sold as it is"}
	h.RecordMore(t, &ledger.Entry{ID: uuid.New(), Kind: release.Kind(), OccurredAt: time.Now().Truncate(time.Second), Body: release})
	h.SignIn(t)
	code := labelCode(t, h.House, h.Path()+"/labels?first=D-2&last=D-2")

	d := browsertest.Start(t).Device(t, "en-GB")
	d.Resize(390, 780)
	d.SignIn(h.House)
	d.Open(d.At(h.House) + "/dispatches/new")
	d.Do(chromedp.Focus(chromedp.CSS("#reference")), chromedp.KeyEvent("W-17"))
	time.Sleep(time.Second) // a person goes to fetch the scanner
	d.Scan("D-77")
	d.Until(`document.getElementById('scanned').innerText === 'No released lot has container D-77 here.'`)
	d.Scan(code)
	d.Until(`document.getElementById('scanned').innerText === 'Container D-2 is ticked.'`)
	if got := browsertest.Evaluated[string](d, `document.getElementById('reference').value`); got != "W-17" {
		t.Errorf("after the codes were read the waybill is %q", got)
	}
	d.Look("dispatch-scanned", browsertest.Size{Name: "phone", Width: 320, Height: 640})
	browsertest.Evaluated[bool](d, `(document.querySelector('#buyer').selectedIndex = 1, document.querySelector('#override').checked = true, document.querySelector('#note').value = 'the buyer knows it', document.querySelector('form.entry .main').click(), true)`)
	d.Until(`location.pathname.startsWith('/dispatches') && location.pathname !== '/dispatches/new'`)
	gone := h.Ask(t, "dispatches")
	if len(gone) != 1 || len(gone[0]["containers"].([]any)) != 1 || gone[0]["containers"].([]any)[0] != h.Fills[1].String() || gone[0]["reference"] != "W-17" {
		t.Errorf("the book has %v", gone)
	}
}

// TestADrumIsTickedByTheCamera: the browser reads no codes itself, and the library reads the
// label of D-2.
func TestADrumIsTickedByTheCamera(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	release := &ledger.LotStatus{LotID: h.Lot, Status: ledger.StatusReleased, Override: true, Note: "sold as it is"}
	h.RecordMore(t, &ledger.Entry{ID: uuid.New(), Kind: release.Kind(), OccurredAt: time.Now().Truncate(time.Second), Body: release})
	h.SignIn(t)
	camera := browsertest.NewCamera(t)
	camera.Show(browsertest.LabelCode(t, h.House, h.Path()+"/labels?first=D-2&last=D-2"))

	d := browsertest.Start(t, camera.Flags()...).By(apitest.OverHTTPS).Device(t, "en-GB")
	d.SignIn(h.House)
	d.Open(d.At(h.House) + "/dispatches/new")
	d.WithoutGloves = true
	d.Touch("#camera-button")
	d.Until(`document.getElementById('scanned').innerText === 'Container D-2 is ticked.' && !document.getElementById('camera').open`)
	if got := browsertest.Evaluated[string](d, `[...document.querySelectorAll('input[name=container]:checked')].map(box => box.value).join()`); got != h.Fills[1].String() {
		t.Errorf("ticked are %s", got)
	}
}

// labelCode reads the code of the only label on a page.
func labelCode(t *testing.T, h *apitest.House, path string) string {
	t.Helper()
	picture := browsertest.LabelCode(t, h, path)
	bitmap, err := gozxing.NewBinaryBitmapFromImage(picture)
	if err != nil {
		t.Fatal(err)
	}
	// The picture is of the code and nothing else, as the label has it.
	read, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(read.GetText(), "?c=D-2#c") {
		t.Errorf("the label's code reads %s", read.GetText())
	}
	return read.GetText()
}
