package feeds

import (
	"pullbook/api/entries"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
)

// journalFeed is everything that was ever recorded, what was replaced too.
var journalFeed = &tableOf[*ledger.Entry]{
	name: "journal",
	columns: []column[*ledger.Entry]{
		{"entry", formWhole, func(_ *view, out cells, e *ledger.Entry) { out.whole(e.Number) }},
		{"id", formID, func(_ *view, out cells, e *ledger.Entry) { out.id(e.ID) }},
		{"root_id", formID, func(v *view, out cells, e *ledger.Entry) { out.id(v.book.Root(e.ID)) }},
		{"kind", formText, func(_ *view, out cells, e *ledger.Entry) { out.text(string(e.Kind)) }},
		{"occurred_at", formInstant, func(_ *view, out cells, e *ledger.Entry) { out.instant(e.OccurredAt) }},
		{"recorded_at", formInstant, func(_ *view, out cells, e *ledger.Entry) { out.instant(e.RecordedAt) }},
		{"recorded_by", formText, func(_ *view, out cells, e *ledger.Entry) { out.text(e.RecordedBy) }},
		{"replaces", formID, func(_ *view, out cells, e *ledger.Entry) { out.id(e.Replaces) }},
		{"replaced", formYes, func(v *view, out cells, e *ledger.Entry) {
			_, by := v.book.Entry(e.ID)
			out.yes(by != nil && by.Number <= v.number)
		}},
		{"reason", formText, func(_ *view, out cells, e *ledger.Entry) { out.text(e.Reason) }},
		{"via", formText, func(_ *view, out cells, e *ledger.Entry) { out.text(string(e.Via)) }},
		{"content", formText, func(v *view, out cells, e *ledger.Entry) { out.text(contentText(v.role, e)) }},
		{"digest", formText, func(_ *view, out cells, e *ledger.Entry) { out.text(request.Hex(e.Digest)) }},
	},
	source: func(q *query, _ *view) rowSource[*ledger.Entry] {
		next := int64(1)
		if q.since != nil {
			next = *q.since + 1
		}
		return func(v *view, most int) ([]*ledger.Entry, bool) {
			var out []*ledger.Entry
			for looked := 0; next <= v.number; next++ {
				if len(out) >= most || looked == lookAhead {
					return out, true
				}
				looked++
				if e := v.book.Numbered(next); q.holds(e.OccurredAt, v.book.Location()) && q.about(v.book, e) {
					out = append(out, e)
				}
			}
			return out, false
		}
	},
}

// contentText is ContentFor as text; what was read from an entry always writes.
func contentText(role db.Role, e *ledger.Entry) string {
	content, err := entries.ContentFor(role, e)
	if err != nil {
		return ""
	}
	return string(content)
}
