package feeds

import (
	"strconv"
	"time"
	"unicode/utf8"

	"pullbook/domain/ledger"
)

// notedRows keeps the rows of a sheet until they are written, and notes what stands above them
// or decides how wide the columns are.
type notedRows struct {
	rowSpool
	rows, at int
	columns  []notedColumn
}

// notedColumn is what is noted of a column: whether anything is in it, the letters of its
// longest text or figure, and the sum of its figures.
type notedColumn struct {
	filled  bool
	longest int
	sum     float64
}

// figure notes a figure with so many places.
func (c *notedColumn) figure(v float64, places int) {
	c.sum += toPlaces(v, places)
	c.longest = max(c.longest, len(strconv.FormatFloat(v, 'f', places, 64)))
}

func newNotedRows(columns int) *notedRows { return &notedRows{columns: make([]notedColumn, columns)} }

func (n *notedRows) begin() { n.at = 0 }

func (n *notedRows) end() error {
	n.rows++
	return n.rowSpool.end()
}

func (n *notedRows) note(filled bool) *notedColumn {
	c := &n.columns[n.at]
	n.at++
	c.filled = c.filled || filled
	return c
}

func (n *notedRows) text(s string) {
	c := n.note(s != "")
	c.longest = max(c.longest, utf8.RuneCountInString(s))
	n.rowSpool.text(s)
}

func (n *notedRows) id(id ledger.ID) {
	n.note(id != ledger.ID{})
	n.rowSpool.id(id)
}

func (n *notedRows) whole(v int64) {
	n.note(true).figure(float64(v), 0)
	n.rowSpool.whole(v)
}

func (n *notedRows) decimal(v float64, places int) {
	n.note(true).figure(v, places)
	n.rowSpool.decimal(v, places)
}

func (n *notedRows) day(d ledger.Date) {
	n.note(d != "")
	n.rowSpool.day(d)
}

func (n *notedRows) instant(t time.Time) {
	n.note(!t.IsZero())
	n.rowSpool.instant(t)
}

func (n *notedRows) yes(yes bool) {
	n.note(true)
	n.rowSpool.yes(yes)
}

func (n *notedRows) none() {
	n.note(false)
	n.rowSpool.none()
}
