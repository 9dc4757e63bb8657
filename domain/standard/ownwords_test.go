package standard_test

import (
	"reflect"
	"slices"
	"testing"

	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// The range of every published limit about a figure has the figures that the standard prints, and one
// about what is seen has none.
func TestTheRangeOfALimitHasItsPrintedFigures(t *testing.T) {
	t.Parallel()
	printed := func(text string) *float64 { return new(standard.MustDecimal(text).Float64()) }
	for _, set := range publishedLibrary(t).All() {
		for i := range set.Limits {
			var low, high *float64
			switch l := &set.Limits[i]; l.Comparator {
			case standard.AtMost, standard.Below:
				high = printed(l.Limit)
			case standard.AtLeast, standard.Above:
				low = printed(l.Limit)
			case standard.Between:
				if l.Limit != "" {
					low = printed(l.Limit)
				}
				if l.LimitTo != "" {
					high = printed(l.LimitTo)
				}
			}
			if gotLow, gotHigh := set.Limits[i].Range(); !reflect.DeepEqual([]*float64{gotLow, gotHigh}, []*float64{low, high}) {
				t.Errorf("%s, %s: %s has another range", set.ID, set.Limits[i].Clause, set.Limits[i].Bounds())
			}
		}
	}
}

// A stored check keeps a limit in English words. They are read back as what the
// limit says, so that it is said in any language.
func TestTheBoundsOfEveryPublishedLimitAreReadBack(t *testing.T) {
	t.Parallel()
	for _, set := range publishedLibrary(t).All() {
		for i := range set.Limits {
			l := &set.Limits[i]
			if got := standard.ReadBounds(l.Bounds()); !reflect.DeepEqual(got, l.Said()) {
				t.Errorf("%s, %s: %q is read as %+v, not %+v", set.ID, l.Clause, l.Bounds(), got, l.Said())
			}
		}
	}
	for _, text := range []string{"", "about right", "at most a lot %", "at most 20", "at least 1 and at most 2"} {
		if got := standard.ReadBounds(text); got.String() != text {
			t.Errorf("%q is read as %q", text, got)
		}
	}
}

func TestOwnWordsAreThoseOfSomeRuleSet(t *testing.T) {
	t.Parallel()
	used := map[string][]string{}
	for _, set := range publishedLibrary(t).All() {
		used["rule set|"] = append(used["rule set|"], set.Title)
		used["edition|"] = append(used["edition|"], set.Edition)
		used["grade|"] = append(append(used["grade|"], set.Grades...), set.BelowGrade)
		for _, l := range set.Limits {
			used["clause|"] = append(used["clause|"], l.Clause)
		}
	}
	for beginning, all := range used {
		for _, words := range standard.OwnWords()[beginning] {
			if !slices.Contains(all, words) {
				t.Errorf("%s%s is said of no rule set", beginning, words)
			}
		}
	}
}

func TestWhatWasPublishedStandsInItsLanguage(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text message.Text
		lang string
	}{
		{standard.SayClause("Annex II point 2"), "en"},
		{standard.SayClause("Anlage 2 Abschnitt II Nr. 1.1"), "de"},
		{standard.SayClause("2.8.2-3(b)"), ""},
		{standard.SayClause("composition table"), ""},
		{standard.SayClause("5(f) (number from memory)"), ""},
		{standard.SayTitle("United States Standards for Grades of Extracted Honey"), "en"},
		{standard.SayTitle("Standard for Honey"), ""},
	} {
		if got := standard.LanguageOf(c.text); got != c.lang {
			t.Errorf("%q is in %q, not %q", c.text, got, c.lang)
		}
	}
	if got := standard.SayClause("as ca-fdr-b18-honey, 5(f) (number from memory)").String(); got != "as ca-fdr-b18-honey, 5(f) (number from memory)" {
		t.Errorf("a clause taken over reads %q", got)
	}
}
