package plans

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/plan/sale"
)

// salesRows are the first sheet: the contracts above, the honey below.
func (w *salesBook) salesRows() [][]any {
	rows := make([][]any, salesStockHeadRow)
	at := func(row int, says string) {
		rows[row-1] = append(make([]any, 0, w.checkColumn()), says, nil, nil, nil, nil)
	}
	at(salesHeadRow, w.Say("contract"))
	at(salesBuyerRow, w.Say("buyer"))
	at(salesLastDayRow, w.Say("last day"))
	at(salesPromisedRow, w.Say("Promised, %s", w.Mass))
	at(salesMostRow, w.Say("Takes at the most, %s", w.Mass))
	at(salesCountRow, w.Say("Containers that go"))
	at(salesMassRow, w.Say("Honey that goes, %s", w.Mass))
	at(salesNetRow, w.Say("Price less discount, %s", w.found.Currency))
	at(salesFreightRow, w.Say("Freight, %s", w.found.Currency))
	at(salesEarnsRow, w.Say("Earns, %s", w.found.Currency))
	at(salesShortRow, w.Say("Missing of what was promised, %s", w.Mass))
	at(salesCheckRow, w.Say("Check"))
	at(salesStayRow, w.Say("Honey that stays, %s", w.Mass))
	at(salesKeptRow, w.Say("What stays is worth, %s", w.found.Currency))
	rows[salesTitleRow-1] = []any{excelize.Cell{StyleID: w.styles.title, Value: w.Say("Sales that earn %s", w.Money(int64(math.Round(w.sales.EarnedMinor)), w.found.Currency))}}
	rows[salesHintRow-1] = []any{w.Say("Type another number of containers under a contract: what follows from it is reckoned. It stands as of entry %s of the book, which it does not change.", w.Count(int(w.found.Through)))}
	for c := range w.contracts() {
		w.contractColumn(rows, c)
	}
	w.together(rows)
	heads := []any{w.headed(w.Say("containers")), w.headed(w.Say("lot")), w.headed(w.Say("each holds, %s", w.Mass)), w.headed(w.Say("are here")), w.headed(w.Say("stay"))}
	for _, c := range w.contracts() {
		heads = append(heads, w.headed(c.Name))
	}
	rows[salesStockHeadRow-1] = append(heads, w.headed(w.Say("Check")))
	for i := range w.rows {
		rows = append(rows, w.stockRow(&w.rows[i], firstSalesStock+i))
	}
	return rows
}

// saleOf is what goes to a contract; nothing where none does.
func (w *salesBook) saleOf(contract int) sale.Sale {
	for _, x := range w.sales.Sales {
		if x.Contract == contract {
			return x
		}
	}
	return sale.Sale{Contract: contract}
}

// contractColumn is a contract with what it comes to.
func (w *salesBook) contractColumn(rows [][]any, c int) {
	x, column := &w.contracts()[c], firstContract+c
	goes := w.saleOf(c)
	add := func(row int, cell any) { rows[row-1] = append(rows[row-1], cell) }
	at := func(row int) string { return cellAt("", column, row) }
	counts, each, prices := w.stockIn("", column), w.stockIn("", salesEachColumn), w.stockIn(w.sheets.prices, firstPrice+c)
	earns := goes.NetMinor - goes.FreightMinor
	short := max(0, x.PromisedKg-goes.Kg)
	add(salesHeadRow, w.headed(x.Name))
	add(salesBuyerRow, x.Buyer)
	add(salesLastDayRow, w.lastDay(x))
	add(salesPromisedRow, excelize.Cell{StyleID: w.styles.mass, Value: w.mass(x.PromisedKg)})
	add(salesMostRow, excelize.Cell{StyleID: w.styles.mass, Value: w.mass(x.MostKg)})
	add(salesCountRow, reckoned(0, len(goes.Takes), "SUM("+counts+")"))
	add(salesMassRow, reckoned(w.styles.mass, w.mass(goes.Kg), fmt.Sprintf("SUMPRODUCT(%s,%s)", counts, each)))
	add(salesNetRow, reckoned(w.money, w.major(goes.NetMinor), fmt.Sprintf("SUMPRODUCT(%s,%s,%s)", counts, each, prices)))
	add(salesFreightRow, reckoned(w.money, w.major(goes.FreightMinor), fmt.Sprintf("%s*%s+%s*%s+IF(%s>0,%s*ROUNDUP(%s/%s-0.000000001,0),0)",
		at(salesMassRow), w.termsAt(c, termsFreightColumn), at(salesCountRow), w.termsAt(c, termsEachColumn),
		w.termsAt(c, termsLoadMassColumn), w.termsAt(c, termsLoadColumn), at(salesMassRow), w.termsAt(c, termsLoadMassColumn))))
	add(salesEarnsRow, reckoned(w.money, w.major(earns), at(salesNetRow)+"-"+at(salesFreightRow)))
	add(salesShortRow, reckoned(w.styles.mass, w.mass(short), fmt.Sprintf("MAX(0,%s-%s)", at(salesPromisedRow), at(salesMassRow))))
	add(salesCheckRow, w.check(short, goes.Kg > x.MostKg+aGramKg, at))
}

// aGramKg is what is not counted of a mass.
const aGramKg = 0.001

// check says what is wrong with what goes to a contract: nothing where all is well.
func (w *salesBook) check(shortKg float64, tooMuch bool, at func(row int) string) excelize.Cell {
	missed, more := w.Say("a promise is missed"), w.Say("more than it takes")
	said := ""
	switch {
	case tooMuch:
		said = more
	case shortKg > aGramKg:
		said = missed
	}
	gram := w.mass(aGramKg)
	return reckoned(w.styles.text, said, fmt.Sprintf(`IF(%s>%s+%g,%s,IF(%s>%g,%s,""))`, at(salesMassRow), at(salesMostRow), gram, quotedText(more), at(salesShortRow), gram, quotedText(missed)))
}

// quotedText is a text within a formula.
func quotedText(text string) string { return `"` + strings.ReplaceAll(text, `"`, `""`) + `"` }

// together is what all contracts come to, and what stays.
func (w *salesBook) together(rows [][]any) {
	set := func(row int, cell any) { rows[row-1][salesStaysColumn-1] = cell }
	across := func(row int) string {
		return cellAt("", firstContract, row) + ":" + cellAt("", w.checkColumn()-1, row)
	}
	sum := func(row int) string { return "SUM(" + across(row) + ")" }
	containers, kg, net, freight, short, held := 0, 0.0, 0.0, 0.0, 0.0, 0.0
	wrong := false
	for _, x := range w.sales.Sales {
		containers, kg, net, freight, short = containers+len(x.Takes), kg+x.Kg, net+x.NetMinor, freight+x.FreightMinor, short+x.ShortKg
		wrong = wrong || x.ShortKg > aGramKg
	}
	for i := range w.rows {
		held += float64(len(w.rows[i].stock)-w.rows[i].all()) * w.each(&w.rows[i])
	}
	set(salesHeadRow, w.headed(w.Say("together")))
	set(salesCountRow, reckoned(0, containers, sum(salesCountRow)))
	set(salesMassRow, reckoned(w.styles.mass, w.mass(kg), sum(salesMassRow)))
	set(salesNetRow, reckoned(w.money, w.major(net), sum(salesNetRow)))
	set(salesFreightRow, reckoned(w.money, w.major(freight), sum(salesFreightRow)))
	set(salesEarnsRow, reckoned(w.money, w.major(net-freight), sum(salesEarnsRow)))
	set(salesShortRow, reckoned(w.styles.mass, w.mass(short), sum(salesShortRow)))
	well, look := w.Say("nothing is oversold, no promise is missed"), w.Say("look at the checks")
	said := well
	if wrong {
		said = look
	}
	set(salesCheckRow, reckoned(w.styles.text, said, fmt.Sprintf(`IF(SUMPRODUCT((%s<>"")*1)+SUMPRODUCT((%s<>"")*1)=0,%s,%s)`, across(salesCheckRow), w.stockIn("", w.checkColumn()), quotedText(well), quotedText(look))))
	set(salesStayRow, reckoned(w.styles.mass, w.mass(held), fmt.Sprintf("SUMPRODUCT(%s,%s)", w.stockIn("", salesStaysColumn), w.stockIn("", salesEachColumn))))
	set(salesKeptRow, reckoned(w.money, w.major(held*w.found.Spec.KeepPerKg), fmt.Sprintf("%s*%s", cellAt("", salesStaysColumn, salesStayRow), cellAt(w.sheets.terms, 2, keepTermsRow))))
}

// stockRow are containers that are alike, with how many go to each contract.
func (w *salesBook) stockRow(r *salesRow, row int) []any {
	first := &w.found.Spec.Stock[r.stock[0]]
	counts := cellAt("", firstContract, row) + ":" + cellAt("", w.checkColumn()-1, row)
	out := []any{w.names(r), first.Source, excelize.Cell{StyleID: w.styles.mass, Value: w.mass(first.Kg)}, len(r.stock),
		reckoned(0, len(r.stock)-r.all(), fmt.Sprintf("%s-SUM(%s)", cellAt("", salesHereColumn, row), counts))}
	for _, n := range r.goes {
		if n == 0 {
			out = append(out, nil)
			continue
		}
		out = append(out, n)
	}
	prices := cellAt(w.sheets.prices, firstPrice, row) + ":" + cellAt("", firstPrice+len(r.goes)-1, row)
	return append(out, reckoned(w.styles.text, "", fmt.Sprintf(`IF(%s<0,%s,IF(SUMPRODUCT((%s>0)*ISTEXT(%s))>0,%s,""))`, cellAt("", salesStaysColumn, row), quotedText(w.Say("more than are here")), counts, prices, quotedText(w.Say("it may not go there")))))
}

// lotsRows are the lots with what goes of each and what is left.
func (w *salesBook) lotsRows() [][]any {
	rows := [][]any{{w.headed(w.Say("lot")), w.headed(w.Say("are here")), w.headed(w.Say("go")), w.headed(w.Say("stay")), w.headed(w.Say("Honey that goes, %s", w.Mass)), w.headed(w.Say("Honey that stays, %s", w.Mass))}}
	var lots []string
	for i := range w.rows {
		if lot := w.found.Spec.Stock[w.rows[i].stock[0]].Source; !slices.Contains(lots, lot) {
			lots = append(lots, lot)
		}
	}
	in := func(column int) string { return w.stockIn(w.sheets.sales, column) }
	here, stay, each := in(salesHereColumn), in(salesStaysColumn), in(salesEachColumn)
	for _, lot := range lots {
		row := len(rows) + 1
		are, left, kgGoes, kgStays := 0, 0, 0.0, 0.0
		for i := range w.rows {
			if r := &w.rows[i]; w.found.Spec.Stock[r.stock[0]].Source == lot {
				n := len(r.stock) - r.all()
				are, left, kgGoes, kgStays = are+len(r.stock), left+n, kgGoes+float64(r.all())*w.each(r), kgStays+float64(n)*w.each(r)
			}
		}
		mine := fmt.Sprintf("(%s=%s)", in(salesLotColumn), cellAt("", 1, row))
		rows = append(rows, []any{lot,
			reckoned(0, are, fmt.Sprintf("SUMPRODUCT(%s*%s)", mine, here)),
			reckoned(0, are-left, fmt.Sprintf("%s-%s", cellAt("", 2, row), cellAt("", 4, row))),
			reckoned(0, left, fmt.Sprintf("SUMPRODUCT(%s*%s)", mine, stay)),
			reckoned(w.styles.mass, w.mass(kgGoes), fmt.Sprintf("SUMPRODUCT(%s*(%s-%s)*%s)", mine, here, stay, each)),
			reckoned(w.styles.mass, w.mass(kgStays), fmt.Sprintf("SUMPRODUCT(%s*%s*%s)", mine, stay, each)),
		})
	}
	return rows
}

func (w *salesBook) lastDay(c *sale.Contract) string {
	if c.LastDay == "" {
		return ""
	}
	return w.Date(string(c.LastDay))
}
