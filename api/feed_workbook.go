package api

import (
	"fmt"
	"io"
	"net/http"
	"os"

	"github.com/labstack/echo/v4"
	"github.com/xuri/excelize/v2"
)

// feedWorkbook answers with a feed as a workbook of one sheet. It is made in
// whole before any of it is sent, in a temporary file where it is large.
func (s *Server) feedWorkbook(ctx echo.Context, a *feedAnswer, rows *feedRun) (err error) {
	if headAsked(ctx) {
		a.head(ctx)
		return ctx.NoContent(http.StatusOK)
	}
	f := excelize.NewFile()
	defer f.Close()
	if err := rows.fill(f); err != nil {
		return err
	}
	return s.sendWorkbook(ctx, a, f)
}

// fill writes a feed's rows into a workbook's first sheet.
func (r *feedRun) fill(f *excelize.File) error {
	styles, err := newFeedStyles(f)
	if err != nil {
		return err
	}
	name := r.table.title()
	if err := f.SetSheetName(f.GetSheetName(0), name); err != nil {
		return err
	}
	stream, err := f.NewStreamWriter(name)
	if err != nil {
		return err
	}
	names := r.names()
	if err := stream.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	for i, form := range r.table.columnForms() {
		if err := stream.SetColWidth(i+1, i+1, max(widthOf[form], float64(len(names[i])+2))); err != nil {
			return err
		}
	}
	out := &sheetCells{stream: stream, styles: styles, loc: r.loc}
	out.begin()
	for _, name := range names {
		out.add(excelize.Cell{StyleID: styles.head, Value: name})
	}
	if err := out.end(); err != nil {
		return err
	}
	if err := r.each(out, func() error { return nil }); err != nil {
		return err
	}
	return stream.Flush()
}

// widthOf is how many characters values of a form take.
var widthOf = map[form]float64{
	formText: 16, formID: 37, formWhole: 8, formDecimal: 10, formMass: 12, formCelsius: 10, formDay: 11, formInstant: 19, formYes: 8,
}

// sendWorkbook writes a workbook to a temporary file and sends that: so its
// length is known, and what goes wrong is told before anything is sent.
func (s *Server) sendWorkbook(ctx echo.Context, a *feedAnswer, f *excelize.File) error {
	file, err := os.CreateTemp("", "pullbook-*.xlsx")
	if err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	defer os.Remove(file.Name())
	defer file.Close()
	if _, err := f.WriteTo(file); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	size, err := file.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	patience := s.patience(ctx)
	if err := patience(); err != nil {
		return err
	}
	a.head(ctx)
	ctx.Response().Header().Set("Content-Length", fmt.Sprint(size))
	ctx.Response().WriteHeader(http.StatusOK)
	for sent := int64(0); sent < size; {
		n, err := io.CopyN(ctx.Response(), file, min(size-sent, sendAtOnce))
		if err != nil {
			return err
		}
		sent += n
		if err := patience(); err != nil {
			return err
		}
	}
	return nil
}

// sendAtOnce is what a reader may take as long for as for one request.
const sendAtOnce = 1 << 20
