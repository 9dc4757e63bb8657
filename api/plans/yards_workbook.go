package plans

import (
	"fmt"

	"github.com/xuri/excelize/v2"

	"pullbook/api/locale"
	"pullbook/domain/plan/yards"
)

// MostBookYards is how many yards a workbook has: what each counts for each other fills a square.
const MostBookYards = 150

// YardsWorkbook is a comparison of yards as a workbook that reckons: whoever types another honey per hive, price or cost
// sees what each yard gives beside the average yard, and what its visits leave of it.
func YardsWorkbook(v locale.Voice, p *yards.Plan) (*excelize.File, error) {
	return newBook(v, func(b *book) error {
		w := &yardsBook{book: b, plan: p, linear: p.Linear(), seen: map[[2]int]int{}}
		for i, o := range p.Observations {
			w.seen[[2]int{o.Yard, o.Season}] = i
		}
		w.names.yards, w.names.how, w.names.counts = w.Say("Yards"), w.Say("How it is reckoned"), w.Say("What counts for whom")
		w.reckonAll()
		if err := w.sheet(w.names.yards, []float64{28}, w.yardRows()); err != nil {
			return err
		}
		if err := w.sheet(w.names.how, []float64{28}, w.howRows()); err != nil || w.linear == nil {
			return err
		}
		return w.sheet(w.names.counts, []float64{28}, w.countRows())
	})
}

type yardsBook struct {
	*book
	plan *yards.Plan
	// linear is nil where nothing can be told.
	linear *yards.Linear
	// seen are the places of observations, by yard and season.
	seen   map[[2]int]int
	names  struct{ yards, how, counts string }
	rounds []yardsRound
	// shares are the effects that the last round comes to, in shares of what the average yard gives.
	shares []float64
}

// Places of the first sheet.
const (
	yardsPriceRow    = 4
	yardsOrdinaryRow = 5
	yardsHeadRow     = 7
)

func (w *yardsBook) n() int       { return len(w.plan.Yards) }
func (w *yardsBook) seasons() int { return len(w.plan.Seasons) }

// along is a range of seasons in a row of a sheet.
func (w *yardsBook) along(sheet string, row int) string {
	return fmt.Sprintf("%s!$B$%d:$%s$%d", quotedSheet(sheet), row, columnName(1+w.seasons()), row)
}

func (w *yardsBook) down(sheet string, col, first int) string {
	return fmt.Sprintf("%s!$%s$%d:$%s$%d", quotedSheet(sheet), columnName(col), first, columnName(col), first+w.n()-1)
}

func (w *yardsBook) cell(sheet string, col, row int) string {
	return fmt.Sprintf("%s!$%s$%d", quotedSheet(sheet), columnName(col), row)
}

func (w *yardsBook) yardRow(y int) int { return yardsHeadRow + 1 + y }

// kg are the honey cells of a yard, or of a season.
func (w *yardsBook) kgOf(y int) string { return w.along(w.names.yards, w.yardRow(y)) }
func (w *yardsBook) kgIn(s int) string { return w.down(w.names.yards, 2+s, w.yardRow(0)) }

func (w *yardsBook) levelRow() int { return w.yardRow(w.n()) }

// yardRows is the first sheet.
func (w *yardsBook) yardRows() [][]any {
	p := w.plan
	rows := make([][]any, yardsHeadRow-1)
	rows[0] = []any{excelize.Cell{StyleID: w.styles.title, Value: w.Say("Which yard is worth its petrol")}}
	rows[1] = []any{excelize.Cell{StyleID: w.styles.text, Value: w.Say("Type other honey per hive, another price, visits or what a visit costs: all else follows. How much yards differ, the number of hives and what was told apart stay as they were reckoned from the book.")}}
	price := any(nil)
	if p.Question.PricePerKg != nil {
		price = excelize.Cell{StyleID: w.styles.figure, Value: *p.Question.PricePerKg * w.GramsPerUnit / 1000}
	}
	rows[yardsPriceRow-1] = []any{w.Say("A %s of honey brings", w.Mass), price}
	if w.linear != nil {
		rows[yardsOrdinaryRow-1] = []any{w.Say("The average yard gives, %s", w.Mass), reckoned(w.styles.mass, w.mass(w.ordinary()), fmt.Sprintf("AVERAGE(%s)", w.along(w.names.yards, w.levelRow())))}
	}
	rows = append(rows, w.yardHead())
	for y := range p.Proposals {
		rows = append(rows, w.yard(y))
	}
	if w.linear == nil {
		return rows
	}
	last := []any{w.headed(w.Say("the average yard"))}
	for s, level := range w.rounds[lastRound].levels {
		last = append(last, reckoned(w.styles.mass, w.mass(level), w.cell(w.names.how, 2+s, w.round(lastRound)+roundLevel)))
	}
	return append(rows, last)
}

func (w *yardsBook) yardHead() []any {
	per := w.Say("per hive")
	if w.plan.Per == yards.PerSuper {
		per = w.Say("per super")
	}
	head := []any{w.headed(fmt.Sprintf("%s, %s %s", w.Say("yard"), w.Mass, per))}
	for _, s := range w.plan.Seasons {
		head = append(head, w.headed(s.Name))
	}
	for _, says := range []string{
		w.Say("its own average"), w.Say("beside the average"), w.Say("visits"), w.Say("a visit costs"), w.Say("honey brings"), w.Say("visits cost"), w.Say("left over"),
	} {
		head = append(head, w.headed(says))
	}
	return head
}

// yard is a yard's row in the first sheet.
func (w *yardsBook) yard(y int) []any {
	p := &w.plan.Proposals[y]
	out := []any{p.Name}
	for s := range w.seasons() {
		i, seen := w.seen[[2]int{y, s}]
		if !seen {
			out = append(out, nil)
			continue
		}
		o := &w.plan.Observations[i]
		out = append(out, excelize.Cell{StyleID: w.styles.mass, Value: w.mass(o.Kg)})
	}
	out = append(out, reckoned(w.styles.mass, w.mass(p.PlainKg), fmt.Sprintf("AVERAGE(%s)", w.kgOf(y))))
	if w.linear == nil {
		out = append(out, nil)
	} else {
		first := w.round(lastRound) + roundYards
		out = append(out, reckoned(w.styles.mass, w.mass((w.shares[y]-meanOf(w.shares))*w.ordinary()),
			fmt.Sprintf("(%s-AVERAGE(%s))*$B$%d", w.cell(w.names.how, shareColumn, first+y), w.down(w.names.how, shareColumn, first), yardsOrdinaryRow)))
	}
	return append(out, w.moneyOf(y)...)
}

// moneyOf are what a yard's visits cost, what its honey brings, and what that leaves.
func (w *yardsBook) moneyOf(y int) []any {
	p, row, after := &w.plan.Proposals[y], w.yardRow(y), 4+w.seasons()
	at := func(n int) string { return fmt.Sprintf("$%s%d", columnName(after+n), row) }
	price, cost := fmt.Sprintf("$B$%d", yardsPriceRow), any(nil)
	each, known := w.plan.VisitCost(p.ID)
	if known {
		cost = excelize.Cell{StyleID: w.styles.figure, Value: each}
	}
	var honey, visits, left any = "", "", ""
	if m := p.Money; m != nil {
		honey, left = m.Honey, m.Left
		if known {
			visits = m.Visits
		}
	}
	return []any{
		excelize.Cell{StyleID: w.styles.figure, Value: p.Visits}, cost,
		reckoned(w.styles.figure, honey, fmt.Sprintf(`IF(%s="","",SUMPRODUCT(%s,%s)/COUNT(%s)*%s)`, price, w.kgOf(y), w.of(unitsBlock, y), w.kgOf(y), price)),
		reckoned(w.styles.figure, visits, fmt.Sprintf(`IF(%s="","",%s*%s)`, at(1), at(0), at(1))),
		reckoned(w.styles.figure, left, fmt.Sprintf(`IF(%s="","",%s-IF(%s="",0,%s))`, price, at(2), at(3), at(3))),
	}
}
