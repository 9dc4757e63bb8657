package bringin

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/fault"
	"pullbook/domain/say"
	"pullbook/domain/sheet"
)

// mostUnpacked bounds what a workbook may come to when it is unpacked: a few
// kilobytes can come to terabytes, made so on purpose.
const mostUnpacked = 192 << 20

// workbook reads a workbook's sheets: their values as the spreadsheet program last
// worked them out. Nothing in it is run, and no other file is asked.
func (f *File) workbook(data []byte) error {
	if err := f.unpacked(data); err != nil {
		return err
	}
	book, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: mostUnpacked, UnzipXMLSizeLimit: mostUnpacked,
	})
	if err != nil {
		return fault.New(fault.Malformed, "The workbook cannot be read (%s): open it in a spreadsheet program and save it as .xlsx or CSV.", err.Error())
	}
	defer book.Close()
	props, err := book.GetWorkbookProps()
	from1904 := err == nil && props.Date1904 != nil && *props.Date1904
	for _, name := range book.GetSheetList() {
		if visible, err := book.GetSheetVisible(name); err == nil && !visible {
			f.Notices = append(f.Notices, say.F("The sheet %s is hidden and was not read.", say.Quoted(name)))
			continue
		}
		t, err := tableOf(book, name)
		if err != nil {
			return err
		}
		if t != nil {
			t.Epoch1904 = from1904
			f.Tables = append(f.Tables, t)
		}
	}
	if len(f.Tables) == 0 {
		return fault.New(fault.Malformed, "The workbook has no sheet that holds anything.")
	}
	return nil
}

// unpacked looks at a workbook's parts before they are read: how much they come to,
// and whether there is something that is not read.
func (f *File) unpacked(data []byte) error {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return fault.New(fault.Malformed, "The workbook is damaged: it was cut short, or is no workbook.")
	}
	left := int64(mostUnpacked)
	var macros, links, unworked, isBook bool
	for _, part := range archive.File {
		var text bytes.Buffer
		into := io.Discard
		if isSheet := strings.HasPrefix(part.Name, "xl/worksheets/"); isSheet {
			into = &text
		}
		n, err := inflate(into, part, left)
		if err != nil {
			return err
		}
		left -= n
		macros = macros || strings.HasSuffix(part.Name, "vbaProject.bin")
		links = links || strings.HasPrefix(part.Name, "xl/externalLinks/")
		isBook = isBook || part.Name == "xl/workbook.xml"
		unworked = unworked || bytes.Contains(text.Bytes(), []byte("</f></c>")) || bytes.Contains(text.Bytes(), []byte("</f><v></v></c>"))
	}
	if !isBook {
		return fault.New(fault.Malformed, "This is a packed file, but no workbook: save the sheet as .xlsx or CSV.")
	}
	if macros {
		f.Notices = append(f.Notices, say.F("The workbook has macros. They were not run: only the values in its cells are read."))
	}
	if links {
		f.Notices = append(f.Notices, say.F("The workbook refers to other files. They were not asked: the values are those of when it was last saved."))
	}
	if unworked {
		f.Notices = append(f.Notices, say.F("Some formulas were never worked out, and their cells are read as empty: open the workbook in a spreadsheet program and save it once."))
	}
	return nil
}

// inflate unpacks a part, as far as is allowed, whatever size it says it has.
func inflate(into io.Writer, part *zip.File, most int64) (int64, error) {
	tooLarge := fault.New(fault.TooLarge, "Unpacked, the workbook comes to more than %s MB: no sheet of a honey house does. It was not read. Save the sheet as CSV.", mostUnpacked>>20)
	if part.UncompressedSize64 > uint64(most) {
		return 0, tooLarge
	}
	in, err := part.Open()
	if err == nil {
		defer in.Close()
		var n int64
		n, err = io.Copy(into, io.LimitReader(in, most+1))
		if n > most {
			return n, tooLarge
		}
		if err == nil {
			return n, nil
		}
	}
	return 0, fault.New(fault.Malformed, "The workbook is damaged: its part %s cannot be unpacked.", part.Name)
}

// mostCells bounds a sheet.
const mostCells = 20_000_000

// tableOf reads a sheet; nil where it holds nothing.
func tableOf(book *excelize.File, name string) (*sheet.Table, error) {
	rows, err := book.Rows(name)
	if err != nil {
		return nil, unreadable(name, err)
	}
	defer rows.Close()
	type row struct {
		number int
		cells  []string
	}
	var all []row
	cells := 0
	for n := 1; rows.Next(); n++ {
		values, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, unreadable(name, err)
		}
		if len(values) > mostColumns {
			return nil, fault.New(fault.Malformed, "Row %s of the sheet %s has %s columns, and %s are the most.", n, say.Quoted(name), len(values), mostColumns)
		}
		if cells += len(values); cells > mostCells {
			return nil, fault.New(fault.TooLarge, "The sheet %s has more than %s cells: save it as CSV.", say.Quoted(name), mostCells)
		}
		empty := true
		for i := range values {
			values[i] = strings.TrimSpace(values[i])
			empty = empty && values[i] == ""
		}
		if !empty {
			all = append(all, row{n, values})
		}
	}
	if err := rows.Error(); err != nil {
		return nil, unreadable(name, err)
	}
	if len(all) == 0 {
		return nil, nil
	}
	t := &sheet.Table{Name: name, Serials: true}
	t.Rows = func(yield func(int, []string) bool) error {
		for _, r := range all {
			if !yield(r.number, r.cells) {
				return nil
			}
		}
		return nil
	}
	t.Merged, err = mergedOf(book, name)
	return t, err
}

// mostColumns bounds a row, as in a text file.
const mostColumns = 1000

func mergedOf(book *excelize.File, name string) (out []sheet.Span, err error) {
	merged, err := book.GetMergeCells(name, true)
	if err != nil {
		return nil, unreadable(name, err)
	}
	for _, m := range merged {
		first, row, err1 := excelize.CellNameToCoordinates(m.GetStartAxis())
		last, _, err2 := excelize.CellNameToCoordinates(m.GetEndAxis())
		if errors.Join(err1, err2) == nil {
			out = append(out, sheet.Span{Row: row, First: first - 1, Last: last - 1})
		}
	}
	return out, nil
}

func unreadable(name string, err error) error {
	return fault.New(fault.Malformed, "The sheet %s cannot be read (%s): open the workbook in a spreadsheet program and save it as .xlsx or CSV.", say.Quoted(name), err.Error())
}
