package feeds

import (
	"slices"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// lotFact is a lot with what was decided about it.
type lotFact struct {
	*season.LotReport
	opened *ledger.Entry
	status ledger.Status
	// ferments is nil where nothing of it is here.
	ferments *quality.Fermentation
}

// ferments is how likely the containers of a lot that are here are to ferment; nil where
// none is. The climate is kept from lot to lot, since stores are shared.
func ferments(b *ledger.Book, c *quality.Climate, lot *season.LotReport, on standard.Date) (*quality.Fermentation, error) {
	if lot.HeldG == 0 {
		return nil, nil
	}
	g, err := quality.Gather(b, lot.LotID, on)
	if err != nil {
		return nil, err
	}
	f, err := quality.FermentationOf(b, g, c, on)
	if err != nil || len(f.Risks) == 0 {
		return nil, err
	}
	return f, nil
}

// putRisk writes a risk, which is no word where nothing is here that could ferment.
func (v *view) putRisk(out cells, here bool, r standard.FermentationRisk) {
	if !here {
		out.text("")
		return
	}
	out.text(v.word(r.String(), func(string) message.Text { return sayRisk(r) }))
}

func sayRisk(r standard.FermentationRisk) message.Text {
	switch r {
	case standard.RiskHigh:
		return message.F("risk|high")
	case standard.RiskNotKnown:
		return message.F("risk|not known")
	case standard.RiskWatch:
		return message.F("risk|watch")
	}
	return message.F("risk|low")
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
		{"net_kg", formMass, func(v *view, out cells, r lotFact) {
			out.decimal(v.netOfAll(r.Containers, everyContainer, r.NetG), massPlaces)
		}},
		{"held_kg", formMass, func(v *view, out cells, r lotFact) {
			out.decimal(v.netOfAll(r.Containers, func(c season.Container) bool { return c.State == season.Held }, r.HeldG), massPlaces)
		}},
		{"dispatched_kg", formMass, func(v *view, out cells, r lotFact) {
			out.decimal(v.netOfAll(r.Containers, func(c season.Container) bool { return c.State == season.Dispatched }, r.DispatchedG), massPlaces)
		}},
		{"moisture_pct", formDecimal, func(_ *view, out cells, r lotFact) { putKnown(out, r.MoisturePct, 2) }},
		{"decided", formText, func(v *view, out cells, r lotFact) {
			out.text(v.word(string(r.status), func(string) message.Text { return r.status.Text() }))
		}},
		{"fermentation_risk", formText, func(v *view, out cells, r lotFact) {
			v.putRisk(out, r.ferments != nil, worstOf(r.ferments))
		}},
		{"seen_fermenting", formYes, func(_ *view, out cells, r lotFact) {
			out.yes(r.ferments != nil && r.ferments.SeenFermenting())
		}},
		{"yards", formText, func(_ *view, out cells, r lotFact) { out.text(sourceNames(r.MakeUp)) }},
		{"note", formText, func(_ *view, out cells, r lotFact) { out.text(r.Note) }},
	},
	rows: lotFacts,
})

func everyContainer(season.Container) bool { return true }

func worstOf(f *quality.Fermentation) standard.FermentationRisk {
	if f == nil {
		return standard.RiskNotKnown
	}
	return f.Worst
}

func lotFacts(q *query, b *ledger.Book, put func(lotFact) error) error {
	climate := quality.ClimateOf(b)
	for l := range season.EveryLot(b) {
		opened := b.InForce(l.LotID)
		if q.isLot(l.LotID) && q.holds(opened.OccurredAt, b.Location()) && q.isFrom(l.MakeUp) {
			f, err := ferments(b, climate, l, q.on)
			if err != nil {
				return err
			}
			if err := put(lotFact{l, opened, b.State().LotStatus(l.LotID).Status, f}); err != nil {
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
	// risk is nil where it is not here.
	risk *quality.Risk
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
		{"net_kg", formMass, func(v *view, out cells, r containerRow) { out.decimal(v.net(r.GrossG, r.TareG), massPlaces) }},
		{"held_kg", formMass, func(v *view, out cells, r containerRow) { out.decimal(v.netOr(r.ID, r.HeldG), massPlaces) }},
		{"seal", formText, func(_ *view, out cells, r containerRow) { out.text(r.Seal) }},
		{"whereabouts", formText, func(v *view, out cells, r containerRow) {
			out.text(v.word(string(r.State), func(word string) message.Text { return message.F("container|" + word) }))
		}},
		{"gone_at", formInstant, func(_ *view, out cells, r containerRow) { out.instant(r.GoneAt) }},
		{"buyer", formText, func(_ *view, out cells, r containerRow) { out.text(r.Buyer) }},
		{"fermentation_risk", formText, func(v *view, out cells, r containerRow) {
			if r.risk == nil {
				v.putRisk(out, false, standard.RiskNotKnown)
				return
			}
			v.putRisk(out, true, r.risk.Risk)
		}},
		{"seen_fermenting", formYes, func(_ *view, out cells, r containerRow) { out.yes(r.risk != nil && r.risk.Container.SeenFermenting) }},
		{"fermentation_moisture_pct", formDecimal, func(_ *view, out cells, r containerRow) {
			if r.risk == nil || r.risk.Container.MoisturePct == nil {
				out.none()
				return
			}
			out.decimal(r.risk.Container.MoisturePct.Float64(), 2)
		}},
		{"fermentation_moisture_from", formText, func(_ *view, out cells, r containerRow) {
			if r.risk == nil {
				out.text("")
				return
			}
			out.text(string(r.risk.Basis))
		}},
	},
	rows: containerRows,
})

func containerRows(q *query, b *ledger.Book, put func(containerRow) error) error {
	climate := quality.ClimateOf(b)
	for l := range season.EveryStock(b) {
		if !q.isLot(l.LotID) || !slices.ContainsFunc(l.Containers, func(c season.Container) bool { return q.holds(c.FilledAt, b.Location()) }) {
			continue
		}
		f, err := ferments(b, climate, l, q.on)
		if err != nil {
			return err
		}
		risks := map[ledger.ID]*quality.Risk{}
		if f != nil {
			for i := range f.Risks {
				risks[f.Risks[i].FillID] = &f.Risks[i]
			}
		}
		for _, c := range l.Containers {
			if !q.holds(c.FilledAt, b.Location()) {
				continue
			}
			if err := put(containerRow{c, l.LotID, l.Code, risks[c.ID]}); err != nil {
				return err
			}
		}
	}
	return nil
}
