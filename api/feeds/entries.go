package feeds

import (
	"slices"

	"pullbook/domain/ledger"
)

// entryRow is an entry that a feed shows as a row, or as several.
type entryRow struct {
	*ledger.Entry
	root ledger.ID
	// last is the number of the entry that stands for the row now: its own, or
	// that of the withdrawal that took it back.
	last int64
	gone bool
	// part counts the rows of one entry from 0.
	part int
}

// entriesOf is a feed whose rows are entries of one kind. They are found step by
// step along the book, so that however many there are, few are held.
type entriesOf struct {
	kind ledger.Kind
	// takes says whether the filters let an entry through.
	takes func(q *query, v *view, e *ledger.Entry) bool
	// parts is how many rows an entry is; nil for one each.
	parts func(e *ledger.Entry) int
	// part says whether the filters let one of an entry's rows through; nil where
	// takes says it of all.
	part func(q *query, v *view, e *ledger.Entry, n int) bool
	// names are the kinds of what rows name. Where one of those was corrected,
	// all rows may read otherwise.
	names []ledger.Kind
}

// lookAhead is how many entries one step looks at, at the most, for the few
// that it may show.
const lookAhead = 20_000

func (s entriesOf) source(q *query, v *view) rowSource[entryRow] {
	if q.since != nil && !s.renamed(v, *q.since) {
		return s.since(q, *q.since)
	}
	return s.all(q)
}

// all gives the entries that stand, in order of their numbers. Where a feed was
// asked for what changed and everything may have, it is followed by what is
// gone.
func (s entriesOf) all(q *query) rowSource[entryRow] {
	var after int64
	var rest rowSource[entryRow]
	return func(v *view, most int) ([]entryRow, bool) {
		if rest != nil {
			return rest(v, most)
		}
		var out []entryRow
		looked := 0
		for e := range v.book.RecordedOf(s.kind, after) {
			if e.Number > v.number {
				break
			}
			if len(out) >= most || looked == lookAhead {
				return out, true
			}
			looked++
			after = e.Number
			if v.book.InForceAt(e, v.number) && s.takes(q, v, e) {
				out = s.standing(out, q, v, e)
			}
		}
		if q.since == nil {
			return out, false
		}
		gone := *q
		gone.goneOnly = true
		rest = s.since(&gone, *q.since)
		return out, true
	}
}

// since gives, in order of their numbers, the entries after one that stand, and
// those taken back as they last stood. What a correction has moved out of the
// filters is gone too.
func (s entriesOf) since(q *query, since int64) rowSource[entryRow] {
	next := since + 1
	return func(v *view, most int) ([]entryRow, bool) {
		var out []entryRow
		for looked := 0; next <= v.number; next++ {
			if len(out) >= most || looked == lookAhead {
				return out, true
			}
			looked++
			e := v.book.Numbered(next)
			switch {
			case e.Kind == ledger.KindWithdrawal:
				for _, was := range s.tookBack(v, e) {
					out = s.gone(out, v, was, e.Number, func(int) bool { return true })
				}
			case e.Kind != s.kind || !v.book.InForceAt(e, v.number):
			default:
				takes := s.takes(q, v, e)
				if takes && !q.goneOnly {
					out = s.standing(out, q, v, e)
				}
				if e.Replaces != (ledger.ID{}) {
					out = s.gone(out, v, e, e.Number, func(n int) bool { return !takes || !s.shows(q, v, e, n) })
				}
			}
		}
		return out, false
	}
}

func (s entriesOf) count(e *ledger.Entry) int {
	if s.parts == nil {
		return 1
	}
	return s.parts(e)
}

// shows reports whether an entry that takes lets through has such a row.
func (s entriesOf) shows(q *query, v *view, e *ledger.Entry, n int) bool {
	return n < s.count(e) && (s.part == nil || s.part(q, v, e, n))
}

// standing gives an entry's rows as they stand.
func (s entriesOf) standing(out []entryRow, q *query, v *view, e *ledger.Entry) []entryRow {
	for n := range s.count(e) {
		if s.shows(q, v, e, n) {
			out = append(out, entryRow{Entry: e, root: v.book.Root(e.ID), last: e.Number, part: n})
		}
	}
	return out
}

// gone gives the rows that an entry, or one that it corrected, ever had, as far as
// they are: each as it last was. last is the entry that says so.
func (s entriesOf) gone(out []entryRow, v *view, e *ledger.Entry, last int64, are func(n int) bool) []entryRow {
	var latest []*ledger.Entry
	for _, was := range v.book.Chain(e.ID) {
		if was.Kind != s.kind || was.Number > e.Number {
			continue
		}
		for n := range s.count(was) {
			if n == len(latest) {
				latest = append(latest, was)
			}
			latest[n] = was
		}
	}
	for n, was := range latest {
		if are(n) {
			out = append(out, entryRow{Entry: was, root: v.book.Root(e.ID), last: last, gone: true, part: n})
		}
	}
	return out
}

// tookBack gives the entries of this kind that a withdrawal took back, if it still
// is the last of its chain: one, or all that came with an import.
func (s entriesOf) tookBack(v *view, withdrawal *ledger.Entry) (out []*ledger.Entry) {
	was, _ := v.book.Entry(withdrawal.Replaces)
	_, by := v.book.Entry(withdrawal.ID)
	if was == nil || by != nil && by.Number <= v.number {
		return nil
	}
	if was.Kind == s.kind {
		out = append(out, was)
	}
	brought, ok := was.Body.(*ledger.Import)
	if !ok {
		return out
	}
	for n := was.Number - brought.Entries; n < was.Number; n++ {
		if e := v.book.Numbered(n); e.Kind == s.kind {
			chain := v.book.Chain(e.ID)
			if last := chain[len(chain)-1]; last.Kind == s.kind {
				out = append(out, last)
			}
		}
	}
	return out
}

// renamed reports whether something that rows name was corrected or taken back
// since.
func (s entriesOf) renamed(v *view, since int64) bool {
	for n := since + 1; n <= v.number; n++ {
		e := v.book.Numbered(n)
		if e.Replaces == (ledger.ID{}) {
			continue
		}
		first, _ := v.book.Entry(v.book.Root(e.ID))
		if first.Kind != s.kind && slices.Contains(s.names, first.Kind) {
			return true
		}
	}
	return false
}

// entryColumns are those that each feed of entries has last.
func entryColumns() []column[entryRow] {
	return []column[entryRow]{
		{"occurred_at", formInstant, func(_ *view, out cells, r entryRow) { out.instant(r.OccurredAt) }},
		{"recorded_at", formInstant, func(_ *view, out cells, r entryRow) { out.instant(r.RecordedAt) }},
		{"recorded_by", formText, func(_ *view, out cells, r entryRow) { out.text(r.RecordedBy) }},
		{"entry", formWhole, func(_ *view, out cells, r entryRow) { out.whole(r.last) }},
		{"status", formText, func(_ *view, out cells, r entryRow) { out.text(status(r.gone)) }},
	}
}
