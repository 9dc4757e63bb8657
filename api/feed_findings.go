package api

import (
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// findingRow is something odd, and whether it was settled.
type findingRow struct {
	season.Odd
	settled bool
}

var findingsFeed = newReport(reportOf[findingRow]{
	name: "findings", keys: 3,
	columns: []column[findingRow]{
		{"about_id", formID, func(_ *feedView, out cells, r findingRow) { out.id(r.Flag.Entry) }},
		{"finding", formText, func(_ *feedView, out cells, r findingRow) { out.text(string(r.Code)) }},
		{"place_id", formID, func(_ *feedView, out cells, r findingRow) { out.id(r.On.ID) }},
		{"place_kind", formText, func(_ *feedView, out cells, r findingRow) { out.text(string(r.On.Kind)) }},
		{"place", formText, func(v *feedView, out cells, r findingRow) { out.text(v.name(r.On.ID)) }},
		{"occurred_at", formInstant, func(_ *feedView, out cells, r findingRow) { out.instant(r.OccurredAt) }},
		{"expected", formDecimal, func(_ *feedView, out cells, r findingRow) { out.decimal(r.Expected, 3) }},
		{"found", formDecimal, func(_ *feedView, out cells, r findingRow) { out.decimal(r.Found, 3) }},
		{"unit", formText, func(_ *feedView, out cells, r findingRow) { out.text(r.Unit) }},
		{"honey_kg", formMass, func(v *feedView, out cells, r findingRow) { v.putMass(out, r.MassG) }},
		{"sentence", formText, func(_ *feedView, out cells, r findingRow) { out.text(r.InFull().String()) }},
		{"settled", formYes, func(_ *feedView, out cells, r findingRow) { out.yes(r.settled) }},
		{"settled_by", formText, func(_ *feedView, out cells, r findingRow) { out.text(r.SettledBy) }},
		{"reason", formText, func(_ *feedView, out cells, r findingRow) { out.text(r.Reason) }},
		{"recorded_by", formText, func(_ *feedView, out cells, r findingRow) { out.text(r.RecordedBy) }},
	},
	rows: func(q *feedQuery, b *ledger.Book) (out []findingRow, err error) {
		list := season.Evening(b)
		for _, o := range list.Open {
			if q.holds(o.OccurredAt, b.Location()) {
				out = append(out, findingRow{o, false})
			}
		}
		for _, o := range list.Settled {
			if q.holds(o.OccurredAt, b.Location()) {
				out = append(out, findingRow{o, true})
			}
		}
		return out, nil
	},
})
