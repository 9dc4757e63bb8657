package plans

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"pullbook/api/locale"
	"pullbook/domain/plan/sale"
)

// Workbook is one of the assignments as a workbook that reckons: whoever types other numbers of containers sees
// what that earns, and whether a promise is missed or a contract gets more than it takes.
func (f *Sales) Workbook(v locale.Voice, which int) (*excelize.File, error) {
	return newBook(v, func(b *book) error {
		w := &salesBook{book: b, found: f, sales: &f.Assignments[which]}
		return w.write()
	})
}

// salesBook has what people look at on its first sheet: contracts as columns with what they come to, and below them
// the honey as rows. Behind it stand the lots, the prices of each row, and the terms of each contract.
type salesBook struct {
	*book
	found *Sales
	sales *sale.Assignment
	// rows are containers that are alike in all but their names; goes is by row and contract how many go.
	rows   []salesRow
	sheets struct{ sales, lots, prices, terms string }
	money  int // the style of money
	// parameters are those that a price depends on, in the columns of the sheet of prices.
	parameters []string
	// steps are where a contract's steps of discount begin and end in the sheet of terms.
	steps [][2]int
}

type salesRow struct {
	stock []int
	goes  []int
}

// mostSalesRows is how many rows a workbook has, what goes first; more only where more go.
const mostSalesRows = 500

// The rows of the first sheet; the stock begins below.
const (
	salesTitleRow = 1 + iota
	salesHintRow
	_
	salesHeadRow
	salesBuyerRow
	salesLastDayRow
	salesPromisedRow
	salesMostRow
	salesCountRow
	salesMassRow
	salesNetRow
	salesFreightRow
	salesEarnsRow
	salesShortRow
	salesCheckRow
	salesStayRow
	salesKeptRow
	_
	salesStockHeadRow
	firstSalesStock
)

// The columns of the first sheet; those of the contracts come behind.
const (
	salesNameColumn = 1 + iota
	salesLotColumn
	salesEachColumn
	salesHereColumn
	salesStaysColumn
	firstContract
)

func (w *salesBook) write() error {
	w.sheets.sales, w.sheets.lots, w.sheets.prices, w.sheets.terms = w.Say("Sales"), w.Say("Lots"), w.Say("Prices"), w.Say("Terms")
	_, places := locale.Major(0, w.found.Currency)
	format := "#,##0"
	if places > 0 {
		format += "." + strings.Repeat("0", places)
	}
	var err error
	if w.money, err = w.NewStyle(&excelize.Style{CustomNumFmt: &format}); err != nil {
		return err
	}
	w.order()
	w.parametersOf()
	terms := w.termsRows()
	for _, sheet := range []struct {
		name   string
		widths []float64
		rows   [][]any
	}{
		{w.sheets.sales, []float64{34, 16, 12, 10, 14}, w.salesRows()},
		{w.sheets.lots, []float64{20, 14, 14, 14, 14, 14}, w.lotsRows()},
		{w.sheets.prices, []float64{34}, w.pricesRows()},
		{w.sheets.terms, []float64{30, 16, 16, 16, 16, 16}, terms},
	} {
		if err := w.sheet(sheet.name, sheet.widths, sheet.rows); err != nil {
			return err
		}
	}
	w.SetActiveSheet(0)
	return nil
}

// order puts what goes first, lot by lot.
func (w *salesBook) order() {
	to := map[int]int{}
	for _, x := range w.sales.Sales {
		for _, t := range x.Takes {
			to[t.Stock] = x.Contract
		}
	}
	going := 0
	for _, alike := range w.found.Spec.Alike() {
		slices.SortFunc(alike, func(i, j int) int { return cmp.Compare(w.found.Spec.Stock[i].Name, w.found.Spec.Stock[j].Name) })
		row := salesRow{alike, make([]int, len(w.found.Spec.Contracts))}
		some := false
		for _, i := range alike {
			if c, goes := to[i]; goes {
				row.goes[c]++
				some = true
			}
		}
		if some {
			going++
		}
		w.rows = append(w.rows, row)
	}
	slices.SortStableFunc(w.rows, func(x, y salesRow) int { return cmp.Compare(y.some(), x.some()) })
	w.rows = w.rows[:min(len(w.rows), max(mostSalesRows, going))]
}

// some is 1 where some of a row go.
func (r *salesRow) some() int {
	return min(1, r.all())
}

func (r *salesRow) all() (n int) {
	for _, goes := range r.goes {
		n += goes
	}
	return n
}

// mostRowNames is of how many containers a row has the names.
const mostRowNames = 24

// names are those of the containers of a row.
func (w *salesBook) names(r *salesRow) string {
	names := namesOf(&w.found.Spec, r.stock)
	if more := len(names) - mostRowNames; more > 0 {
		names = append(names[:mostRowNames], w.Say("and %s more", more))
	}
	return strings.Join(names, ", ")
}

func (w *salesBook) each(r *salesRow) float64 { return w.found.Spec.Stock[r.stock[0]].Kg }

func (w *salesBook) contracts() []sale.Contract { return w.found.Spec.Contracts }

func (w *salesBook) lastStock() int { return firstSalesStock + max(1, len(w.rows)) - 1 }

func (w *salesBook) checkColumn() int { return firstContract + len(w.contracts()) }

// major is an amount in minor units in the currency itself.
func (w *salesBook) major(minor float64) float64 {
	_, places := locale.Major(0, w.found.Currency)
	return minor / math.Pow10(places)
}

// perMass is minor units a kilogram as major units of the outfit's unit of mass.
func (w *salesBook) perMass(minorPerKg float64) float64 {
	return w.major(minorPerKg) * w.GramsPerUnit / 1000
}

// cellAt names a cell, or a span of the rows of the stock in a column, of a sheet; of its own without a name.
func cellAt(sheet string, column, row int) string {
	name, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		panic(err) // columns are counted from what is written
	}
	if sheet != "" {
		return quotedSheet(sheet) + "!" + name
	}
	return name
}

func (w *salesBook) stockIn(sheet string, column int) string {
	return cellAt(sheet, column, firstSalesStock) + ":" + cellAt("", column, w.lastStock())
}

// termsAt is a cell of a contract in the sheet of terms.
func (w *salesBook) termsAt(contract, column int) string {
	return cellAt(w.sheets.terms, column, firstTerms+contract)
}
