package feeds

import (
	"context"
	"fmt"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/xuri/excelize/v2"

	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db/books"
	"pullbook/domain/ledger"
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
	w := &seasonBook{File: excelize.NewFile(), view: view{outfit: a.steps.Outfit, us: us}, client: request.ClientOf(ctx)}
	w.Voice = locale.NewVoice(language, map[bool]string{true: "us"}[us], nil)
	defer w.Close()
	if err := a.steps.Step(func(b *ledger.Book) error { return w.ask(s, ctx, b) }); err != nil {
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
	defer w.closeRows()
	if err := w.take(a.steps); err != nil {
		return fmt.Errorf("season workbook: %w", err)
	}
	if err := w.write(s.Now()); err != nil {
		return fmt.Errorf("season workbook: %w", err)
	}
	return s.sendWorkbook(ctx, a, w.File)
}

// ask finds the season that is asked for, the latest where none is.
func (w *seasonBook) ask(s Handler, ctx echo.Context, b *ledger.Book) (err error) {
	if w.query, err = s.queryOf(ctx, b); err == nil && w.query.season == nil {
		if w.query.seasonID, err = reports.SeasonOf(s.Service, nil, b); err == nil {
			w.query.season = ledger.Named[ledger.Season](b, w.query.seasonID)
		}
	}
	return err
}

// take takes from the book all that the workbook has, sheet by sheet, so that others record in between. Where
// somebody did, the sheets are of two books: all is taken once more, and at the last with the book held for all
// of it, since formulas lead from one sheet to another.
func (w *seasonBook) take(steps *books.Cursor) error {
	for range 2 {
		same, err := w.takeBySheet(steps.Step)
		if err != nil || same {
			return err
		}
		w.closeRows()
	}
	return steps.Step(func(b *ledger.Book) error {
		_, err := w.takeBySheet(func(f func(*ledger.Book) error) error { return f(b) })
		return err
	})
}

// takeBySheet takes each sheet in a step of its own, and reports whether nothing was recorded between them.
func (w *seasonBook) takeBySheet(step func(func(*ledger.Book) error) error) (same bool, err error) {
	if err := step(w.read); err != nil {
		return false, err
	}
	for _, s := range w.order {
		same := false
		err := step(func(b *ledger.Book) error {
			if same = b.Len() == w.view.number; !same {
				return nil
			}
			w.view.book = b
			return s.note(&w.query, &w.view)
		})
		if err != nil || !same {
			return false, err
		}
	}
	return true, nil
}

// read takes what the sheets have in common, and begins them.
func (w *seasonBook) read(b *ledger.Book) (err error) {
	w.view.book, w.view.number, w.loc = b, b.Len(), b.Location()
	w.Voice.Zone = w.loc
	w.query.yardsOnly = true // the cover has the rest
	w.view.voice = w.Voice
	w.sheets, w.order = map[string]*seasonSheet{}, nil
	for _, one := range seasonTables() {
		s := &seasonSheet{sheet: one.sheet, table: one.table, metric: one.table.columnNames(false), forms: one.table.columnForms()}
		s.noted = newNotedRows(len(s.metric))
		w.sheets[one.sheet], w.order = s, append(w.order, s)
	}
	w.digest = request.Hex(b.Numbered(b.Len()).Digest)
	w.report, err = season.Of(b, w.query.seasonID)
	return err
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
	// sheets are those of rows, by their names in English, and in their order.
	sheets map[string]*seasonSheet
	order  []*seasonSheet
	styles styles
	dress  sheetDress
}

// sheetName is what a sheet is called.
func (w *seasonBook) sheetName(sheet string) string { return w.Say("sheet name|" + sheet) }

func (w *seasonBook) write(now time.Time) (err error) {
	if w.styles, err = newStyles(w.File); err != nil {
		return err
	}
	if w.styles.instant, err = w.NewStyle(&excelize.Style{CustomNumFmt: new("yyyy-mm-dd hh:mm"), Alignment: &excelize.Alignment{Vertical: "top"}}); err != nil {
		return err
	}
	if w.dress, err = newSheetDress(w.File); err != nil {
		return err
	}
	if err := w.SetSheetName("Sheet1", w.sheetName(coverSheet)); err != nil {
		return err
	}
	w.name()
	for _, s := range w.order {
		if err := w.sheet(s); err != nil {
			return fmt.Errorf("%s: %w", s.sheet, err)
		}
	}
	if err := w.balance(); err != nil {
		return fmt.Errorf("%s: %w", balanceSheet, err)
	}
	if err := w.legend(); err != nil {
		return fmt.Errorf("%s: %w", legendSheet, err)
	}
	if err := w.cover(now); err != nil {
		return fmt.Errorf("%s: %w", coverSheet, err)
	}
	// Programs that reckon on loading show what the formulas come to even where
	// somebody changed a figure without them.
	return w.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: new(true)})
}

// dayOf is a day as a sheet keeps it.
func dayOf(d ledger.Date) any {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return nil
	}
	return t
}
