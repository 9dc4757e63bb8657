package feeds

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/xuri/excelize/v2"

	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/openapi"
)

// GetSeasonWorkbook answers with a season as one workbook that stands alone.
func (s Handler) GetSeasonWorkbook(ctx echo.Context, _ openapi.GetSeasonWorkbookParams) error {
	language := workbookLanguage(ctx)
	a, err := s.answer(ctx, SeasonWorkbook, "xlsx", true, language.Lang)
	if err != nil || a == nil {
		return err
	}
	us := wantsUS(ctx, a.steps.Outfit)
	w := &seasonBook{File: excelize.NewFile(), view: view{outfit: a.steps.Outfit, number: a.steps.Number, us: us}}
	w.Voice = locale.NewVoice(language, map[bool]string{true: "us"}[us], nil)
	if language.Lang != locale.English.Lang {
		w.view.voice = w.Voice
	}
	defer w.Close()
	err = a.steps.Step(func(b *ledger.Book) (err error) {
		if w.query, err = s.queryOf(ctx, b); err == nil && w.query.season == nil {
			if w.query.seasonID, err = reports.SeasonOf(s.Service, nil, b); err == nil {
				w.query.season = ledger.Named[ledger.Season](b, w.query.seasonID)
			}
		}
		if err != nil {
			return err
		}
		w.view.book, w.loc = b, b.Location()
		w.Voice.Zone = w.loc
		if w.report, err = season.Of(b, w.query.seasonID); err != nil {
			return err
		}
		if b.Len() > 0 {
			w.digest = request.Hex(b.Numbered(b.Len()).Digest)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if request.HeadAsked(ctx) {
		a.head(ctx)
		return ctx.NoContent(200)
	}
	leave, err := s.Large.Enter(ctx.Request().Context(), a.steps.Outfit.ID)
	if err != nil {
		return err
	}
	defer leave()
	w.client = request.ClientOf(ctx)
	if err := w.write(&run{steps: a.steps, view: w.view, loc: w.loc}, s.Now()); err != nil {
		return fmt.Errorf("season workbook: %w", err)
	}
	return s.sendWorkbook(ctx, a, w.File)
}

// workbookLanguage is the language that a workbook is asked for in; to a page that of
// its reader, to a program English.
func workbookLanguage(ctx echo.Context) locale.Language {
	switch asked := ctx.QueryParam("language"); {
	case asked == "" && ctx.Get(request.PageKey) != nil:
		return request.LanguageOf(ctx)
	case asked == "" || asked == locale.English.Lang:
		return locale.English
	default:
		return locale.LanguageFor(asked)
	}
}

// seasonBook is a season's workbook being written.
type seasonBook struct {
	*excelize.File
	locale.Voice
	// client ends when whoever asked has left.
	client context.Context
	view   view
	loc    *time.Location
	query  query
	report *season.Report
	digest string
	styles styles
	dress  sheetDress
}

const (
	coverSheet   = "Cover"
	yardsSheet   = "Yards"
	balanceSheet = "Balance"
)

// sheetName is what a sheet is called.
func (w *seasonBook) sheetName(sheet string) string { return w.Say("sheet name|" + sheet) }

// seasonSheets are the sheets that feeds fill.
var seasonSheets = []struct {
	sheet string
	table table
}{
	{yardsSheet, yardsFeed}, {"Pulls", pullsFeed}, {"Runs", runsFeed}, {"Tanks", tanksFeed},
	{"Lots", lotsFeed}, {"Verdicts", verdictsFeed}, {"Readings", readingsFeed},
}

func (w *seasonBook) write(run *run, now time.Time) (err error) {
	if w.styles, err = newStyles(w.File); err != nil {
		return err
	}
	if w.dress, err = newSheetDress(w.File); err != nil {
		return err
	}
	if err := w.SetSheetName("Sheet1", w.sheetName(coverSheet)); err != nil {
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
	return w.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: new(true)})
}

// cover says what the workbook is of, with a chart of the yards.
func (w *seasonBook) cover(now time.Time) error {
	cover, season := w.sheetName(coverSheet), w.report.Season
	rows := []struct {
		what  string
		value any
		style int
	}{
		{w.view.outfit.Name, nil, 0},
		{w.Say("Season"), season.Name, w.dress.left},
		{w.Say("season|From"), dayOf(season.First), w.dress.leftDay},
		{w.Say("season|To"), dayOf(season.Last), w.dress.leftDay},
		{w.Say("Honey, %s", w.Mass), toPlaces(w.view.massOf(float64(w.report.HoneyG)), massPlaces), w.dress.leftFigure},
		{w.Say("of that from no known pull, %s", w.Mass), toPlaces(w.view.massOf(float64(w.report.NoPullG)), massPlaces), w.dress.leftFigure},
		{w.Say("Up to entry"), w.view.number, w.dress.left},
		{w.Say("whose digest is"), w.digest, w.dress.left},
		{w.Say("Made on"), onClock(now, w.loc).Truncate(24 * time.Hour), w.dress.leftDay},
		{w.Say("Times are of"), w.view.outfit.TimeZone, w.dress.left},
	}
	for i, row := range rows {
		at := fmt.Sprintf("B%d", i+1)
		if err := errors.Join(w.SetSheetRow(cover, fmt.Sprintf("A%d", i+1), &[]any{row.what, row.value}), w.SetCellStyle(cover, at, at, row.style)); err != nil {
			return err
		}
	}
	for i, caution := range quality.CertificateCautions {
		if err := w.SetCellStr(cover, fmt.Sprintf("A%d", len(rows)+2+i), caution.In(w.Voice)); err != nil {
			return err
		}
	}
	if err := errors.Join(
		w.SetCellStyle(cover, "A1", "A1", w.dress.title),
		w.SetColWidth(cover, "A", "A", 34), w.SetColWidth(cover, "B", "B", 70),
		w.page(coverSheet),
	); err != nil || len(w.report.Yards) == 0 {
		return err
	}
	return w.chart(len(rows)+len(quality.CertificateCautions)+3, w.Say("Honey by yard, %s", w.Mass))
}

// dayOf is a day as a sheet keeps it.
func dayOf(d ledger.Date) any {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return nil
	}
	return t
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
		return fmt.Sprintf("'%s'!$%s$%d:$%s$%d", w.sheetName(yardsSheet), letter, headRow+1, letter, last)
	}
	fill := excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"D99A1C"}}
	labels := excelize.Font{Family: "Calibri", Size: 9, Color: "333333"}
	return w.AddChart(w.sheetName(coverSheet), fmt.Sprintf("A%d", row), &excelize.Chart{
		Type:       excelize.Bar,
		Series:     []excelize.ChartSeries{{Name: `"` + title + `"`, Categories: of(yard), Values: of(honey), Fill: fill}},
		Title:      excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: title, Font: bold(12)}}},
		Legend:     excelize.ChartLegend{Position: "none"},
		VaryColors: new(false),
		YAxis:      excelize.ChartAxis{MajorGridLines: true, Font: labels},
		XAxis:      excelize.ChartAxis{ReverseOrder: true, Font: labels},
		Dimension:  excelize.ChartDimension{Width: 730, Height: uint(110 + 20*min(len(w.report.Yards), 60))},
	})
}

// balance follows the season's honey from before to after, to the gram.
func (w *seasonBook) balance() error {
	b := w.report.Balance
	in := []balanceLine{
		{w.Say("In tanks before"), b.InTanksBeforeG}, {w.Say("In containers before"), b.InContainersBeforeG}, {w.Say("Harvested"), b.HarvestedG},
		{w.Say("Unexplained"), b.UnexplainedG}, {w.Say("Found by stocktakes"), b.StocktakeGainedG},
	}
	out := []balanceLine{
		{w.Say("In tanks after"), b.InTanksG}, {w.Say("In containers after"), b.InContainersG}, {w.Say("Dispatched"), b.DispatchedG},
		{w.Say("Wasted"), b.WastedG}, {w.Say("Washed out"), b.WashedG}, {w.Say("Missed by stocktakes"), b.StocktakeLostG},
	}
	sheet := w.sheetName(balanceSheet)
	if err := w.page(balanceSheet); err != nil {
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

type balanceLine struct {
	what  string
	grams int64
}

// balanceLines writes lines and their sum, and says where the next line may be
// and which cell holds the sum. Pounds are written as they come: rounded each, they
// would not add up to the same.
func (w *seasonBook) balanceLines(stream *excelize.StreamWriter, row int, lines []balanceLine) (next int, cell string, err error) {
	first, total := row, int64(0)
	for _, l := range lines {
		mass := excelize.Cell{StyleID: w.styles.decimal[massPlaces], Value: w.view.massOf(float64(l.grams))}
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
