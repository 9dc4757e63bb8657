package importing

import (
	"regexp"
	"strings"

	"pullbook/domain/message"
)

// legend is what texts of a wide sheet say that its short names stand for: R = Ridge, or R and Ridge in two
// cells side by side.
type legend struct {
	above map[string]bool // what stands above the cells
	said  map[string]standsFor
}

// standsFor is a name in full. It is sure where nothing else can be meant: Elm: rain is a remark.
type standsFor struct {
	full string
	sure bool
}

var oneOfLegend = regexp.MustCompile(`(?:^|[;,/\s])([\pL\pN]{1,6})\s*([=:])\s*(\pL[^=:;,]*)`)

// legendOf is the legend of a sheet before its rows are seen.
func (m *Mapping) legendOf() legend {
	l := legend{map[string]bool{}, map[string]standsFor{}}
	for i := range m.Columns {
		if m.holdsCells(i) {
			l.above[sameName(m.Columns[i].Heading)] = true
		}
	}
	return l
}

// holdsCells reports whether a column of a wide sheet has figures with names or days above them.
func (m *Mapping) holdsCells(i int) bool {
	return i < len(m.Columns) && (m.Columns[i].Field == FieldCell || m.Columns[i].Under != "")
}

// noteRow takes up what a row says of names.
func (l legend) noteRow(m *Mapping, row int, cells []string) {
	const most = 1000
	if row == m.HeadingRow || len(l.said) >= most {
		return
	}
	below := row > m.HeadingRow
	for i, cell := range cells {
		if cell == "" || below && m.holdsCells(i) {
			continue
		}
		if strings.ContainsAny(cell, "=:") {
			for _, said := range oneOfLegend.FindAllStringSubmatch(clip(cell), -1) {
				l.said[sameName(said[1])] = standsFor{strings.Clone(strings.TrimSpace(said[3])), said[2] == "="}
			}
		}
		if next := cellAt(cells, i+1); below && next != "" && l.above[sameName(cell)] && !startsAsFigure(next) {
			l.said[sameName(cell)] = standsFor{strings.Clone(next), true}
		}
	}
}

// isExplained asks about a name that is to be set up with all the others, and for which the sheet says what it
// stands for.
func (k *taking) isExplained(c *column, noun Noun, name string) bool {
	said, has := k.wide.legend.said[sameName(name)]
	_, known := k.book.Names(kindOf[noun], sameName(said.full))
	if !has || !said.sure && !known || sameName(said.full) == sameName(name) {
		return false
	}
	k.problem(UnknownName, c, message.F("The sheet says that this stands for %s. Say which %s it is%s, or that this is a name of its own%s.", message.Quoted(clip(said.full)), noun.text(), message.Option("is"), message.Option("create")), said.full)
	return true
}
