package feeds

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// flowRow is honey that went from one place to another. Honey of a dispatch is
// as many rows as places it came from.
type flowRow struct {
	ledger.Flow
	part int
}

var movementsFeed = newReport(reportOf[flowRow]{
	name: "movements", keys: 2,
	columns: []column[flowRow]{
		{"id", formID, func(_ *view, out cells, r flowRow) { out.id(r.Root) }},
		{"part", formWhole, func(_ *view, out cells, r flowRow) { out.whole(int64(r.part)) }},
		{"moved_at", formInstant, func(_ *view, out cells, r flowRow) { out.instant(r.Entry.OccurredAt) }},
		{"kind", formText, func(_ *view, out cells, r flowRow) { out.text(string(r.Entry.Kind)) }},
		{"from_kind", formText, func(_ *view, out cells, r flowRow) { out.text(string(r.From.Kind)) }},
		{"from_id", formID, func(_ *view, out cells, r flowRow) { out.id(r.From.ID) }},
		{"from_name", formText, func(v *view, out cells, r flowRow) { out.text(v.name(r.From.ID)) }},
		{"to_kind", formText, func(_ *view, out cells, r flowRow) { out.text(string(r.To.Kind)) }},
		{"to_id", formID, func(_ *view, out cells, r flowRow) { out.id(r.To.ID) }},
		{"to_name", formText, func(v *view, out cells, r flowRow) { out.text(v.name(r.To.ID)) }},
		{"mass_kg", formMass, func(v *view, out cells, r flowRow) { out.decimal(r.mass(v), massPlaces) }},
		{"unexplained_kg", formMass, func(v *view, out cells, r flowRow) { v.putMass(out, r.UnexplainedG) }},
		{"recorded_at", formInstant, func(_ *view, out cells, r flowRow) { out.instant(r.Entry.RecordedAt) }},
		{"recorded_by", formText, func(_ *view, out cells, r flowRow) { out.text(r.Entry.RecordedBy) }},
		{"entry", formWhole, func(_ *view, out cells, r flowRow) { out.whole(r.Entry.Number) }},
	},
	steps: func(q *query, b *ledger.Book) rowSource[flowRow] {
		walk, last := b.FlowsAsKnown(), flowRow{}
		return func(v *view, most int) (rows []flowRow, more bool) {
			flows, more := walk.Some(v.book, most)
			for _, f := range flows {
				if last = last.followedBy(f); last.takenBy(q, v) {
					rows = append(rows, last)
				}
			}
			return rows, more
		}
	},
})

// followedBy is the row of the next flow.
func (r flowRow) followedBy(f ledger.Flow) flowRow {
	if f.Root == r.Root {
		return flowRow{f, r.part + 1}
	}
	return flowRow{f, 1}
}

// mass is the honey that went, in the unit of the view: of a container that was filled or left
// whole, its gross less its tare.
func (r flowRow) mass(v *view) float64 {
	for _, at := range []ledger.Place{r.From, r.To} {
		if at.Kind == ledger.PlaceContainer {
			return v.netOr(at.ID, r.Grams)
		}
	}
	return v.mass(r.Grams)
}

// takenBy reports whether the filters let a row through. Of a dispatch of several lots those
// rows are a lot's that its own containers left by.
func (r flowRow) takenBy(q *query, v *view) bool {
	return q.holds(r.Entry.OccurredAt, v.book.Location()) && (q.isOfLot(v, r.From) || q.isOfLot(v, r.To))
}

var tanksFeed = newReport(reportOf[season.TankLine]{
	name: "tanks", keys: 1,
	columns: []column[season.TankLine]{
		{"id", formID, func(_ *view, out cells, r season.TankLine) { out.id(r.TankID) }},
		{"tank", formText, func(_ *view, out cells, r season.TankLine) { out.text(r.Name) }},
		{"use", formText, func(v *view, out cells, r season.TankLine) {
			out.text(v.word(string(r.Use), func(string) message.Text { return r.Use.Text() }))
		}},
		{"net_kg", formMass, func(v *view, out cells, r season.TankLine) { v.putMass(out, r.Grams) }},
		{"capacity_kg", formMass, func(v *view, out cells, r season.TankLine) { v.putMass(out, r.CapacityG) }},
		{"full_pct", formDecimal, func(_ *view, out cells, r season.TankLine) { putKnown(out, r.FullPct, 1) }},
		{"expected_moisture_pct", formDecimal, expects(func(b *ledger.Belief) float64 { return b.Moisture.Mean })},
		{"expected_hmf_mg_per_kg", formDecimal, expects(func(b *ledger.Belief) float64 { return b.HMF().Mean })},
		{"expected_diastase_gothe", formDecimal, expects(func(b *ledger.Belief) float64 { return b.Diastase().Mean })},
		{"read_moisture_pct", formDecimal, func(_ *view, out cells, r season.TankLine) {
			if r.Moisture == nil {
				out.none()
				return
			}
			out.decimal(r.Moisture.Pct, 2)
		}},
		{"read_at", formInstant, func(_ *view, out cells, r season.TankLine) {
			if r.Moisture == nil {
				out.none()
				return
			}
			out.instant(r.Moisture.At)
		}},
		{"moved_at", formInstant, func(_ *view, out cells, r season.TankLine) { out.instant(r.LastMoved) }},
		{"yards", formText, func(_ *view, out cells, r season.TankLine) { out.text(sourceNames(r.MakeUp)) }},
	},
	rows: func(q *query, b *ledger.Book, put func(season.TankLine) error) error {
		for _, r := range season.Tanks(b) {
			if !q.isFrom(r.MakeUp) {
				continue
			}
			if err := put(r); err != nil {
				return err
			}
		}
		return nil
	},
})

// expects writes a figure that the book expects of what is in a tank.
func expects(figure func(*ledger.Belief) float64) func(*view, cells, season.TankLine) {
	return func(_ *view, out cells, r season.TankLine) {
		if r.Expected == nil {
			out.none()
			return
		}
		out.decimal(figure(r.Expected), 2)
	}
}
