package sheet

import (
	"slices"
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

// Alike lists which of some names a name is spelt nearly like, nearest first: the
// same but for accents, signs and blanks, or one slip in four letters apart at
// most.
func Alike(name string, among []string) []string {
	type near struct {
		name string
		far  int
	}
	var found []near
	own := []rune(strings.ReplaceAll(Plain(name), " ", ""))
	for _, other := range among {
		theirs := []rune(strings.ReplaceAll(Plain(other), " ", ""))
		most := min(len(own), len(theirs)) / 4
		if d := slips(own, theirs); d <= most || d == 0 {
			found = append(found, near{other, d})
		}
	}
	slices.SortStableFunc(found, func(a, b near) int { return a.far - b.far })
	out := make([]string, len(found))
	for i, n := range found {
		out[i] = n.name
	}
	return out
}

// slips counts the letters to be put in, left out, changed or swapped with their
// neighbour (optimal string alignment distance).
func slips(a, b []rune) int {
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range b {
		rows[0][j+1] = j + 1
	}
	for i := range a {
		for j := range b {
			change := 1
			if a[i] == b[j] {
				change = 0
			}
			d := min(rows[i][j+1]+1, rows[i+1][j]+1, rows[i][j]+change)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				d = min(d, rows[i-1][j-1]+1)
			}
			rows[i+1][j+1] = d
		}
	}
	return rows[len(a)][len(b)]
}
