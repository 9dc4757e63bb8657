package importing

import (
	"math"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// sumsLike counts the rows in which the figure below a name is the sum of those before it; below 0
// where one was not.
type sumsLike map[*span]int

// sumBefore looks at a row: a name that nobody knows and that is to be set up with all the others may
// be what some yards come to, East or Target.
func (w *wide) sumBefore(cells []string) {
	const fewest = 2
	if !w.walking || w.Mapping.Wide.Across == FieldDate {
		return
	}
	if w.sumsLike == nil {
		w.sumsLike = sumsLike{}
	}
	sum, added := 0.0, 0
	for i := range w.spans {
		s := &w.spans[i]
		f, err := tables.ParseFigure(cellAt(cells, s.columns[0].index), w.figures[s.columns[0].figure].mark)
		switch {
		case err != nil || w.sumsLike[s] < 0:
		case added >= fewest && math.Abs(f.Value-sum) <= 0.005*math.Abs(sum):
			w.sumsLike[s]++
		case added > 0:
			w.sumsLike[s] = -1
		}
		if err == nil && f.Value != 0 {
			sum, added = sum+f.Value, added+1
		}
	}
}

// askSums asks about the names whose figures were the sums of those before them.
func (w *wide) askSums() {
	const fewest = 2
	for i := range w.spans {
		s := &w.spans[i]
		if w.sumsLike[s] < fewest || w.isMeant(s.above) {
			continue
		}
		w.noteOf(Problem{Code: LooksLikeSum, Row: w.acrossRow, Column: tables.Column(s.column), Field: w.Mapping.Wide.Across, Sent: s.above, OfHeadings: true,
			Message: message.F("In each row this is the sum of the figures before it. Do not read this column, or say that this is a name of its own%s.", message.Option("create"))})
	}
	w.sumsLike = nil
}

// isMeant reports whether the outfit has a name, or somebody said of it alone what it is.
func (w *wide) isMeant(name string) bool {
	if id, known := w.book.Names(kindOf[w.across.info.noun], sameName(name)); known {
		e, _ := w.book.Entry(id)
		if e == nil || e.Number <= w.known { // else the sheet sets it up
			return true
		}
	}
	for said := range w.Mapping.Names[w.across.info.noun] {
		if said != "*" && sameName(said) == sameName(name) {
			return true
		}
	}
	return false
}
