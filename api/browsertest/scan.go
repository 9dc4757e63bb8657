package browsertest

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"html"
	"image"
	"image/png"
	"regexp"
	"testing"

	"pullbook/api/apitest"
)

// Scan is what a hand scanner does that is a keyboard to the device: it types a code into
// what has the focus, and Enter, at a pace of its own. The keys come by a script, since those
// that a test sends one by one are as slow as the machine is busy, and pass for a person's.
// Enter has no effect of its own here.
func (b *Browser) Scan(code string) {
	b.T.Helper()
	text, err := json.Marshal(code)
	if err != nil {
		b.T.Fatal(err)
	}
	Evaluated[bool](b, `(() => {
		for (const key of [...`+string(text)+`, 'Enter']) {
			const field = document.activeElement ?? document.body
			const taken = !field.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true}))
			if (!taken && key !== 'Enter' && field.matches('input, textarea')) document.execCommand('insertText', false, key)
		}
		return true
	})()`)
}

var codeOnLabel = regexp.MustCompile(`src="data:image/png;base64,([^"]+)"`)

// LabelCode is the picture of the code on the only label of a page.
func LabelCode(t testing.TB, h *apitest.House, path string) image.Image {
	t.Helper()
	_, page := h.Get(t, path)
	m := codeOnLabel.FindAllStringSubmatch(page, -1)
	if len(m) != 1 {
		t.Fatalf("%d labels are on %s", len(m), path)
	}
	raw, err := base64.StdEncoding.DecodeString(html.UnescapeString(m[0][1]))
	if err != nil {
		t.Fatal(err)
	}
	picture, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	return picture
}

// Quoted is a text as a script has it.
func Quoted(text string) string {
	out, err := json.Marshal(text)
	if err != nil {
		panic(err) // a string can always be written
	}
	return string(out)
}
