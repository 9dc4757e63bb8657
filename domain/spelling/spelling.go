// Package spelling says which of the names that somebody may have meant are spelt
// nearly like the one that came: "Alder Bned" for Alder Bend.
package spelling

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// Plain is a text by its letters and figures alone, in lower case and without
// accents, with single blanks: as headings are compared.
func Plain(text string) string {
	bare := text
	if !isASCII(text) { // else there is no accent to take off
		if without, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), text); err == nil {
			bare = without
		}
	}
	return strings.Join(strings.FieldsFunc(strings.ToLower(bare), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}), " ")
}

func isASCII(text string) bool {
	for i := range len(text) {
		if text[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// letters is what of a name is compared: neither accents, nor signs, nor blanks.
func letters(name string) []rune { return []rune(strings.ReplaceAll(Plain(name), " ", "")) }
