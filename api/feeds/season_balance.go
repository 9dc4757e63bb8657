package feeds

import (
	"errors"
	"fmt"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// balance follows the season's honey from before to after, to the gram. What the runs gave is reckoned of their
// sheet, and what is in tanks goes up and down with it: no dip, fill or wash is thought anew. The constants are
// what runs of other seasons gave in this one's days, less what these gave in others'.
func (w *seasonBook) balance() error {
	const follows = true
	b := w.report.Balance
	in := []balanceLine{
		{w.Say("In tanks before"), b.InTanksBeforeG, false}, {w.Say("In containers before"), b.InContainersBeforeG, false}, {w.Say("Harvested"), b.HarvestedG, follows},
		{w.Say("Unexplained"), b.UnexplainedG, false}, {w.Say("Found by stocktakes"), b.StocktakeGainedG, false},
	}
	out := []balanceLine{
		{w.Say("In tanks after"), b.InTanksG, follows}, {w.Say("In containers after"), b.InContainersG, false}, {w.Say("Dispatched"), b.DispatchedG, false},
		{w.Say("Wasted"), b.WastedG, false}, {w.Say("Washed out"), b.WashedG, false}, {w.Say("Missed by stocktakes"), b.StocktakeLostG, false},
	}
	sheet := w.sheetName(balanceSheet)
	if err := w.page(balanceSheet, upright); err != nil {
		return err
	}
	stream, err := w.NewStreamWriter(sheet)
	if err != nil {
		return err
	}
	if err := errors.Join(stream.SetColWidth(1, 1, 38), stream.SetColWidth(2, 2, 16)); err != nil {
		return err
	}
	if err := stream.SetRow("A1", []any{excelize.Cell{StyleID: w.styles.head, Value: w.Say("Where the honey came from and went")}, excelize.Cell{StyleID: w.dress.rightHead, Value: w.Mass}}); err != nil {
		return err
	}
	next, sumIn, err := w.balanceLines(stream, 2, in)
	if err != nil {
		return err
	}
	next, sumOut, err := w.balanceLines(stream, next+1, out)
	if err != nil {
		return err
	}
	if err := stream.SetRow(fmt.Sprintf("A%d", next+1), []any{w.Say("Difference"), w.massFormula("ROUND("+sumIn+"-"+sumOut+",3)", 0)}); err != nil {
		return err
	}
	return stream.Flush()
}

// balanceLine is a line; follows says that it goes up and down with what the runs gave.
type balanceLine struct {
	what    string
	grams   int64
	follows bool
}

// withRuns reckons grams of what the runs gave in their sheet and of what is beside that.
func (w *seasonBook) withRuns(grams int64) excelize.Cell {
	runs := w.sheets[runsSheet]
	beside := w.view.massOf(float64(grams)) - runs.noted.columns[runs.columnOf("honey_kg")].sum
	return w.massFormula(fmt.Sprintf("ROUND(%s+(%s),6)", w.formula("SUM({Runs.honey_kg})", "", 0), strconv.FormatFloat(beside, 'f', 9, 64)), grams)
}

// balanceLines writes lines and their sum, and says where the next line may be
// and which cell holds the sum. Pounds are written as they come: rounded each, they
// would not add up to the same.
func (w *seasonBook) balanceLines(stream *excelize.StreamWriter, row int, lines []balanceLine) (next int, cell string, err error) {
	first, total := row, int64(0)
	for _, l := range lines {
		mass := excelize.Cell{StyleID: w.styles.decimal[massPlaces], Value: w.view.massOf(float64(l.grams))}
		if l.follows {
			mass = w.withRuns(l.grams)
		}
		if err := stream.SetRow(fmt.Sprintf("A%d", row), []any{l.what, mass}); err != nil {
			return 0, "", err
		}
		total += l.grams
		row++
	}
	err = stream.SetRow(fmt.Sprintf("A%d", row), []any{w.Say("Together"), w.massFormula(fmt.Sprintf("SUM(B%d:B%d)", first, row-1), total)})
	return row + 1, fmt.Sprintf("B%d", row), err
}

// massFormula is a formula with the grams that it comes to, for readers that do not
// reckon.
func (w *seasonBook) massFormula(formula string, grams int64) excelize.Cell {
	return excelize.Cell{StyleID: w.styles.decimal[massPlaces], Formula: formula, Value: w.view.massOf(float64(grams))}
}
