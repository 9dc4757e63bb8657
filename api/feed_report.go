package api

import (
	"pullbook/domain/ledger"
)

// reportOf is a feed whose rows are worked out from the whole book at once.
// Their first columns, as many as keys, are what a row is known by.
type reportOf[R any] struct {
	name    string
	keys    int
	columns []column[R]
	rows    func(q *feedQuery, b *ledger.Book) ([]R, error)
}

// standingRow is a row of a report, and whether it stands.
type standingRow[R any] struct {
	row  R
	gone bool
	// was is what each column of a row that is gone had when it last stood: the book of
	// then is not kept while the answer is sent.
	was []writtenDown
}

// status says in its own column whether a row stands.
func status(gone bool) string {
	if gone {
		return "gone"
	}
	return "stands"
}

// newReport makes the feed of a report. Asked for what changed since an entry,
// it gives the rows that read otherwise than they did then, and once more those
// that are gone.
func newReport[R any](r reportOf[R]) *tableOf[standingRow[R]] {
	t := &tableOf[standingRow[R]]{name: r.name}
	for i, c := range r.columns {
		t.columns = append(t.columns, column[standingRow[R]]{c.name, c.form, func(v *feedView, out cells, row standingRow[R]) {
			if row.gone {
				row.was[i].to(out)
				return
			}
			c.write(v, out, row.row)
		}})
	}
	t.columns = append(t.columns, column[standingRow[R]]{"status", formText, func(_ *feedView, out cells, row standingRow[R]) {
		out.text(status(row.gone))
	}})
	t.source = func(q *feedQuery, v *feedView) (rowSource[standingRow[R]], error) {
		rows, err := r.standing(q, v)
		if err != nil {
			return nil, err
		}
		return func(_ *feedView, most int) ([]standingRow[R], bool) {
			some := rows[:min(most, len(rows))]
			rows = rows[len(some):]
			return some, len(rows) > 0
		}, nil
	}
	return t
}

func (r reportOf[R]) standing(q *feedQuery, v *feedView) ([]standingRow[R], error) {
	rows, err := r.rows(q, v.book)
	if err != nil {
		return nil, err
	}
	if q.since == nil {
		out := make([]standingRow[R], len(rows))
		for i, row := range rows {
			out[i].row = row
		}
		return out, nil
	}
	was, err := v.book.AsKnown(*q.since)
	if err != nil {
		return nil, err
	}
	then := &feedView{outfit: v.outfit, book: was, number: *q.since, us: v.us}
	before, err := r.rows(q, was)
	if err != nil {
		return nil, err
	}
	return r.changed(then, before, v, rows), nil
}

// changed gives the rows that are new or read otherwise, and those gone.
func (r reportOf[R]) changed(then *feedView, before []R, now *feedView, after []R) (out []standingRow[R]) {
	read := make(map[string]string, len(before))
	for _, row := range before {
		key, all := r.written(then, row)
		read[key] = all
	}
	for _, row := range after {
		key, all := r.written(now, row)
		if had, ok := read[key]; !ok || had != all {
			out = append(out, standingRow[R]{row: row})
		}
		delete(read, key)
	}
	for _, row := range before {
		if key, _ := r.written(then, row); read[key] != "" {
			delete(read, key)
			out = append(out, r.goneRow(then, row))
		}
	}
	return out
}

// goneRow is a row as it was when it last stood.
func (r reportOf[R]) goneRow(then *feedView, row R) standingRow[R] {
	out := standingRow[R]{gone: true, was: make([]writtenDown, len(r.columns))}
	for i, column := range r.columns {
		column.write(then, &out.was[i], row)
	}
	return out
}

// written is a row's key and the whole of it, as CSV has them.
func (r reportOf[R]) written(v *feedView, row R) (key, all string) {
	end := 0
	c := &csvCells{clock: stamps{loc: v.book.Location()}}
	c.begin()
	for i, column := range r.columns {
		if i == r.keys {
			end = len(c.buf)
		}
		column.write(v, c, row)
	}
	return string(c.buf[:end]), string(c.buf)
}
