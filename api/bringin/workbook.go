package bringin

import (
	"archive/zip"
	"bytes"
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
	marks, err := f.unpacked(data)
	if err != nil {
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
		t, err := tableOf(book, name, marks[name])
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
// whether there is something that is not read, and what excelize does not tell of
// its sheets.
func (f *File) unpacked(data []byte) (sheets map[string]*marks, err error) {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fault.New(fault.Malformed, "The workbook is damaged: it was cut short, or is no workbook.")
	}
	left := int64(mostUnpacked)
	var macros, links, unworked bool
	var book, targets []byte
	parts := map[string]*marks{}
	for _, part := range archive.File {
		var text bytes.Buffer
		into := io.Discard
		isSheet := strings.HasPrefix(part.Name, "xl/worksheets/")
		if isSheet || part.Name == bookPart || part.Name == targetsPart {
			into = &text
		}
		n, err := inflate(into, part, left)
		if err != nil {
			return nil, err
		}
		left -= n
		macros = macros || strings.HasSuffix(part.Name, "vbaProject.bin")
		links = links || strings.HasPrefix(part.Name, "xl/externalLinks/")
		switch {
		case isSheet:
			parts[part.Name] = marksOf(text.Bytes())
			unworked = unworked || len(parts[part.Name].unworked) > 0
		case part.Name == bookPart:
			book = text.Bytes()
		case part.Name == targetsPart:
			targets = text.Bytes()
		}
	}
	if book == nil {
		return nil, fault.New(fault.Malformed, "This is a packed file, but no .xlsx workbook: save the sheet as .xlsx or CSV.")
	}
	if macros {
		f.Notices = append(f.Notices, say.F("The workbook has macros. They were not run: only the values in its cells are read."))
	}
	if links {
		f.Notices = append(f.Notices, say.F("The workbook refers to other files. They were not asked: the values are those of when it was last saved."))
	}
	if unworked {
		f.Notices = append(f.Notices, say.F("Some formulas were never worked out, so that their cells have no values to be read: open the workbook in a spreadsheet program and save it once."))
	}
	return byName(book, targets, parts), nil
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

// tableOf reads a sheet; nil where it holds nothing. m is what its part told beside
// the values; nil where it was not found.
func tableOf(book *excelize.File, name string, m *marks) (*sheet.Table, error) {
	if m != nil && m.misplaced != "" {
		return nil, fault.New(fault.Malformed, "The rows of the sheet %s do not stand in order (row %s): open the workbook in a spreadsheet program and save it as .xlsx or CSV.", say.Quoted(name), m.misplaced)
	}
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
			return nil, fault.New(fault.Malformed, "Row %s of the sheet %s has %s columns, and %s are the most: delete what stands far to the right of the table.", n, say.Quoted(name), len(values), mostColumns)
		}
		if cells += len(values); cells > mostCells {
			return nil, fault.New(fault.TooLarge, "The sheet %s has more than %s cells: save it as CSV.", say.Quoted(name), mostCells)
		}
		values = m.row(n, values)
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
	return t, m.tell(t)
}

// mostColumns bounds a row, as in a text file.
const mostColumns = 1000

func unreadable(name string, err error) error {
	return fault.New(fault.Malformed, "The sheet %s cannot be read (%s): open the workbook in a spreadsheet program and save it as .xlsx or CSV.", say.Quoted(name), err.Error())
}
