// Package spelling says which of the names that somebody may have meant are spelt
// nearly like the one that came: "Alder Bned" for Alder Bend.
package spelling

import (
	"strings"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// Plain is a text by its letters and figures alone, in lower case and without
// accents, with single blanks: as headings are compared.
func Plain(text string) string {
	bare, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), text)
	if err != nil {
		bare = text
	}
	return strings.Join(strings.FieldsFunc(strings.ToLower(bare), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}), " ")
}

// letters is what of a name is compared: neither accents, nor signs, nor blanks.
func letters(name string) []rune { return []rune(strings.ReplaceAll(Plain(name), " ", "")) }
