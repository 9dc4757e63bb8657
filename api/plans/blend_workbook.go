package plans

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/xuri/excelize/v2"

	"pullbook/api/locale"
	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// Workbook is one of the blends as a workbook that reckons: whoever types another mass sees what the
// blend would come to, and how surely it would keep to each limit.
func (f *Blends) Workbook(v locale.Voice, which int) (*excelize.File, error) {
	return newBook(v, func(b *book) error {
		w := &blendBook{book: b, found: f, blend: &f.Answer.Blends[which]}
		w.order()
		return w.write()
	})
}

// mostBookRows is how much stock a workbook has, what goes in first.
const mostBookRows = 500

type blendBook struct {
	*book
	found *Blends
	blend *plan.Blend
	// stock are the rows, kg what goes in of each.
	stock []plan.Stock
	kg    []float64
	// parameters have a column each; ownScale says that a further one has what mixes.
	parameters []string
	sheets     struct{ blend, errors, colour string }
	// places are, by parameter, where its figures and its errors stand.
	figures map[string]string
	offs    map[string]string
}

// The rows of the first sheet above the limits.
const (
	bookTitleRow = 1
	bookHintRow  = 2
	bookHeadRow  = 4
	bookFirstRow = 5
)

// stockHeadRow is where the stock begins, below the limits and their sum.
func (w *blendBook) stockHeadRow() int { return bookFirstRow + len(w.blend.Mixed) + 3 }

func (w *blendBook) firstStock() int { return w.stockHeadRow() + 1 }

func (w *blendBook) lastStock() int { return w.stockHeadRow() + len(w.stock) }

// order puts what goes in first, and notes which parameters have columns.
func (w *blendBook) order() {
	in := map[string]float64{}
	for _, t := range w.blend.Takes {
		in[t.Stock.ID.String()] = t.Kg
	}
	w.stock = slices.Clone(w.found.Stock)
	slices.SortStableFunc(w.stock, func(x, y plan.Stock) int {
		return cmp.Compare(min(1, in[y.ID.String()]), min(1, in[x.ID.String()]))
	})
	w.stock = w.stock[:min(len(w.stock), max(mostBookRows, len(w.blend.Takes)))]
	for _, s := range w.stock {
		w.kg = append(w.kg, in[s.ID.String()])
	}
	for _, m := range w.blend.Mixed {
		if !slices.Contains(w.parameters, m.Limit.Parameter) {
			w.parameters = append(w.parameters, m.Limit.Parameter)
		}
	}
}

func (w *blendBook) write() error {
	w.sheets.blend, w.sheets.errors, w.sheets.colour = w.Say("Blend"), w.Say("How far off"), w.Say("Colour")
	if err := w.SetSheetName(w.GetSheetName(0), w.sheets.blend); err != nil {
		return err
	}
	if slices.Contains(w.parameters, "colour_pfund") {
		if err := w.colours(); err != nil {
			return err
		}
	}
	w.places()
	if err := w.errorsSheet(); err != nil {
		return err
	}
	if err := w.blendSheet(); err != nil {
		return err
	}
	w.SetActiveSheet(0)
	return nil
}

// colours is the sheet that turns millimetres into what mixes, to each millimetre.
func (w *blendBook) colours() error {
	rows := [][]any{{w.headed("mm Pfund"), w.headed(w.Say("optical density"))}}
	for mm := range darkestMM + 1 {
		rows = append(rows, []any{mm, excelize.Cell{StyleID: w.styles.fine, Value: plan.OnScale("colour_pfund", float64(mm))}})
	}
	return w.sheet(w.sheets.colour, nil, rows)
}

// darkestMM is the last row of the sheet of colours.
const darkestMM = 140

// between is a formula that looks a value up in one column of the sheet of colours and gives the
// other's, straight between its rows.
func (w *blendBook) between(x, from, to string) string {
	cell := func(column string) string {
		return fmt.Sprintf("%s!$%s$2:$%s$%d", quotedSheet(w.sheets.colour), column, column, darkestMM+2)
	}
	in := fmt.Sprintf("MIN(MAX(%s,0),INDEX(%s,%d))", x, cell(from), darkestMM+1)
	row := fmt.Sprintf("MIN(MATCH(%s,%s,1),%d)", in, cell(from), darkestMM)
	at := func(column, plus string) string { return fmt.Sprintf("INDEX(%s,%s%s)", cell(column), row, plus) }
	return fmt.Sprintf("(%s+(%s-%s)*(%s-%s)/(%s-%s))", at(to, ""), in, at(from, ""), at(to, "+1"), at(to, ""), at(from, "+1"), at(from, ""))
}

// onScale and fromScale are OnScale and FromScale of the plan as formulas.
func (w *blendBook) onScale(parameter, x string) string {
	if parameter == "colour_pfund" {
		return w.between(x, "A", "B")
	}
	return x
}

func (w *blendBook) fromScale(parameter, x string) string {
	if parameter == "colour_pfund" {
		return w.between(x, "B", "A")
	}
	return x
}

// column is a range of the stock's rows in a sheet.
func (w *blendBook) column(sheet string, column int) string {
	name := columnName(column)
	return fmt.Sprintf("%s!$%s$%d:$%s$%d", quotedSheet(sheet), name, w.firstStock(), name, w.lastStock())
}

// The columns of the stock; those of the parameters come behind.
const (
	nameColumn = iota + 1
	sourceColumn
	goesColumn
	holdsColumn
	firstFigureColumn
)

func (w *blendBook) goes() string { return w.column(w.sheets.blend, goesColumn) }

// places says where the figures of each parameter stand, as they mix.
func (w *blendBook) places() {
	w.figures, w.offs = map[string]string{}, map[string]string{}
	at := firstFigureColumn
	for _, parameter := range w.parameters {
		if parameter == "colour_pfund" {
			at++
		}
		w.figures[parameter] = w.column(w.sheets.blend, at)
		at++
	}
}

func nameOf(parameter string) message.Capital {
	return message.Capital(standard.SayParameter(parameter))
}

func unitOf(parameter string) message.Text { return standard.SayUnit(plan.UnitOf(parameter)) }
