package feeds

import (
	"maps"
	"slices"
	"strings"

	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// form is what a column's values are. The contract describes each column by its
// name; a test holds the two against each other.
type form string

const (
	formText    form = "text"
	formID      form = "id"
	formWhole   form = "whole"
	formDecimal form = "decimal"
	formMass    form = "mass"
	formCelsius form = "celsius"
	formDay     form = "day"
	formInstant form = "instant"
	formYes     form = "yes"
)

// column is one of a feed over rows of type R. The name is that of the metric
// unit.
type column[R any] struct {
	name  string
	form  form
	write func(v *view, out cells, row R)
}

// isID reports whether a column is of ids, which are for programs.
func isID(_ string, form form) bool { return form == formID }

// columnName is a column's name in the unit that the feed was asked for.
func columnName(name string, form form, us bool) string {
	switch {
	case us && form == formMass && strings.HasPrefix(name, "kg_"):
		return "lb_" + strings.TrimPrefix(name, "kg_")
	case us && form == formMass:
		return strings.TrimSuffix(name, "_kg") + "_lb"
	case us && form == formCelsius:
		return strings.TrimSuffix(name, "_c") + "_f"
	}
	return name
}

// view is what a row is written from: the book at one of the steps of an
// answer, which is about the entries up to number.
type view struct {
	outfit db.Outfit
	book   *ledger.Book
	number int64
	us     bool
	// role is that of who asks.
	role db.Role
	// voice says the book's own words to people; nil for programs, which get them
	// as they are.
	voice message.Voice
}

// word is one of the book's own words.
func (v *view) word(plain string, said func(string) message.Text) string {
	if v.voice == nil || plain == "" {
		return plain
	}
	return said(plain).In(v.voice)
}

// name is what the thing that id names was called.
func (v *view) name(id ledger.ID) string { return v.book.NameAsKnown(id, v.number) }

// table is a feed of some sort of row.
type table interface {
	title() string
	columnNames(us bool) []string
	columnForms() []form
	without(leave func(name string, form form) bool) table
	// peopleFirst is the table with its ids behind all that people read.
	peopleFirst() table
	// begin starts an answer. It is called, as the steps are, while the book is
	// held.
	begin(q *query, v *view) (rowSteps, error)
	// fill writes all rows at once, while the book is held.
	fill(q *query, v *view, out cells) error
}

// rowSteps is an answer under way.
type rowSteps struct {
	// next writes some rows, not many more than so many or than stepBytes of them, and
	// says whether there may be more.
	next func(v *view, out cells, most int) (more bool, err error)
	// kept is what holds the rows until they are written, to be closed then; nil where
	// they come from the book.
	kept *rowSpool
}

// tableOf is a feed over rows of type R, and what they are called.
type tableOf[R any] struct {
	name    string
	columns []column[R]
	// source starts the rows of an answer.
	source func(q *query, v *view) rowSource[R]
	// whole gives all rows one by one while the book is held, where they cannot be
	// found step by step along a book that goes on. Where there is a source too, whole
	// says what changed.
	whole func(q *query, v *view, put func(R) error) error
}

// rowSource gives the next rows, not more than most, and whether there may be
// more after them.
type rowSource[R any] func(v *view, most int) (rows []R, more bool)

func (t *tableOf[R]) title() string { return t.name }

func (t *tableOf[R]) columnNames(us bool) []string {
	return wire.Each(t.columns, func(c column[R]) string { return columnName(c.name, c.form, us) })
}

func (t *tableOf[R]) peopleFirst() table {
	out := *t
	out.columns = slices.Clone(t.columns)
	slices.SortStableFunc(out.columns, func(a, b column[R]) int {
		switch {
		case isID(a.name, a.form) == isID(b.name, b.form):
			return 0
		case isID(b.name, b.form):
			return -1
		}
		return 1
	})
	return &out
}

func (t *tableOf[R]) columnForms() []form {
	return wire.Each(t.columns, func(c column[R]) form { return c.form })
}

func (t *tableOf[R]) begin(q *query, v *view) (rowSteps, error) {
	if t.source == nil || t.whole != nil && q.since != nil {
		return t.spooled(q, v)
	}
	next := t.source(q, v)
	var rows []R
	more := true
	return rowSteps{next: func(v *view, out cells, most int) (bool, error) {
		if len(rows) == 0 {
			rows, more = next(v, most)
		}
		for len(rows) > 0 && out.size() < stepBytes {
			if err := t.write(v, out, rows[0]); err != nil {
				return false, err
			}
			rows = rows[1:]
		}
		return more || len(rows) > 0, nil
	}}, nil
}

func (t *tableOf[R]) fill(q *query, v *view, out cells) error {
	if t.whole != nil {
		return t.whole(q, v, func(row R) error { return t.write(v, out, row) })
	}
	next := t.source(q, v)
	for more := true; more; {
		var rows []R
		rows, more = next(v, stepRows)
		for _, row := range rows {
			if err := t.write(v, out, row); err != nil {
				return err
			}
		}
	}
	return nil
}

// spooled writes all rows down while the book is held, and gives them from there.
func (t *tableOf[R]) spooled(q *query, v *view) (rowSteps, error) {
	kept := &rowSpool{}
	err := t.fill(q, v, kept)
	if err == nil {
		err = kept.rewind()
	}
	if err != nil {
		kept.close()
		return rowSteps{}, err
	}
	return rowSteps{kept.some, kept}, nil
}

func (t *tableOf[R]) write(v *view, out cells, row R) error {
	out.begin()
	for _, c := range t.columns {
		c.write(v, out, row)
	}
	return out.end()
}

// allTables are all feeds, by name.
var allTables = func() map[string]table {
	all := map[string]table{}
	for _, t := range []table{
		yardsFeed, pullsFeed, runsFeed, readingsFeed, movementsFeed, tanksFeed,
		lotsFeed, containersFeed, verdictsFeed, findingsFeed, temperaturesFeed, journalFeed,
	} {
		all[t.title()] = t.peopleFirst()
	}
	return all
}()

// tableNames lists the feeds in alphabetical order.
func tableNames() []string {
	return slices.Sorted(maps.Keys(allTables))
}
