package importing

import (
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// askInOut asks about weights in and out of which none is read: full boxes that came in and
// empty ones that went out, or boxes into the hot room and out of it.
func (k *taking) askInOut() {
	in, out := k.weightAs("in", "entrada", "entra"), k.weightAs("out", "salida", "sale")
	if k.Mapping.Of != Pulls || in == nil || out == nil || in.Field != "" || out.Field != "" || k.isThere(FieldGross) {
		return
	}
	k.add(Problem{Code: TwoValues, Row: k.Mapping.HeadingRow, Column: in.Column, Heading: in.Heading, Sent: in.Heading,
		Message: message.F("Columns %s and %s are a weight in and a weight out: of full boxes that came and empty ones that went, or of boxes into the hot room and out of it? Say which of the two is the pull's weight with its boxes (gross).",
			columnName(in.Column, in.Heading), columnName(out.Column, out.Heading))})
}

// weightAs is the column headed as a weight with one of some words; nil where there is none.
func (k *taking) weightAs(way ...string) *Column {
	for i := range k.Mapping.Columns {
		if c := &k.Mapping.Columns[i]; headsWeight(c.Heading, way...) {
			return c
		}
	}
	return nil
}

// headsWeight reports whether a heading is that of a weight and has one of some words.
func headsWeight(heading string, way ...string) bool {
	words := wordsOf(heading)
	_, bare := unitOf(words, masses)
	return slices.ContainsFunc(words, func(word string) bool { return slices.Contains(way, word) }) &&
		slices.ContainsFunc(strings.Fields(bare), func(word string) bool { return aboutWeights[word] }) || len(words) == 2 && slices.Contains(way, words[1]) && masses.takes(unitWords[words[0]])
}

// inAndOut leaves a pull's weight open where the sheet has one in and one out.
func (g *guess) inAndOut() {
	if g.Of != Pulls {
		return
	}
	var pair []int
	for _, way := range [...][]string{{"in", "entrada", "entra"}, {"out", "salida", "sale"}} {
		i := slices.IndexFunc(g.Columns, func(c Column) bool { return headsWeight(c.Heading, way...) })
		if i < 0 || g.Columns[i].Field != "" && g.Columns[i].Field != FieldGross {
			return
		}
		pair = append(pair, i)
	}
	for _, i := range pair {
		g.Columns[i] = Column{Column: tables.Column(i), Heading: g.Columns[i].Heading}
	}
}
