package spelling

import (
	"slices"
	"strings"
)

// apart are words by which people tell places apart that are otherwise called the same, by language: of
// two of one list neither is the other one misspelt.
var apart = [...][]string{
	{"north", "south", "east", "west"},
	{"norte", "sur", "este", "oeste"},
	{"nord", "sud", "ost", "west"},
	{"nord", "sud", "est", "ouest"},
	{"norte", "sul", "leste", "oeste"},
	{"i", "ii", "iii", "iv", "v", "vi"},
}

// Apart reports whether two names differ in nothing but numbers, single letters or such words: Yard 11
// and Yard 12, Field East and Field West.
func Apart(a, b string) bool {
	of, other := strings.Fields(Plain(a)), strings.Fields(Plain(b))
	if len(of) != len(other) || slices.Equal(of, other) {
		return false
	}
	for i, word := range of {
		if word != other[i] && !toldApart(word, other[i]) {
			return false
		}
	}
	return true
}

func toldApart(a, b string) bool {
	if isNumber(a) && isNumber(b) || len(a) == 1 && len(b) == 1 && !isNumber(a) && !isNumber(b) {
		return true
	}
	return slices.ContainsFunc(apart[:], func(words []string) bool { return slices.Contains(words, a) && slices.Contains(words, b) })
}

func isNumber(word string) bool { return strings.Trim(word, "0123456789") == "" }
