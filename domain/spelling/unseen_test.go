package spelling_test

import (
	"testing"

	"pullbook/domain/spelling"
)

func TestWhatNobodySeesIsFound(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]rune{
		"Alder Bend": -1, "Åsen, dos líneas\n\ty «más»\r\n": -1, "नदी\u200dतट": -1, "\U0001F3F4\U000E0067\U000E007F": -1, "": -1, "bad \xff byte": -1,
		"Alder\u200bBend": 0x200b, "\ufeffAlder": 0xfeff, "drum \u202e71": 0x202e, "a\u2066b": 0x2066, "a\x00b": 0, "\x1b[31mred": 0x1b, "a\u0085b": 0x85, "a\u2060\x00": 0x2060,
	} {
		r, found := spelling.Unseen(text)
		if found != (want >= 0) || found && r != want {
			t.Errorf("%q: %U, %v; want %U", text, r, found, want)
		}
	}
}
