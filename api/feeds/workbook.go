package feeds

import (
	"archive/zip"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"

	"github.com/labstack/echo/v4"
	"github.com/xuri/excelize/v2"

	"pullbook/api/request"
)

// workbook answers with a feed as a workbook of one sheet. It is made in
// whole before any of it is sent, in a temporary file where it is large.
func (s Handler) workbook(ctx echo.Context, a *answer, rows *run) (err error) {
	if request.HeadAsked(ctx) {
		a.head(ctx)
		return ctx.NoContent(http.StatusOK)
	}
	leave, err := s.Large.Enter(ctx.Request().Context(), a.steps.Outfit.ID)
	if err != nil {
		return err
	}
	defer leave()
	f := excelize.NewFile()
	defer f.Close()
	if err := rows.fill(request.ClientOf(ctx), f); err != nil {
		return err
	}
	return s.sendWorkbook(ctx, a, f)
}

// fill writes a feed's rows into a workbook: into its first sheet, and where a sheet
// is full into further ones. It gives up once the client has left.
func (r *run) fill(client context.Context, f *excelize.File) error {
	styles, err := newStyles(f)
	if err != nil {
		return err
	}
	out := &sheetCells{styles: styles, loc: r.loc, most: mostSheetRows}
	return r.fillSheets(f, out, func(out cells) error { return r.each(out, client.Err) })
}

// fillSheets begins the first sheet, has the rows written, and begins a further sheet
// whenever one is full.
func (r *run) fillSheets(f *excelize.File, out *sheetCells, rows func(cells) error) (err error) {
	if err := f.SetSheetName(f.GetSheetName(0), r.table.title()); err != nil {
		return err
	}
	if out.stream, err = r.sheet(f, out, r.table.title()); err != nil {
		return err
	}
	sheets, at := 1, r.table.title()
	out.full = func() error {
		if err := out.filtered(at, len(r.names())); err != nil {
			return err
		}
		sheets++
		name := fmt.Sprintf("%s %d", r.table.title(), sheets)
		at = name
		if err := out.goesOn(name); err != nil {
			return err
		}
		if _, err := f.NewSheet(name); err != nil {
			return err
		}
		out.stream, err = r.sheet(f, out, name)
		return err
	}
	if err := rows(out); err != nil {
		return err
	}
	if err := out.filtered(at, len(r.names())); err != nil {
		return err
	}
	return out.stream.Flush()
}

// sheet begins a sheet of the feed with the names of its columns.
func (r *run) sheet(f *excelize.File, out *sheetCells, name string) (*excelize.StreamWriter, error) {
	stream, err := f.NewStreamWriter(name)
	if err != nil {
		return nil, err
	}
	out.stream, out.row = stream, 0
	names := r.names()
	if err := stream.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return nil, err
	}
	for i, form := range r.table.columnForms() {
		if err := stream.SetColWidth(i+1, i+1, max(widthOf[form], float64(len(names[i])+2))); err != nil {
			return nil, err
		}
	}
	return stream, out.heads(names)
}

// widthOf is how many characters values of a form take.
var widthOf = map[form]float64{
	formText: 16, formID: 37, formWhole: 8, formDecimal: 10, formMass: 12, formCelsius: 10, formDay: 11, formInstant: 19, formYes: 8,
}

// sendWorkbook writes a workbook to a temporary file and sends that: so its
// length is known, and what goes wrong is told before anything is sent.
func (s Handler) sendWorkbook(ctx echo.Context, a *answer, f *excelize.File) error {
	file, err := os.CreateTemp("", "pullbook-*.xlsx")
	if err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	defer os.Remove(file.Name())
	defer file.Close()
	if err := pack(f, file); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	size, err := file.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	patience := s.Patience(ctx)
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

// pack writes a workbook part by part. By itself excelize holds all of it in memory
// before it writes the first byte.
func pack(f *excelize.File, to io.Writer) error {
	f.SetZipWriter(func(io.Writer) excelize.ZipWriter { return zip.NewWriter(to) })
	_, err := f.WriteTo(io.Discard)
	return err
}

// sendAtOnce is what a reader may take as long for as for one request.
const sendAtOnce = stepBytes
