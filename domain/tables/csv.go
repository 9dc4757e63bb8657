package tables

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"

	"pullbook/domain/fault"
)

// mostColumns bounds a row: no sheet of a honey house has more, and a file of
// separators alone is none.
const mostColumns = 1000

// CSV reads a text file as a table: any of the encodings of Text; fields between
// commas, semicolons, tabs or bars; quotes as RFC 4180 has them, or as people
// leave them. It returns the encoding found. The error is that of Text; what is
// wrong with a row is told by Rows. The table keeps data, which may be changed.
func CSV(data []byte) (*Table, string, error) {
	text, encoding, err := Text(data)
	if err != nil {
		return nil, encoding, err
	}
	if bytes.IndexByte(text, '\n') < 0 {
		for i := range text { // as an old Macintosh ends its lines
			if text[i] == '\r' {
				text[i] = '\n'
			}
		}
	}
	t := &Table{}
	skipped := 0
	if rest, found := bytes.CutPrefix(text, []byte("sep=")); found && len(rest) > 1 && (rest[1] == '\n' || rest[1] == '\r') {
		// Some programs write the separator into a first line of its own.
		t.Separator = rune(rest[0])
		text, skipped = bytes.TrimLeft(rest[1:], "\r\n"), 1
	}
	if !strings.ContainsRune(separators, t.Separator) {
		t.Separator = separatorOf(text)
	}
	t.Rows = func(yield func(int, []string) bool) error {
		return rowsOf(text, t.Separator, skipped, yield)
	}
	return t, encoding, nil
}

// rowsOf walks the records. A record's number is that of its line, less the lines
// that were broken within quotes before it: so a spreadsheet program counts too.
func rowsOf(text []byte, separator rune, skipped int, yield func(int, []string) bool) error {
	in := &rowReader{in: bytes.NewReader(text)}
	reader := csv.NewReader(in)
	reader.Comma, reader.FieldsPerRecord, reader.LazyQuotes, reader.ReuseRecord = separator, -1, true, true
	broken := 0
	for {
		from := reader.InputOffset()
		in.left = mostRow
		fields, err := reader.Read()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.Is(err, errLongRow):
			row := 1 + bytes.Count(text[:from], []byte("\n")) - broken + skipped
			return fault.New(fault.TooLarge, "Row %s is longer than %s kB, and no row of a table is: is a quotation mark opened in it and never closed, or is this no table?", row, mostRow>>10)
		case err != nil:
			return fault.New(fault.Malformed, "The file is no table: %s.", err.Error())
		}
		line, _ := reader.FieldPos(0)
		row := line - broken + skipped
		if len(fields) > mostColumns {
			return fault.New(fault.Malformed, "Row %s has %s columns, and %s are the most: is the separator between its fields another one, or does something stand far to the right of the table?", row, len(fields), mostColumns)
		}
		if to := int(reader.InputOffset()); to == len(text) && leftOpen(text[from:to]) {
			return fault.New(fault.Malformed, "A quotation mark is opened in row %s and never closed, so that all below it is one cell: close it, or leave it out.", row)
		}
		empty := true
		for i, f := range fields {
			broken += strings.Count(f, "\n")
			fields[i] = strings.TrimSpace(f)
			empty = empty && fields[i] == ""
		}
		if !empty && !yield(row, fields) {
			return nil
		}
	}
}

// mostRow bounds a row, so that a file without an end of line is not read as one.
const mostRow = 1 << 20

var errLongRow = errors.New("a row is too long")

// rowReader gives up where one row takes more than is left for it.
type rowReader struct {
	in   *bytes.Reader
	left int
}

func (r *rowReader) Read(into []byte) (int, error) {
	if r.left <= 0 {
		return 0, errLongRow
	}
	n, err := r.in.Read(into[:min(len(into), r.left)])
	r.left -= n
	return n, err
}

// leftOpen reports whether the last record of a file goes over several lines for
// want of a closing quote.
func leftOpen(record []byte) bool {
	return bytes.IndexByte(bytes.TrimSpace(record), '\n') >= 0 && bytes.Count(record, []byte{'"'})%2 == 1
}

// separators are the candidates, the ones that no figure holds first.
const separators = "\t;|,"

// separatorOf takes the first candidate that parts all of the first lines into one
// same number of fields; where titles stand above the table, the one that parts most:
// into most fields, as many in most lines.
func separatorOf(text []byte) rune {
	const sample = 100
	best, score := ',', 0
	for _, candidate := range separators {
		counts, lines := map[int]int{}, 0
		_ = rowsOf(text[:min(len(text), 1<<16)], candidate, 0, func(_ int, cells []string) bool {
			lines++
			counts[len(cells)]++
			return lines < sample
		})
		for fields, n := range counts {
			if n == lines && fields > 1 {
				return candidate
			}
			if parted := n * (fields - 1); parted > score {
				best, score = candidate, parted
			}
		}
	}
	return best
}
