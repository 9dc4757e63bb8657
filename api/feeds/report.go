package feeds

import (
	"crypto/sha256"

	"pullbook/domain/ledger"
)

// reportOf is a feed whose rows are worked out from the whole book. Their first columns,
// as many as keys, are what a row is known by.
type reportOf[R any] struct {
	name    string
	keys    int
	columns []column[R]
	// rows puts one row after another, and ends with the error that put gives. It is for
	// rows that can only be worked out at once, while the book is held.
	rows func(q *query, b *ledger.Book, put func(R) error) error
	// steps gives the rows some at a time, as the book was when they began; it stands in
	// place of rows.
	steps func(q *query, b *ledger.Book) rowSource[R]
}

// standingRow is a row of a report.
type standingRow[R any] struct {
	row R
	// then is the book in which a row that is gone last stood; nil for one that stands.
	then *view
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
	if r.steps != nil {
		r.rows = r.byStep
	}
	t := &tableOf[standingRow[R]]{name: r.name, whole: r.standing}
	if r.steps != nil {
		t.source = r.stepped
	}
	for _, c := range r.columns {
		t.columns = append(t.columns, column[standingRow[R]]{c.name, c.form, func(v *view, out cells, row standingRow[R]) {
			if row.then != nil {
				v = row.then
			}
			c.write(v, out, row.row)
		}})
	}
	t.columns = append(t.columns, column[standingRow[R]]{"status", formText, func(_ *view, out cells, row standingRow[R]) {
		out.text(status(row.then != nil))
	}})
	return t
}

func (r reportOf[R]) stepped(q *query, v *view) rowSource[standingRow[R]] {
	next := r.steps(q, v.book)
	return func(v *view, most int) (out []standingRow[R], more bool) {
		rows, more := next(v, most)
		for _, row := range rows {
			out = append(out, standingRow[R]{row: row})
		}
		return out, more
	}
}

// byStep is rows by way of steps.
func (r reportOf[R]) byStep(q *query, b *ledger.Book, put func(R) error) error {
	const most = 256
	next, v := r.steps(q, b), &view{book: b, number: b.Len()}
	for more := true; more; {
		var rows []R
		rows, more = next(v, most)
		for _, row := range rows {
			if err := put(row); err != nil {
				return err
			}
		}
	}
	return nil
}

func (r reportOf[R]) standing(q *query, v *view, put func(standingRow[R]) error) error {
	if q.since == nil {
		return r.rows(q, v.book, func(row R) error { return put(standingRow[R]{row: row}) })
	}
	was, err := v.book.AsKnown(*q.since)
	if err != nil {
		return err
	}
	return r.changed(q, &view{outfit: v.outfit, book: was, number: *q.since, us: v.us}, v, put)
}

// changed gives the rows that are new or read otherwise, and those gone. Of the rows of
// then it keeps digests: there may be very many.
func (r reportOf[R]) changed(q *query, then, now *view, put func(standingRow[R]) error) error {
	read := map[rowDigest]rowDigest{}
	err := r.rows(q, then.book, func(row R) error {
		key, all := r.digests(then, row)
		read[key] = all
		return nil
	})
	if err != nil {
		return err
	}
	err = r.rows(q, now.book, func(row R) error {
		key, all := r.digests(now, row)
		had, ok := read[key]
		delete(read, key)
		if ok && had == all {
			return nil
		}
		return put(standingRow[R]{row: row})
	})
	if err != nil {
		return err
	}
	if len(read) == 0 {
		return nil // as after most looks
	}
	return r.rows(q, then.book, func(row R) error {
		key, _ := r.digests(then, row)
		if _, gone := read[key]; !gone {
			return nil
		}
		delete(read, key)
		return put(standingRow[R]{row: row, then: then})
	})
}

// rowDigest is the beginning of a SHA-256: too long for two rows to share by chance.
type rowDigest [16]byte

// digests are of a row's key and of the whole of it, as CSV has them.
func (r reportOf[R]) digests(v *view, row R) (key, all rowDigest) {
	end := 0
	c := &csvCells{clock: stamps{loc: v.book.Location()}}
	c.begin()
	for i, column := range r.columns {
		if i == r.keys {
			end = len(c.buf)
		}
		column.write(v, c, row)
	}
	return digestOf(c.buf[:end]), digestOf(c.buf)
}

func digestOf(b []byte) rowDigest {
	sum := sha256.Sum256(b)
	return rowDigest(sum[:len(rowDigest{})])
}
