package spelling

import (
	"strings"
	"unicode"
)

// Unseen finds the first character of a text that nobody sees and that makes the text
// something else than it looks like: control characters other than tabs and ends of
// lines, blanks of no width, and those that turn the order of what follows (Unicode
// Standard Annex 9). Two names that look alike would be two otherwise. The joiners
// that some scripts need are none.
func Unseen(text string) (r rune, found bool) {
	at := strings.IndexFunc(text, isUnseen)
	if at < 0 {
		return 0, false
	}
	for _, r = range text[at:] {
		break
	}
	return r, true
}

func isUnseen(r rune) bool {
	switch {
	case r == '\n', r == '\t', r == '\r':
		return false
	case r == '\u200b', r == '\u2060', r == '\ufeff': // of no width
		return true
	case r >= '\u202a' && r <= '\u202e', r >= '\u2066' && r <= '\u2069': // turn the order
		return true
	}
	return unicode.IsControl(r)
}
