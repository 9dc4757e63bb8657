package feeds

import (
	"pullbook/api/wire"
	"pullbook/domain/chance"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// findingRow is something odd. It is put into words when it is written: there may be
// very many.
type findingRow struct{ *ledger.Flag }

// entry is the entry that it is about, and settled the one that settled it; either
// is one that says nothing where there is none.
func (r findingRow) entry(v *view) ledger.Entry { return wire.OrZero(v.book.InForce(r.Entry)) }

func (r findingRow) settled() ledger.Entry { return wire.OrZero(r.Accepted) }

// unlikelyPlaces shows one in a million with three figures.
const unlikelyPlaces = 9

var findingsFeed = newReport(reportOf[findingRow]{
	name: "findings", keys: 3,
	columns: []column[findingRow]{
		{"about_id", formID, func(_ *view, out cells, r findingRow) { out.id(r.Flag.Entry) }},
		{"finding", formText, func(_ *view, out cells, r findingRow) { out.text(string(r.Code)) }},
		{"place_id", formID, func(_ *view, out cells, r findingRow) { out.id(r.On.ID) }},
		{"place_kind", formText, func(_ *view, out cells, r findingRow) { out.text(string(r.On.Kind)) }},
		{"place", formText, func(v *view, out cells, r findingRow) { out.text(v.name(r.On.ID)) }},
		{"occurred_at", formInstant, func(v *view, out cells, r findingRow) { out.instant(r.entry(v).OccurredAt) }},
		{"expected", formDecimal, func(_ *view, out cells, r findingRow) { out.decimal(r.Expected, 3) }},
		{"found", formDecimal, func(_ *view, out cells, r findingRow) { out.decimal(r.Found, 3) }},
		{"unit", formText, func(_ *view, out cells, r findingRow) { out.text(r.Unit) }},
		{"honey_kg", formMass, func(v *view, out cells, r findingRow) { v.putMass(out, r.MassG) }},
		{"sentence", formText, func(v *view, out cells, r findingRow) { out.text(season.OddOf(v.book, r.Flag).InFull().String()) }},
		{"chance", formText, func(_ *view, out cells, r findingRow) { out.text(chance.InWords(r.Unlikely).String()) }},
		{"probability", formDecimal, func(_ *view, out cells, r findingRow) { putKnown(out, wire.OrNil(r.Unlikely), unlikelyPlaces) }},
		{"settled", formYes, func(_ *view, out cells, r findingRow) { out.yes(r.Accepted != nil) }},
		{"settled_by", formText, func(_ *view, out cells, r findingRow) { out.text(r.settled().RecordedBy) }},
		{"reason", formText, func(_ *view, out cells, r findingRow) { out.text(r.settled().Reason) }},
		{"recorded_by", formText, func(v *view, out cells, r findingRow) { out.text(r.entry(v).RecordedBy) }},
	},
	rows: func(q *query, b *ledger.Book, put func(findingRow) error) error {
		list := season.Evening(b)
		for _, flags := range [][]*ledger.Flag{list.Open, list.Settled} {
			for _, flag := range flags {
				if !takesFinding(q, b, flag) {
					continue
				}
				if err := put(findingRow{flag}); err != nil {
					return err
				}
			}
		}
		return nil
	},
})

// takesFinding reports whether the filters let a finding through: it is about a yard or lot
// where its entry is, or where it was found there.
func takesFinding(q *query, b *ledger.Book, flag *ledger.Flag) bool {
	e := wire.OrZero(b.InForce(flag.Entry))
	v := &view{book: b, number: b.Len()}
	return q.holds(e.OccurredAt, b.Location()) &&
		(q.isYard(b.Root(flag.On.ID)) || q.isYard(b.Root(e.ID)) || e.Body != nil && b.About(&e, q.yard)) &&
		(q.isOfLot(v, flag.On) || e.Body != nil && b.About(&e, q.lot))
}
