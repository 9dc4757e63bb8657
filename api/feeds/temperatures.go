package feeds

import (
	"pullbook/domain/ledger"
)

// temperaturesFeed is a row for each point of the temperature logs.
var temperaturesFeed = &tableOf[entryRow]{
	name: "temperatures",
	columns: append([]column[entryRow]{
		{"id", formID, func(_ *view, out cells, r entryRow) { out.id(r.root) }},
		{"point", formWhole, func(_ *view, out cells, r entryRow) { out.whole(int64(r.part + 1)) }},
		{"on_kind", formText, func(_ *view, out cells, r entryRow) { out.text(string(temperatureLog(r).On.Kind)) }},
		{"on_id", formID, func(v *view, out cells, r entryRow) { out.id(v.book.Root(temperatureLog(r).On.ID)) }},
		{"on_name", formText, func(v *view, out cells, r entryRow) { out.text(v.name(temperatureLog(r).On.ID)) }},
		{"at", formInstant, func(_ *view, out cells, r entryRow) { out.instant(temperatureLog(r).Points[r.part].At) }},
		{"temperature_c", formCelsius, func(v *view, out cells, r entryRow) {
			v.putTemperature(out, temperatureLog(r).Points[r.part].TemperatureC)
		}},
		{"humidity_pct", formDecimal, func(_ *view, out cells, r entryRow) {
			putKnown(out, temperatureLog(r).Points[r.part].HumidityPct, 1)
		}},
		{"held", formYes, func(_ *view, out cells, r entryRow) { out.yes(temperatureLog(r).Held) }},
	}, entryColumns()...),
	source: entriesOf{
		kind:  ledger.KindTemperatureLog,
		takes: func(*query, *view, *ledger.Entry) bool { return true },
		parts: func(e *ledger.Entry) int { return len(e.Body.(*ledger.TemperatureLog).Points) },
		part: func(q *query, v *view, e *ledger.Entry, n int) bool {
			return q.holds(e.Body.(*ledger.TemperatureLog).Points[n].At, v.book.Location())
		},
		names: []ledger.Kind{ledger.KindTank, ledger.KindRoom},
	}.source,
}

func temperatureLog(r entryRow) *ledger.TemperatureLog { return r.Body.(*ledger.TemperatureLog) }
