package importing

import (
	"math"
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// tareWords say of weights that they are of what holds the honey.
var tareWords = wordSet("tare tara taras leergewicht")

// agreesWithGross asks about a pull whose gross does not come to its net and tare, which are not
// read: two of them may have changed places on the way.
func (k *taking) agreesWithGross() {
	c := k.columns[FieldGross]
	if c == nil || c.index < 0 || k.wide != nil || k.bad || k.answered("") != "" {
		return
	}
	gross, has := k.alone(c, k.itself(c))
	if !has {
		return
	}
	net, hasNet := k.unreadWeight(c, netWords)
	tare, hasTare := k.unreadWeight(c, tareWords)
	const slack = 1.1 // of the sheet's own unit: weights that were rounded, each to half of it
	switch {
	case hasNet && hasTare && math.Abs(gross-tare-net) > slack, hasNet && net > gross+slack, hasTare && tare >= gross && gross > 0:
		k.problem(DoubtfulRow, c, message.F("The gross is %s, and the net or the tare beside it does not go with that. Did two of them change places? Put the row right; or say that it holds as it stands, or leave it out%s.", message.Figure(gross), message.Option("rows: another; leave_out_rows")), string(Another))
	}
}

// unreadWeight is the weight of the row at hand in a column that is not read and whose heading has
// one of some words and says no other unit than that of a column.
func (k *taking) unreadWeight(of *column, words map[string]bool) (weight float64, has bool) {
	for i, c := range k.Mapping.Columns[:min(len(k.cells), len(k.Mapping.Columns))] {
		unit, bare := unitOf(wordsOf(c.Heading), masses)
		if c.Field != "" || unit != "" && unit != of.Unit || !slices.ContainsFunc(strings.Fields(bare), func(word string) bool { return words[word] }) {
			continue
		}
		if weight, has = k.alone(of, k.cells[i]); has {
			return weight, true
		}
	}
	return 0, false
}

// alone is a figure that names no unit of its own, written as those of a column are.
func (k *taking) alone(c *column, text string) (value float64, is bool) {
	mark := c.mark
	if k.isNumber(text) {
		mark = tables.MarkPoint
	}
	x, err := tables.ParseFigure(text, mark)
	return x.Value, err == nil && x.Unit == "" && !tables.Missing(text)
}
