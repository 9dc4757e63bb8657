package importing

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// comesTo finds rows that say once more, as a sum, what the book has pull by pull: a workbook has a sheet of
// the year's pulls, and one of what they come to by month or by yard. Both would stand.
type comesTo struct {
	// of are the book's pulls from before this sheet, by their yards.
	of map[ledger.ID][]pulled
	// rows are those that are what the pulls of their yard come to, sums how many of them are of several
	// pulls, and first is the first of these; others is true once a row says otherwise.
	rows, sums, first int
	others            bool
}

type pulled struct {
	at     time.Time
	supers int
}

// pulledBefore are the pulls of a yard that the book has.
func (k *taking) pulledBefore(yard ledger.ID) []pulled {
	if k.comesTo.of == nil {
		k.comesTo.of = map[ledger.ID][]pulled{}
		k.book.InForceOf(ledger.KindPull, func(_ ledger.ID, e *ledger.Entry) bool {
			if p := e.Body.(*ledger.Pull); e.Number <= k.known {
				of := k.book.Root(p.YardID)
				k.comesTo.of[of] = append(k.comesTo.of[of], pulled{e.OccurredAt, supersOf(p)})
			}
			return true
		})
	}
	return k.comesTo.of[k.book.Root(yard)]
}

func supersOf(p *ledger.Pull) (n int) {
	for _, s := range p.Supers {
		n += s.Supers
	}
	return n
}

// isOfMonth asks about a month's figure of a yard of which the book has pulls in that month, on days of their
// own. It reports whether the figure is not to be put.
func (k *taking) isOfMonth(at time.Time, p *ledger.Pull) bool {
	if k.wide == nil || k.wide.at == nil || !isMonth(k.wide.at.said) {
		return false
	}
	had, pulls := 0, 0
	for _, was := range k.pulledBefore(p.YardID) {
		local, is := was.at.In(k.book.Location()), at.In(k.book.Location())
		switch {
		case k.dayOf(was.at) == k.dayOf(at):
			return false // of which it is asked whether it is this one
		case local.Year() == is.Year() && local.Month() == is.Month():
			had, pulls = had+was.supers, pulls+1
		}
	}
	if pulls == 0 {
		return false
	}
	switch answer := k.answered(""); {
	case answer == Another:
		return false
	case answer == LeftAside, k.Mapping.LeaveOutTotals:
		k.LeftOut++
		return true
	}
	k.problem(LooksLikeSum, nil, message.F("The book has %s of this yard in this month, with %s. Is this figure what they come to, to be left out, or a pull beside them%s?",
		message.Plural{N: float64(pulls), One: "%s pull", Other: "%s pulls"}, saidSupers(had), message.Option("cells: leave_out or another")), string(Another), string(LeftAside))
	return true
}

// noteSum notes whether a row's supers are what the book's pulls of the yard come to in the season, or the
// only one of them.
func (k *taking) noteSum(at time.Time, p *ledger.Pull) {
	c := &k.comesTo
	season := k.book.SeasonOf(at)
	if c.others || season == nil {
		c.others = true
		return
	}
	had, pulls := 0, 0
	for _, was := range k.pulledBefore(p.YardID) {
		if k.dayOf(was.at) == k.dayOf(at) {
			c.others = true
			return
		}
		if k.book.SeasonOf(was.at) == season {
			had, pulls = had+was.supers, pulls+1
		}
	}
	switch {
	case pulls == 0 || had != supersOf(p):
		c.others = true
		return
	case pulls > 1:
		if c.sums++; c.sums == 1 {
			c.first = k.row
		}
	}
	c.rows++
}

// askSums asks about a sheet of which every row is what the book's pulls of its yard come to.
func (k *taking) askSums() {
	const several = 2
	c := &k.comesTo
	if c.others || c.sums == 0 || c.rows < several || k.Mapping.Rows[c.first] == Another {
		return
	}
	k.add(Problem{Code: LooksLikeSum, Row: c.first, DidYouMean: []string{string(Another)},
		Message: message.F("Each row of this sheet is what the book's pulls of its yard come to in the season. If these are their sums, do not bring the sheet in. If they are pulls beside them, say that this row is another one%s.", message.Option("rows: another"))})
}
