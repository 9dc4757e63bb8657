package browsertest

import (
	"encoding/json"
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

// Quoted is a text as a script has it.
func Quoted(text string) string {
	out, err := json.Marshal(text)
	if err != nil {
		panic(err) // a string can always be written
	}
	return string(out)
}
