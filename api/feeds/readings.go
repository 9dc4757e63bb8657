package feeds

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// wideQuantities are the quantities that have a column of their own; the rest
// are listed in words in the column other.
var wideQuantities = []struct {
	name   string
	places int
}{
	{"hmf_mg_per_kg", 2}, {"diastase_gothe", 2}, {"colour_mm_pfund", 1}, {"conductivity_ms_per_cm", 3},
	{"free_acidity_meq_per_kg", 2}, {"fructose_plus_glucose_g_per_100g", 2}, {"sucrose_g_per_100g", 2},
	{"yeast_per_g", 0}, {"water_activity", 3},
}

var isWide = func() map[string]bool {
	wide := map[string]bool{}
	for _, q := range wideQuantities {
		wide[q.name] = true
	}
	return wide
}()

// readingsFeed is a row for each reading.
var readingsFeed = &tableOf[entryRow]{
	name:    "readings",
	columns: readingColumns(),
	source: entriesOf{
		kind: ledger.KindReading,
		takes: func(q *query, v *view, e *ledger.Entry) bool {
			return q.holds(e.OccurredAt, v.book.Location()) && q.about(v.book, e)
		},
		names: []ledger.Kind{ledger.KindYard, ledger.KindTank, ledger.KindInstrument, ledger.KindPull, ledger.KindRun, ledger.KindLot, ledger.KindFill},
	}.source,
}

func reading(r entryRow) *ledger.Reading { return r.Body.(*ledger.Reading) }

func readingColumns() []column[entryRow] {
	columns := []column[entryRow]{
		{"id", formID, func(_ *view, out cells, r entryRow) { out.id(r.root) }},
		{"on_kind", formText, func(v *view, out cells, r entryRow) { out.text(v.word(string(reading(r).On.Kind), sayChoice)) }},
		{"on_id", formID, func(v *view, out cells, r entryRow) { out.id(v.book.Root(reading(r).On.ID)) }},
		{"on_name", formText, func(v *view, out cells, r entryRow) { out.text(v.name(reading(r).On.ID)) }},
		{"yard", formText, func(v *view, out cells, r entryRow) { out.text(v.yardOf(reading(r).On)) }},
		{"lot", formText, func(v *view, out cells, r entryRow) { out.text(v.lotOf(reading(r).On)) }},
		{"point", formText, func(v *view, out cells, r entryRow) { out.text(v.word(string(reading(r).Point), sayChoice)) }},
		{"instrument", formText, func(v *view, out cells, r entryRow) { out.text(v.name(reading(r).InstrumentID)) }},
		{"laboratory", formText, func(_ *view, out cells, r entryRow) { out.text(reading(r).Laboratory) }},
		{"certificate_number", formText, func(_ *view, out cells, r entryRow) { out.text(reading(r).CertificateNumber) }},
		{"accreditation", formText, func(_ *view, out cells, r entryRow) { out.text(reading(r).Accreditation) }},
		{"analysed_on", formDay, func(_ *view, out cells, r entryRow) { out.day(ledger.Date(reading(r).AnalysedOn)) }},
		moistureColumn("moisture_pct", func(m *ledger.MoistureReading) *float64 { return &m.Pct }),
		moistureColumn("moisture_std_uncertainty_pct", func(m *ledger.MoistureReading) *float64 { return &m.StdUncertaintyPct }),
		{"scale", formText, func(_ *view, out cells, r entryRow) {
			if m := reading(r).Moisture; m != nil {
				out.text(m.Scale)
				return
			}
			out.text("")
		}},
		{"as_read", formDecimal, func(_ *view, out cells, r entryRow) {
			if m := reading(r).Moisture; m != nil {
				putMeasured(out, m.AsRead, asReadPlaces)
				return
			}
			out.none()
		}},
		{"sample_temperature_c", formCelsius, func(v *view, out cells, r entryRow) {
			if m := reading(r).Moisture; m != nil && m.SampleC != nil {
				v.putTemperature(out, *m.SampleC)
				return
			}
			out.none()
		}},
	}
	for _, q := range wideQuantities {
		columns = append(columns, column[entryRow]{q.name, formDecimal, func(_ *view, out cells, r entryRow) {
			for i := range reading(r).Measured {
				if m := &reading(r).Measured[i]; m.Quantity == q.name {
					putMeasured(out, m.Value, q.places)
					return
				}
			}
			out.none()
		}})
	}
	return append(append(columns,
		column[entryRow]{"less_than", formText, func(v *view, out cells, r entryRow) { out.text(lessThan(v, reading(r))) }},
		column[entryRow]{"std_uncertainties", formText, func(_ *view, out cells, r entryRow) {
			out.text(beside(reading(r), func(m *ledger.Measured) *float64 { return m.StdUncertainty }))
		}},
		column[entryRow]{"limits_of_quantification", formText, func(_ *view, out cells, r entryRow) {
			out.text(beside(reading(r), func(m *ledger.Measured) *float64 { return m.LimitOfQuantification }))
		}},
		column[entryRow]{"other", formText, func(v *view, out cells, r entryRow) { out.text(otherFigures(v, reading(r))) }},
		column[entryRow]{"granulated", formYes, func(_ *view, out cells, r entryRow) { out.yes(reading(r).Granulated) }},
		column[entryRow]{"containers_sampled", formWhole, func(_ *view, out cells, r entryRow) { putCount(out, reading(r).ContainersSampled) }},
		column[entryRow]{"note", formText, func(_ *view, out cells, r entryRow) { out.text(reading(r).Note) }},
	), entryColumns()...)
}

// asReadPlaces is what a refractive index needs.
const asReadPlaces = 4

func moistureColumn(name string, figure func(*ledger.MoistureReading) *float64) column[entryRow] {
	return column[entryRow]{name, formDecimal, func(_ *view, out cells, r entryRow) {
		if m := reading(r).Moisture; m != nil {
			putKnown(out, figure(m), 2)
			return
		}
		out.none()
	}}
}

// yardOf names the yard of a pull; empty for other places.
func (v *view) yardOf(on ledger.Place) string {
	if on.Kind != ledger.PlacePull {
		return ""
	}
	if p := ledger.NamedAsKnown[ledger.Pull](v.book, on.ID, v.number); p != nil {
		return v.name(p.YardID)
	}
	return ""
}

// lotOf is the code of a lot, or of a container's lot; empty for other places.
func (v *view) lotOf(on ledger.Place) string {
	switch on.Kind {
	case ledger.PlaceLot:
		return v.name(on.ID)
	case ledger.PlaceContainer:
		if f := ledger.NamedAsKnown[ledger.Fill](v.book, on.ID, v.number); f != nil {
			return v.name(f.LotID)
		}
	}
	return ""
}

// lessThan lists the quantities of which a laboratory said only that there was
// less than the figure.
func lessThan(v *view, r *ledger.Reading) string {
	var names []string
	for _, m := range r.Measured {
		switch {
		case m.LessThan && m.Parameter != "":
			names = append(names, v.word(m.Parameter, func(string) message.Text { return m.SaidName() }))
		case m.LessThan:
			names = append(names, v.word(m.Quantity, sayChoice))
		}
	}
	return strings.Join(names, "; ")
}

// beside lists what a laboratory says beside each of its figures, where it does.
func beside(r *ledger.Reading, said func(*ledger.Measured) *float64) string {
	var all []string
	for i := range r.Measured {
		if m := &r.Measured[i]; said(m) != nil {
			all = append(all, cmp.Or(m.Parameter, m.Quantity)+" "+strconv.FormatFloat(*said(m), 'f', -1, 64))
		}
	}
	return strings.Join(all, "; ")
}

// otherFigures are the figures and answers that have no column.
func otherFigures(v *view, r *ledger.Reading) string {
	var said []string
	for _, m := range r.Measured {
		switch figure := v.figure(m); {
		case m.Quantity == ledger.OwnQuantity:
			said = append(said, v.word(m.Parameter, func(string) message.Text { return m.SaidName() })+" "+figure+" "+m.Unit)
		case !isWide[m.Quantity]:
			said = append(said, v.word(m.Quantity, sayChoice)+" "+figure)
		}
	}
	for _, o := range r.Observed {
		what, word := request.SayObserved(o)
		said = append(said, fmt.Sprintf("%s: %s", v.word(o.What, func(string) message.Text { return what }), v.word(o.Word, func(string) message.Text { return word })))
	}
	return strings.Join(said, "; ")
}

// figure is a laboratory's figure within a text.
func (v *view) figure(m ledger.Measured) string {
	text := v.word(strconv.FormatFloat(m.Value, 'f', -1, 64), func(string) message.Text { return message.F("%s", message.Figure(m.Value)) })
	if m.LessThan {
		return "<" + text
	}
	return text
}

// sayChoice is one of the contract's own words.
func sayChoice(word string) message.Text { return message.F(request.ChoiceOf(word)) }
