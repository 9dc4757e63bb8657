package plans

import (
	"fmt"
	"math"
	"slices"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/plan"
)

// The columns of the sheet of prices: what a unit of mass of each row brings under each contract, and behind that
// the figures that prices depend on.
const firstPrice = 2

// The rows and columns of the sheet of terms.
const (
	keepTermsRow = 1
	termsHeadRow = 3
	firstTerms   = 4
)

const (
	termsPriceColumn = 2 + iota
	termsFreightColumn
	termsEachColumn
	termsLoadColumn
	termsLoadMassColumn
)

const (
	stepAboveColumn = 3 + iota
	stepUpToColumn
	stepShareColumn
	stepAmountColumn
)

// parametersOf notes which parameters prices depend on.
func (w *salesBook) parametersOf() {
	for i := range w.contracts() {
		for _, s := range w.contracts()[i].Steps() {
			if !slices.Contains(w.parameters, s.Parameter) {
				w.parameters = append(w.parameters, s.Parameter)
			}
		}
	}
}

// termsRows are what is paid, what bringing costs, and by which steps a price is lowered.
func (w *salesBook) termsRows() [][]any {
	currency := w.found.Currency
	rows := [][]any{
		{w.Say("A unit of honey that stays is worth, %s/%s", currency, w.Mass), w.fineCell(w.perMass(w.found.Spec.KeepPerKg))}, nil,
		{w.headed(w.Say("contract")), w.headed(w.Say("price, %s/%s", currency, w.Mass)), w.headed(w.Say("freight, %s/%s", currency, w.Mass)), w.headed(w.Say("freight of a container, %s", currency)), w.headed(w.Say("freight of a load, %s", currency)), w.headed(w.Say("a load holds, %s", w.Mass))},
	}
	for i := range w.contracts() {
		c := &w.contracts()[i]
		rows = append(rows, []any{c.Name, w.fineCell(w.perMass(c.Terms.PricePerKg.Float64())), w.fineCell(w.perMass(c.Freight.PerKg)), w.moneyCell(c.Freight.PerContainer), w.moneyCell(c.Freight.PerLoad), excelize.Cell{StyleID: w.styles.mass, Value: w.mass(c.Freight.LoadKg)}})
	}
	rows = append(rows, nil, []any{w.headed(w.Say("steps of discount")), w.headed(w.Say("property")), w.headed(w.Say("above")), w.headed(w.Say("up to")), w.headed(w.Say("share taken off")), w.headed(w.Say("taken off, %s/%s", currency, w.Mass))})
	for i := range w.contracts() {
		c := &w.contracts()[i]
		from := len(rows) + 1
		for _, s := range c.Steps() {
			var upTo any = ""
			if s.UpTo != nil {
				upTo = w.fineCell(*s.UpTo)
			}
			rows = append(rows, []any{c.Name, w.Say("%s, %s", nameOf(s.Parameter), unitOf(s.Parameter)), w.fineCell(s.Above), upTo, excelize.Cell{StyleID: w.styles.percent, Value: s.Share}, w.fineCell(w.perMass(s.PerKg))})
		}
		w.steps = append(w.steps, [2]int{from, len(rows)})
	}
	return rows
}

func (w *salesBook) fineCell(v float64) excelize.Cell {
	return excelize.Cell{StyleID: w.styles.fine, Value: v}
}

func (w *salesBook) moneyCell(minor float64) excelize.Cell {
	return excelize.Cell{StyleID: w.money, Value: w.major(minor)}
}

// pricesRows are, in the rows of the first sheet's stock, what each brings under each contract.
func (w *salesBook) pricesRows() [][]any {
	rows := make([][]any, firstSalesStock-1)
	rows[0] = []any{excelize.Cell{StyleID: w.styles.title, Value: w.Say("Prices less discount, %s/%s", w.found.Currency, w.Mass)}}
	rows[1] = []any{w.Say("A price follows from the terms and the figures behind. Honey that would not keep a contract's limits may not go to it.")}
	heads := []any{w.headed(w.Say("containers"))}
	for i := range w.contracts() {
		heads = append(heads, w.headed(w.contracts()[i].Name))
	}
	for _, p := range w.parameters {
		heads = append(heads, w.headed(w.Say("%s, %s", nameOf(p), unitOf(p))))
	}
	rows[salesStockHeadRow-1] = heads
	for i := range w.rows {
		row := firstSalesStock + i
		first := w.rows[i].stock[0]
		stock := &w.found.Spec.Stock[first]
		cells := []any{reckoned(0, w.names(&w.rows[i]), cellAt(w.sheets.sales, salesNameColumn, row))}
		for c := range w.contracts() {
			perKg, may := w.found.Brings(first, c)
			if !may {
				cells = append(cells, w.Say("may not go"))
				continue
			}
			cells = append(cells, reckoned(w.styles.fine, w.perMass(perKg), w.priceFormula(c, row)))
		}
		for _, p := range w.parameters {
			cells = append(cells, w.figureCell(stock, p))
		}
		rows = append(rows, cells)
	}
	return rows
}

func (w *salesBook) figureCell(stock *plan.Stock, parameter string) any {
	f, known := stock.Figures[parameter]
	if !known {
		return nil
	}
	return w.fineCell(math.Round(f.Mean*1e6) / 1e6)
}

// priceFormula is a contract's price less the steps of discount in which the figures of a row lie.
func (w *salesBook) priceFormula(c, row int) string {
	price := w.termsAt(c, termsPriceColumn)
	formula := price
	for n, s := range w.contracts()[c].Steps() {
		at := func(column int) string { return cellAt(w.sheets.terms, column, w.steps[c][0]+n) }
		figure := cellAt("", firstPrice+len(w.contracts())+slices.Index(w.parameters, s.Parameter), row)
		within := fmt.Sprintf("%s>%s", figure, at(stepAboveColumn))
		if s.UpTo != nil {
			within = fmt.Sprintf("AND(%s,%s<=%s)", within, figure, at(stepUpToColumn))
		}
		formula += fmt.Sprintf("-IF(%s,%s*%s+%s,0)", within, price, at(stepShareColumn), at(stepAmountColumn))
	}
	return formula
}
