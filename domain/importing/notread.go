package importing

import (
	"slices"
	"strings"

	"pullbook/domain/tables"
)

// NotRead is a column that holds something, or has a heading, and is not read.
type NotRead struct {
	Column, Heading string
	// Sent is the first that it holds, in Row; empty, and 0, where it holds nothing.
	Sent string
	Row  int
}

// mostUnread bounds the columns that are named: a sheet may have no more.
const mostUnread = 1000

// unread looks for what stands in columns that are not read.
type unread struct {
	done    bool // every row was looked at
	heading int
	width   int   // how many columns are known
	open    []int // of these nothing was found yet
	found   map[int]NotRead
	units   map[int]bool // of these each cell says the unit of another
}

// isUnit notes that a column was read for the unit of the figure before it.
func (u *unread) isUnit(column int) {
	if u.units == nil {
		u.units = map[int]bool{}
	}
	u.units[column] = true
}

func (u *unread) begin(m *Mapping) {
	u.open, u.heading, u.width, u.found = nil, m.HeadingRow, len(m.Columns), map[int]NotRead{}
	for i, c := range m.Columns {
		if c.Field == "" {
			u.open = append(u.open, i)
		}
	}
}

// look looks at one row.
func (u *unread) look(row int, cells []string) {
	if row <= u.heading {
		return
	}
	for ; u.width < min(len(cells), mostUnread); u.width++ {
		u.open = append(u.open, u.width)
	}
	u.open = slices.DeleteFunc(u.open, func(i int) bool {
		is := i < len(cells) && cells[i] != ""
		if is {
			u.found[i] = NotRead{Sent: strings.Clone(clip(cells[i])), Row: row}
		}
		return is
	})
}

// notRead lists the columns that are not read. Where no row was read, it shows the first ones.
func (k *taking) notRead() error {
	u := &k.unread
	if unread := len(k.Shown) == 0; unread || !u.done {
		u.begin(&k.Mapping)
		err := k.table.Rows(func(row int, cells []string) bool {
			u.look(row, cells)
			if k.row, k.cells = row, cells; unread && row > u.heading {
				k.showUnread()
			}
			return true
		})
		if err != nil {
			return err
		}
	}
	for i := range u.width {
		n, found := u.found[i]
		n.Column = tables.Column(i)
		if i < len(k.Mapping.Columns) {
			n.Heading = clip(k.Mapping.Columns[i].Heading)
			found = k.Mapping.Columns[i].Field == "" && (found || n.Heading != "")
		}
		if found && !u.units[i] {
			k.NotRead = append(k.NotRead, n)
		}
	}
	return nil
}
