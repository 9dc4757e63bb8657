package standard

import (
	_ "embed"
	"regexp"
	"slices"
	"strings"

	"pullbook/domain/message"
)

// A text is named and its clauses are numbered as it was published. Where a text
// has no name in English, or no numbers, or was not seen, the library says in
// words of its own what it is; those can be said in another language. They are
// told apart by the words themselves, so that a check that was stored long ago is
// said as one of today.

//go:embed data/own-words.json
var ownWordsJSON []byte

type ownWords struct {
	Titles   []string `json:"titles"`
	Editions []string `json:"editions"`
	Clauses  []string `json:"clauses"`
	Grades   []string `json:"grades"`
}

var own = mustDecode[ownWords](ownWordsJSON)

// OwnWords are the sentences in which the library says things itself, by what
// they begin with.
func OwnWords() map[string][]string {
	out := map[string][]string{
		"rule set|": own.Titles, "edition|": own.Editions, "clause|": own.Clauses, "grade|": own.Grades,
	}
	for _, p := range parameterList {
		for _, u := range p.Units {
			out["unit|"] = append(out["unit|"], u.Name)
		}
	}
	for _, a := range attributeList {
		out["attribute|"] = append(out["attribute|"], a.Name)
		for _, v := range a.Values {
			out["declared|"] = append(out["declared|"], v.Name)
		}
	}
	for _, p := range planList {
		out["plan|"] = append(out["plan|"], p.Title)
	}
	return out
}

// SayTitle is the title of a rule set in a sentence.
func SayTitle(title string) message.Text {
	if slices.Contains(own.Titles, title) {
		return message.F("rule set|" + title)
	}
	return message.Verbatim(title)
}

// SayEdition is how a verdict names an edition.
func SayEdition(edition string) message.Text {
	if slices.Contains(own.Editions, edition) {
		return message.F("edition|" + edition)
	}
	return message.Verbatim(edition)
}

// SayGrade is a grade or class in a sentence.
func SayGrade(grade string) message.Text {
	if slices.Contains(own.Grades, grade) {
		return message.F("grade|" + grade)
	}
	return message.Verbatim(grade)
}

var takenOver = regexp.MustCompile(`^as ([a-z0-9.-]+), (.+)$`)

// SayClause is a clause of a text in a sentence.
func SayClause(clause string) message.Text {
	if number, remembered := strings.CutSuffix(clause, " (number from memory)"); remembered {
		return message.F("%s (number from memory)", SayClause(number))
	}
	if m := takenOver.FindStringSubmatch(clause); m != nil {
		return message.F("as %s, %s", m[1], SayClause(m[2]))
	}
	if slices.Contains(own.Clauses, clause) {
		return message.F("clause|" + clause)
	}
	return message.Verbatim(clause)
}

// SayUnit is a unit of a parameter in a sentence.
func SayUnit(unit string) message.Text {
	for _, p := range parameterList {
		if _, known := p.unit(unit); known {
			return message.F("unit|" + unit)
		}
	}
	return message.Verbatim(unit)
}

func sayPlan(p SamplingPlan) message.Text {
	if _, known := planByID[p.ID]; known {
		return message.F("plan|" + p.Title)
	}
	return message.F("the rule set's own plan")
}

var (
	prose  = regexp.MustCompile(`\p{L}{4}`)
	german = regexp.MustCompile(`Abschnitt|ordnung`)
)

// LanguageOf is the language of a text that stands as it was published; empty
// where it is the library's own, or no more than numbers.
func LanguageOf(t message.Text) string {
	if t.Format != message.Verbatim("").Format || !prose.MatchString(t.String()) {
		return ""
	}
	if german.MatchString(t.String()) {
		return "de"
	}
	return "en"
}
