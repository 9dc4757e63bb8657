package api

import (
	"strconv"

	"pullbook/domain/ledger"
)

// verdictFact is what one line of a rule set said of a lot.
type verdictFact struct {
	root  ledger.ID
	line  int
	entry *ledger.Entry
	check *ledger.Check
	lot   string
	set   *ledger.RuleSetResult
	*ledger.VerdictLine
	// outdated says why the check no longer speaks of the lot.
	outdated string
}

var verdictsFeed = newReport(reportOf[verdictFact]{
	name: "verdicts", keys: 2,
	columns: []column[verdictFact]{
		{"check_id", formID, func(_ *feedView, out cells, r verdictFact) { out.id(r.root) }},
		{"line", formWhole, func(_ *feedView, out cells, r verdictFact) { out.whole(int64(r.line)) }},
		{"lot", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.lot) }},
		{"checked_on", formDay, func(_ *feedView, out cells, r verdictFact) { out.day(ledger.Date(r.check.On)) }},
		{"rule_set", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.set.Name) }},
		{"edition", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.set.Edition) }},
		{"outcome", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.set.Outcome) }},
		{"grade", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.set.Grade) }},
		{"parameter", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.Parameter) }},
		{"line_grade", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.VerdictLine.Grade) }},
		{"limit", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.Limit) }},
		{"value", formDecimal, func(_ *feedView, out cells, r verdictFact) { putFigure(out, r.Value) }},
		{"unit", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.Unit) }},
		{"line_outcome", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.VerdictLine.Outcome) }},
		{"clause", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.Clause) }},
		{"outdated", formText, func(_ *feedView, out cells, r verdictFact) { out.text(r.outdated) }},
		{"entry", formWhole, func(_ *feedView, out cells, r verdictFact) { out.whole(r.entry.Number) }},
	},
	rows: func(q *feedQuery, b *ledger.Book) (out []verdictFact, err error) {
		for root, e := range b.Happened {
			check, ok := e.Body.(*ledger.Check)
			if ok && check.Found != nil && q.isLot(b.Root(check.LotID)) && q.holds(e.OccurredAt, b.Location()) {
				out = append(out, verdictFacts(b, root, e, check)...)
			}
		}
		return out, nil
	},
})

func verdictFacts(b *ledger.Book, root ledger.ID, e *ledger.Entry, check *ledger.Check) (out []verdictFact) {
	outdated := b.Outdated(e.ID).String()
	for i := range check.Found.Results {
		set := &check.Found.Results[i]
		for k := range set.Lines {
			out = append(out, verdictFact{root, len(out) + 1, e, check, b.Name(check.LotID), set, &set.Lines[k], outdated})
		}
	}
	return out
}

// putFigure writes a figure that is kept as decimal text, with the places that
// it was given; nothing where it is a word.
func putFigure(out cells, text string) {
	value, err := strconv.ParseFloat(text, 64)
	if err != nil {
		out.none()
		return
	}
	places := 0
	for i, r := range text {
		if r == '.' {
			places = len(text) - i - 1
		}
	}
	out.decimal(value, places)
}
