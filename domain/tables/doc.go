// Package tables reads tables as people and loggers leave them: text in several
// encodings with several separators, figures with a decimal comma or a unit,
// dates of either order. It says what it is sure of, and what has to be asked.
//
// It does no I/O beyond reading bytes that it is given.
package tables

import "slices"

// Table is one sheet.
type Table struct {
	// Name is the sheet's; empty for a text file.
	Name string
	// Rows walks the rows that hold anything, with their numbers as a spreadsheet
	// program shows them, from 1. cells is valid until the next row. In a workbook a
	// figure that somebody typed as text, and that MayBeGrouped, begins with '.
	Rows func(yield func(row int, cells []string) bool) error
	// Merged are runs of cells in a row that show what the first of them holds.
	Merged []Span
	// Tall are cells that go on over the rows below, which show what the first holds.
	Tall []Tall
	// Serials is true where dates may come as a day's serial number, and Epoch1904
	// where those count from 1904.
	Serials, Epoch1904 bool
	// Aside says which rows somebody may have taken out.
	Aside map[int]Aside
	// Dated are the cells with numbers that a workbook shows as dates or times, by their
	// columns from 0.
	Dated map[int]*Dated
	// Remarks are the comments on the cells of rows.
	Remarks map[int][]string
	// RemarkedAt are the columns of those cells, from 0, in the order of the comments.
	RemarkedAt map[int][]int
	// Separator is what stood between the fields of a text file; 0 for a workbook.
	Separator rune
}

// Aside is how a row was taken out of a sheet without deleting it.
type Aside byte

// The ways; a row that a filter leaves out is hidden.
const (
	Hidden Aside = 1 + iota
	Struck
)

// Dated are the rows of a column whose numbers are shown as dates or times.
type Dated struct {
	Rows []int
	// Many is true where there are more than are listed.
	Many bool
}

// mostDated bounds the rows that are listed of a column.
const mostDated = 1000

// NoteDated notes a row, of which a later one follows.
func (d *Dated) NoteDated(row int) {
	if d.Many = len(d.Rows) == mostDated; !d.Many {
		d.Rows = append(d.Rows, row)
	}
}

// IsDated reports whether a number is shown as a date or time; where a column has very many
// that are, any of its numbers is taken to be.
func (t *Table) IsDated(row, column int) bool {
	d := t.Dated[column]
	if d == nil {
		return false
	}
	_, is := slices.BinarySearch(d.Rows, row)
	return is || d.Many
}

// Span is merged cells: columns First to Last, from 0, of a row.
type Span struct{ Row, First, Last int }

// Tall is a cell of a column, from 0, merged with those below it: rows First to Last.
type Tall struct {
	Column, First, Last int
	Text                string
}

// Column is a column's name as a spreadsheet shows it: A for 0.
func Column(n int) string {
	name := ""
	for n++; n > 0; n = (n - 1) / 26 {
		name = string(rune('A'+(n-1)%26)) + name
	}
	return name
}
