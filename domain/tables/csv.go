package tables

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"

	"pullbook/domain/fault"
)

// mostColumns bounds a row: no sheet of a honey house has more, and a file of
// separators alone is none.
const mostColumns = 1000

// CSV is CSVFrom for a file that is in memory.
func CSV(data []byte) (*Table, string, error) {
	return CSVFrom(bytes.NewReader(data), int64(len(data)))
}

// CSVFrom reads a text file as a table: UTF-8, UTF-16 or Windows-1252; fields between
// commas, semicolons, tabs or bars; quotes as RFC 4180 has them, or as people
// leave them. It returns the encoding found. The error is ErrNoText, a *ZeroBytesError or
// that of in; what is wrong with a row is told by Rows. The table reads in whenever its
// rows are walked, and keeps nothing of it.
func CSVFrom(in io.ReaderAt, size int64) (*Table, string, error) {
	text, err := textOf(in, size)
	if err != nil {
		return nil, text.encoding, err
	}
	head, err := text.reader().Peek(separatorSample)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, text.encoding, err
	}
	head = slices.Clone(head)
	if !text.hasLines {
		asLines(head)
	}
	t := &Table{}
	skipped, above := 0, 0
	if rest, found := bytes.CutPrefix(head, []byte("sep=")); found && len(rest) > 1 && (rest[1] == '\n' || rest[1] == '\r') {
		// Some programs write the separator into a first line of its own.
		t.Separator = rune(rest[0])
		rest, skipped = bytes.TrimLeft(rest[1:], "\r\n"), 1
		above, head = len(head)-len(rest), rest
	}
	if !strings.ContainsRune(separators, t.Separator) {
		t.Separator = separatorOf(head)
	}
	t.Rows = func(yield func(int, []string) bool) error {
		from := text.reader()
		if _, err := from.Discard(above); err != nil {
			return err
		}
		return rowsOf(&rowReader{in: from, asLines: !text.hasLines}, t.Separator, skipped, yield)
	}
	return t, text.encoding, nil
}

// asLines ends lines as they end today, where an old Macintosh ended them otherwise.
func asLines(text []byte) {
	for i := range text {
		if text[i] == '\r' {
			text[i] = '\n'
		}
	}
}

// rowsOf walks the records. A record's number is that of its line, less the lines
// that were broken within quotes before it: so a spreadsheet program counts too.
func rowsOf(in *rowReader, separator rune, skipped int, yield func(int, []string) bool) error {
	reader := csv.NewReader(in)
	reader.Comma, reader.FieldsPerRecord, reader.LazyQuotes, reader.ReuseRecord = separator, -1, true, true
	broken := 0
	for {
		from := reader.InputOffset()
		in.begin(from)
		fields, err := reader.Read()
		wrong := new(csv.ParseError)
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.Is(err, errLongRow):
			return fault.New(fault.TooLarge, "Row %s is longer than %s kB, and no row of a table is: is a quotation mark opened in it and never closed, or is this no table?", in.line(from)-broken+skipped, mostRow>>10)
		case errors.As(err, &wrong):
			return fault.New(fault.Malformed, "The file is no table: %s.", err.Error())
		case err != nil:
			return err
		}
		line, _ := reader.FieldPos(0)
		row := line - broken + skipped
		if len(fields) > mostColumns {
			return fault.New(fault.Malformed, "Row %s has %s columns, and %s are the most: is the separator between its fields another one, or does something stand far to the right of the table?", row, len(fields), mostColumns)
		}
		to := reader.InputOffset()
		if in.endsAt(to) && leftOpen(in.since(from)) {
			return fault.New(fault.Malformed, "A quotation mark is opened in row %s and never closed, so that all below it is one cell: close it, or leave it out.", row)
		}
		empty, long := true, to-from > longRow
		for i, f := range fields {
			broken += strings.Count(f, "\n")
			fields[i] = strings.TrimSpace(f)
			empty = empty && fields[i] == ""
			if long {
				fields[i] = strings.Clone(fields[i])
			}
		}
		if !empty && !yield(row, fields) {
			return nil
		}
	}
}

// longRow is above what most rows take, in bytes. All fields of a shorter row share one
// text; who keeps one of a longer row does not keep that whole row.
const longRow = 256

// mostRow bounds a row, so that a file without an end of line is not read as one.
const mostRow = 1 << 20

var errLongRow = errors.New("a row is too long")

// rowReader hands a text on, and gives up where one row takes more than is left for it.
type rowReader struct {
	in *bufio.Reader
	// asLines is true where lines end as an old Macintosh ended them.
	asLines bool
	left    int
	// given is how much was handed on, kept the last of it, from the row at hand on, and
	// lines how many lines ended before that.
	given int64
	kept  []byte
	lines int
}

func (r *rowReader) Read(into []byte) (int, error) {
	if r.left <= 0 {
		return 0, errLongRow
	}
	n, err := r.in.Read(into[:min(len(into), r.left)])
	if r.asLines {
		asLines(into[:n])
	}
	r.left -= n
	r.given += int64(n)
	r.kept = append(r.kept, into[:n]...)
	return n, err
}

// begin gives the row that begins there what a row may take, and forgets those before it.
func (r *rowReader) begin(from int64) {
	r.left = mostRow
	const worthIt = 1 << 16
	if done := len(r.kept) - len(r.since(from)); done >= worthIt {
		r.lines += bytes.Count(r.kept[:done], []byte("\n"))
		r.kept = append(r.kept[:0], r.kept[done:]...)
	}
}

// since is what was handed on from there.
func (r *rowReader) since(from int64) []byte { return r.kept[len(r.kept)-int(r.given-from):] }

// line is the number, from 1, of the line that begins there.
func (r *rowReader) line(from int64) int {
	return 1 + r.lines + bytes.Count(r.kept[:len(r.kept)-len(r.since(from))], []byte("\n"))
}

// endsAt reports whether the text ends there.
func (r *rowReader) endsAt(to int64) bool {
	if to < r.given {
		return false
	}
	_, err := r.in.Peek(1)
	return errors.Is(err, io.EOF)
}

// leftOpen reports whether the last record of a file goes over several lines for
// want of a closing quote.
func leftOpen(record []byte) bool {
	return bytes.IndexByte(bytes.TrimSpace(record), '\n') >= 0 && bytes.Count(record, []byte{'"'})%2 == 1
}

// separatorSample is how much of a file is looked at, in bytes.
const separatorSample = 1 << 16

// separators are the candidates, the ones that no figure holds first.
const separators = "\t;|,"

// separatorOf takes the first candidate that parts all of the first lines into one
// same number of fields; where titles stand above the table, the one that parts most:
// into most fields, as many in most lines. text is the beginning of the file.
func separatorOf(text []byte) rune {
	const sample = 100
	best, score := ',', 0
	for _, candidate := range separators {
		counts, lines := map[int]int{}, 0
		_ = rowsOf(&rowReader{in: bufio.NewReader(bytes.NewReader(text))}, candidate, 0, func(_ int, cells []string) bool {
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
