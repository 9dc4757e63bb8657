package api

import (
	"fmt"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/xuri/excelize/v2"

	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/openapi"
)

// GetSeasonWorkbook answers with a season as one workbook that stands alone.
func (s *Server) GetSeasonWorkbook(ctx echo.Context, _ openapi.GetSeasonWorkbookParams) error {
	asked := ctx.QueryParam("season")
	a, err := s.feedAnswer(ctx, seasonWorkbook, "xlsx", asked == "" || asked == latestSeason)
	if err != nil || a == nil {
		return err
	}
	us, err := wantsUS(ctx, a.steps.Outfit)
	if err != nil {
		return err
	}
	w := &seasonBook{File: excelize.NewFile(), view: feedView{outfit: a.steps.Outfit, number: a.steps.Number, us: us}}
	defer w.Close()
	err = a.steps.Look(func(b *ledger.Book) (err error) {
		if w.query, err = s.feedQueryOf(ctx, b); err == nil && w.query.season == nil {
			if w.query.seasonID, err = s.seasonOf(nil, b); err == nil {
				w.query.season = ledger.Named[ledger.Season](b, w.query.seasonID)
			}
		}
		if err != nil {
			return err
		}
		w.view.book, w.loc = b, b.Location()
		if w.report, err = season.Of(b, w.query.seasonID); err != nil {
			return err
		}
		if b.Len() > 0 {
			w.digest = hexText(b.Numbered(b.Len()).Digest)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if headAsked(ctx) {
		a.head(ctx)
		return ctx.NoContent(200)
	}
	if err := w.write(&feedRun{steps: a.steps, view: w.view, loc: w.loc}, s.Now()); err != nil {
		return fmt.Errorf("season workbook: %w", err)
	}
	return s.sendWorkbook(ctx, a, w.File)
}

// seasonBook is a season's workbook being written.
type seasonBook struct {
	*excelize.File
	view   feedView
	loc    *time.Location
	query  feedQuery
	report *season.Report
	digest string
	styles feedStyles
	title  int
}

const (
	coverSheet   = "Cover"
	yardsSheet   = "Yards"
	balanceSheet = "Balance"
)

// seasonSheets are the sheets that feeds fill.
var seasonSheets = []struct {
	sheet string
	table feedTable
}{
	{yardsSheet, yardsFeed}, {"Pulls", pullsFeed}, {"Runs", runsFeed}, {"Tanks", tanksFeed},
	{"Lots", lotsFeed}, {"Verdicts", verdictsFeed}, {"Readings", readingsFeed},
}

func (w *seasonBook) write(run *feedRun, now time.Time) (err error) {
	if w.styles, err = newFeedStyles(w.File); err != nil {
		return err
	}
	if w.title, err = w.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true, Size: 16}}); err != nil {
		return err
	}
	if err := w.SetSheetName("Sheet1", coverSheet); err != nil {
		return err
	}
	for _, one := range seasonSheets {
		if err := w.sheet(run, one.sheet, one.table); err != nil {
			return fmt.Errorf("%s: %w", one.sheet, err)
		}
	}
	if err := w.balance(); err != nil {
		return fmt.Errorf("%s: %w", balanceSheet, err)
	}
	if err := w.cover(now); err != nil {
		return fmt.Errorf("%s: %w", coverSheet, err)
	}
	// Programs that reckon on loading show what the formulas come to even where
	// somebody changed a figure without them.
	return w.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: ptr(true)})
}

// cover says what the workbook is of, with a chart of the yards.
func (w *seasonBook) cover(now time.Time) error {
	mass := "kg"
	if w.view.us {
		mass = "lb"
	}
	rows := [][2]any{
		{w.view.outfit.Name, nil},
		{"Season", w.report.Season.Name},
		{"From", string(w.report.Season.First)},
		{"To", string(w.report.Season.Last)},
		{"Honey, " + mass, toPlaces(w.view.mass(float64(w.report.HoneyG)), massPlaces)},
		{"of that from no known pull, " + mass, toPlaces(w.view.mass(float64(w.report.NoPullG)), massPlaces)},
		{"Up to entry", w.view.number},
		{"whose digest is", w.digest},
		{"Made on", onClock(now, w.loc).Format(time.DateOnly)},
		{"Times are of", w.view.outfit.TimeZone},
	}
	for i, row := range rows {
		if err := w.SetSheetRow(coverSheet, fmt.Sprintf("A%d", i+1), &[]any{row[0], row[1]}); err != nil {
			return err
		}
	}
	for i, caution := range sheetCautions {
		if err := w.SetCellStr(coverSheet, fmt.Sprintf("A%d", len(rows)+2+i), caution.String()); err != nil {
			return err
		}
	}
	if err := w.SetCellStyle(coverSheet, "A1", "A1", w.title); err != nil {
		return err
	}
	if left, err := w.NewStyle(&excelize.Style{Alignment: &excelize.Alignment{Horizontal: "left"}}); err != nil {
		return err
	} else if err := w.SetCellStyle(coverSheet, "B7", "B10", left); err != nil {
		return err
	}
	if figure, err := w.NewStyle(&excelize.Style{NumFmt: 4, Alignment: &excelize.Alignment{Horizontal: "left"}}); err != nil {
		return err
	} else if err := w.SetCellStyle(coverSheet, "B5", "B6", figure); err != nil {
		return err
	}
	if err := w.SetColWidth(coverSheet, "A", "A", 34); err != nil {
		return err
	}
	if err := w.SetColWidth(coverSheet, "B", "B", 70); err != nil {
		return err
	}
	if err := w.page(coverSheet); err != nil || len(w.report.Yards) == 0 {
		return err
	}
	return w.chart(len(rows)+len(sheetCautions)+3, "Honey by yard, "+mass)
}

// chart draws the yards' honey on the cover.
func (w *seasonBook) chart(row int, title string) error {
	names := yardsFeed.without(notPrinted).columnNames(w.view.us)
	honey, yard := "", ""
	for i, name := range names {
		letter, _ := excelize.ColumnNumberToName(i + 1)
		switch {
		case name == "yard":
			yard = letter
		case strings.HasPrefix(name, "honey_"):
			honey = letter
		}
	}
	last := headRow + len(w.report.Yards)
	of := func(letter string) string {
		return fmt.Sprintf("%s!$%s$%d:$%s$%d", yardsSheet, letter, headRow+1, letter, last)
	}
	return w.AddChart(coverSheet, fmt.Sprintf("A%d", row), &excelize.Chart{
		Type:      excelize.Bar,
		Series:    []excelize.ChartSeries{{Name: `"` + title + `"`, Categories: of(yard), Values: of(honey)}},
		Title:     excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: title}}},
		Legend:    excelize.ChartLegend{Position: "none"},
		YAxis:     excelize.ChartAxis{MajorGridLines: true},
		XAxis:     excelize.ChartAxis{ReverseOrder: true},
		Dimension: excelize.ChartDimension{Width: 760, Height: uint(120 + 24*min(len(w.report.Yards), 40))},
	})
}

// balance follows the season's honey from before to after, to the gram.
func (w *seasonBook) balance() error {
	b := w.report.Balance
	in := []balanceLine{
		{"In tanks before", b.InTanksBeforeG}, {"In containers before", b.InContainersBeforeG}, {"Harvested", b.HarvestedG},
		{"Unexplained", b.UnexplainedG}, {"Found by stocktakes", b.StocktakeGainedG},
	}
	out := []balanceLine{
		{"In tanks after", b.InTanksG}, {"In containers after", b.InContainersG}, {"Dispatched", b.DispatchedG},
		{"Wasted", b.WastedG}, {"Washed out", b.WashedG}, {"Missed by stocktakes", b.StocktakeLostG},
	}
	if _, err := w.NewSheet(balanceSheet); err != nil {
		return err
	}
	head := "kg"
	if w.view.us {
		head = "lb"
	}
	if err := w.SetSheetRow(balanceSheet, "A1", &[]any{"Where the honey came from and went", head}); err != nil {
		return err
	}
	next, sumIn, err := w.balanceLines(2, "Together", in)
	if err != nil {
		return err
	}
	_, sumOut, err := w.balanceLines(next+1, "Together", out)
	if err != nil {
		return err
	}
	at := next + len(out) + 3
	if err := w.SetCellStr(balanceSheet, fmt.Sprintf("A%d", at), "Difference"); err != nil {
		return err
	}
	if err := w.formula(balanceSheet, fmt.Sprintf("B%d", at), "ROUND("+sumIn+"-"+sumOut+",3)", 0); err != nil {
		return err
	}
	if err := w.SetCellStyle(balanceSheet, "A1", "B1", w.styles.head); err != nil {
		return err
	}
	if err := w.SetCellStyle(balanceSheet, "B2", fmt.Sprintf("B%d", at), w.styles.decimal[3]); err != nil {
		return err
	}
	if err := w.SetColWidth(balanceSheet, "A", "A", 38); err != nil {
		return err
	}
	if err := w.SetColWidth(balanceSheet, "B", "B", 16); err != nil {
		return err
	}
	return w.page(balanceSheet)
}

type balanceLine struct {
	what  string
	grams int64
}

// balanceLines writes lines and their sum, and says where the next line may be
// and which cell holds the sum.
func (w *seasonBook) balanceLines(row int, sum string, lines []balanceLine) (next int, cell string, err error) {
	first, total := row, int64(0)
	for _, l := range lines {
		if err := w.SetSheetRow(balanceSheet, fmt.Sprintf("A%d", row), &[]any{l.what, toPlaces(w.view.mass(float64(l.grams)), massPlaces)}); err != nil {
			return 0, "", err
		}
		total += l.grams
		row++
	}
	cell = fmt.Sprintf("B%d", row)
	if err := w.SetCellStr(balanceSheet, fmt.Sprintf("A%d", row), sum); err != nil {
		return 0, "", err
	}
	err = w.formula(balanceSheet, cell, fmt.Sprintf("SUM(B%d:B%d)", first, row-1), toPlaces(w.view.mass(float64(total)), massPlaces))
	return row + 1, cell, err
}

// formula writes a formula with what it comes to, for readers that do not
// reckon.
func (w *seasonBook) formula(sheet, cell, formula string, value float64) error {
	if err := w.SetCellFloat(sheet, cell, value, massPlaces, 64); err != nil {
		return err
	}
	return w.SetCellFormula(sheet, cell, formula)
}
