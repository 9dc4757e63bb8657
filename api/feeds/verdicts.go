package feeds

import (
	"strconv"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
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
	outdated message.Text
}

var verdictsFeed = newReport(reportOf[verdictFact]{
	name: "verdicts", keys: 2,
	columns: []column[verdictFact]{
		{"check_id", formID, func(_ *view, out cells, r verdictFact) { out.id(r.root) }},
		{"line", formWhole, func(_ *view, out cells, r verdictFact) { out.whole(int64(r.line)) }},
		{"lot", formText, func(_ *view, out cells, r verdictFact) { out.text(r.lot) }},
		{"checked_on", formDay, func(_ *view, out cells, r verdictFact) { out.day(ledger.Date(r.check.On)) }},
		{"rule_set", formText, func(v *view, out cells, r verdictFact) {
			out.text(v.word(r.set.Name, func(string) message.Text { return r.set.SaidName() }))
		}},
		{"edition", formText, func(v *view, out cells, r verdictFact) { out.text(v.word(r.set.Edition, standard.SayEdition)) }},
		{"outcome", formText, func(v *view, out cells, r verdictFact) { out.text(v.word(r.set.Outcome, standard.SayOutcome)) }},
		{"grade", formText, func(v *view, out cells, r verdictFact) { out.text(v.word(r.set.Grade, standard.SayGrade)) }},
		{"parameter", formText, func(v *view, out cells, r verdictFact) {
			out.text(v.word(r.Parameter, func(string) message.Text { return standard.SayLabelled(r.Parameter, r.Label) }))
		}},
		{"line_grade", formText, func(v *view, out cells, r verdictFact) { out.text(v.word(r.VerdictLine.Grade, standard.SayGrade)) }},
		{"limit", formText, func(v *view, out cells, r verdictFact) { out.text(v.word(r.Limit, standard.ReadBounds)) }},
		{"value", formDecimal, func(_ *view, out cells, r verdictFact) { putFigure(out, r.Value) }},
		{"value_less_than", formYes, func(_ *view, out cells, r verdictFact) {
			if r.Value == "" {
				out.none()
				return
			}
			out.yes(r.LessThan)
		}},
		{"unit", formText, func(v *view, out cells, r verdictFact) { out.text(v.word(r.Unit, standard.SayUnit)) }},
		{"line_outcome", formText, func(v *view, out cells, r verdictFact) {
			out.text(v.word(r.VerdictLine.Outcome, standard.SayOutcome))
		}},
		{"clause", formText, func(v *view, out cells, r verdictFact) { out.text(v.word(r.Clause, standard.SayClause)) }},
		{"outdated", formText, func(v *view, out cells, r verdictFact) {
			out.text(v.word(r.outdated.String(), func(string) message.Text { return r.outdated }))
		}},
		{"entry", formWhole, func(_ *view, out cells, r verdictFact) { out.whole(r.entry.Number) }},
	},
	rows: func(q *query, b *ledger.Book, put func(verdictFact) error) error {
		for root, e := range b.Happened {
			check, ok := e.Body.(*ledger.Check)
			if !ok || check.Found == nil || !q.isLot(b.Root(check.LotID)) || !q.holdsDay(ledger.Date(check.On)) {
				continue
			}
			for _, fact := range verdictFacts(b, root, e, check) {
				if err := put(fact); err != nil {
					return err
				}
			}
		}
		return nil
	},
})

func verdictFacts(b *ledger.Book, root ledger.ID, e *ledger.Entry, check *ledger.Check) (out []verdictFact) {
	outdated := b.Outdated(e.ID)
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
