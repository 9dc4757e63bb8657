package feeds

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// lotFact is a lot with what was decided about it.
type lotFact struct {
	*season.LotReport
	opened *ledger.Entry
	status ledger.Status
}

var lotsFeed = newReport(reportOf[lotFact]{
	name: "lots", keys: 1,
	columns: []column[lotFact]{
		{"id", formID, func(_ *view, out cells, r lotFact) { out.id(r.LotID) }},
		{"lot", formText, func(_ *view, out cells, r lotFact) { out.text(r.Code) }},
		{"product", formText, func(_ *view, out cells, r lotFact) { out.text(r.Product) }},
		{"opened_at", formInstant, func(_ *view, out cells, r lotFact) { out.instant(r.opened.OccurredAt) }},
		{"first_fill_at", formInstant, func(_ *view, out cells, r lotFact) { out.instant(r.FirstFill) }},
		{"last_fill_at", formInstant, func(_ *view, out cells, r lotFact) { out.instant(r.LastFill) }},
		{"containers", formWhole, func(_ *view, out cells, r lotFact) { out.whole(int64(len(r.Containers))) }},
		{"net_kg", formMass, func(v *view, out cells, r lotFact) { v.putMass(out, r.NetG) }},
		{"held_kg", formMass, func(v *view, out cells, r lotFact) { v.putMass(out, r.HeldG) }},
		{"dispatched_kg", formMass, func(v *view, out cells, r lotFact) { v.putMass(out, r.DispatchedG) }},
		{"moisture_pct", formDecimal, func(_ *view, out cells, r lotFact) { putKnown(out, r.MoisturePct, 2) }},
		{"decided", formText, func(v *view, out cells, r lotFact) {
			out.text(v.word(string(r.status), func(string) message.Text { return r.status.Text() }))
		}},
		{"yards", formText, func(_ *view, out cells, r lotFact) { out.text(sourceNames(r.MakeUp)) }},
		{"note", formText, func(_ *view, out cells, r lotFact) { out.text(r.Note) }},
	},
	rows: lotFacts,
})

func lotFacts(q *query, b *ledger.Book, put func(lotFact) error) error {
	for l := range season.EveryLot(b) {
		opened := b.InForce(l.LotID)
		if q.isLot(l.LotID) && q.holds(opened.OccurredAt, b.Location()) && q.isFrom(l.MakeUp) {
			if err := put(lotFact{l, opened, b.State().LotStatus(l.LotID).Status}); err != nil {
				return err
			}
		}
	}
	return nil
}

// containerRow is a container and the lot that it is of.
type containerRow struct {
	season.Container
	lotID ledger.ID
	lot   string
}

var containersFeed = newReport(reportOf[containerRow]{
	name: "containers", keys: 1,
	columns: []column[containerRow]{
		{"id", formID, func(_ *view, out cells, r containerRow) { out.id(r.ID) }},
		{"container", formText, func(_ *view, out cells, r containerRow) { out.text(r.Number) }},
		{"container_kind", formText, func(_ *view, out cells, r containerRow) { out.text(r.Kind) }},
		{"lot_id", formID, func(_ *view, out cells, r containerRow) { out.id(r.lotID) }},
		{"lot", formText, func(_ *view, out cells, r containerRow) { out.text(r.lot) }},
		{"tank", formText, func(_ *view, out cells, r containerRow) { out.text(r.Tank) }},
		{"filled_at", formInstant, func(_ *view, out cells, r containerRow) { out.instant(r.FilledAt) }},
		{"tare_kg", formMass, func(v *view, out cells, r containerRow) { v.putMass(out, r.TareG) }},
		{"gross_kg", formMass, func(v *view, out cells, r containerRow) { v.putMass(out, r.GrossG) }},
		{"net_kg", formMass, func(v *view, out cells, r containerRow) { v.putMass(out, r.NetG) }},
		{"held_kg", formMass, func(v *view, out cells, r containerRow) { v.putMass(out, r.HeldG) }},
		{"seal", formText, func(_ *view, out cells, r containerRow) { out.text(r.Seal) }},
		{"whereabouts", formText, func(_ *view, out cells, r containerRow) { out.text(string(r.State)) }},
		{"gone_at", formInstant, func(_ *view, out cells, r containerRow) { out.instant(r.GoneAt) }},
		{"buyer", formText, func(_ *view, out cells, r containerRow) { out.text(r.Buyer) }},
	},
	rows: func(q *query, b *ledger.Book, put func(containerRow) error) error {
		for l := range season.EveryStock(b) {
			if !q.isLot(l.LotID) {
				continue
			}
			for _, c := range l.Containers {
				if !q.holds(c.FilledAt, b.Location()) {
					continue
				}
				if err := put(containerRow{c, l.LotID, l.Code}); err != nil {
					return err
				}
			}
		}
		return nil
	},
})
