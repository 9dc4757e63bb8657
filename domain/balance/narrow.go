package balance

import (
	"slices"
	"strings"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/reconcile"
)

// DayLine is one day of a period in short.
type DayLine struct {
	Day    ledger.Date
	Global reconcile.GlobalTest
	Claims []Claim
	// Statement is that of the day's own report.
	Statement message.Text
}

// Days reconciles each day of a period on which anything was extracted, moved
// or packed, by itself.
func Days(b *ledger.Book, p Period) ([]DayLine, error) { return Read(b, nil).Days(p) }

// Days is the Days of a book that was read.
func (b *Book) Days(p Period) ([]DayLine, error) {
	var out []DayLine
	for _, day := range b.house.days(p) {
		one, err := Day(b.house.book, day)
		if err != nil {
			return nil, err
		}
		r, err := b.inShort(one)
		if err != nil {
			return nil, err
		}
		out = append(out, DayLine{day, r.Global, r.Claims, r.Statement})
	}
	return out, nil
}

// days lists the days of a period on which something happened at a run or tank.
func (h *house) days(p Period) []ledger.Date {
	var out []ledger.Date
	var last [3]int
	add := func(at time.Time) {
		local := h.local(at)
		y, m, d := local.Date()
		if day := [3]int{y, int(m), d}; p.holds(at) && day != last {
			out, last = append(out, ledger.Date(local.Format(time.DateOnly))), day
		}
	}
	for _, r := range h.runs {
		add(r.at)
	}
	for i := range h.moves {
		add(h.moves[i].at)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// OfYard narrows a report to one yard: its boxes, and what went in and out of
// the runs that they went into. What was adjusted was adjusted with everything
// else in view. It fails as not found where no boxes of the yard went into a
// run of the period.
func (r *Report) OfYard(yard ledger.ID) (*Report, error) {
	i := slices.IndexFunc(r.Yards, func(l YardLine) bool { return l.YardID == yard })
	if i < 0 {
		return nil, fault.New(fault.NotFound, "No boxes of that yard went into a run of the %s.", r.Said())
	}
	runs := map[ledger.ID]bool{}
	for _, f := range r.Flows {
		if f.Yard == yard {
			runs[f.Run] = true
		}
	}
	out := &Report{Period: r.Period, Global: r.Global, Yards: []YardLine{r.Yards[i]}}
	for _, f := range r.Flows {
		if runs[f.Run] {
			out.Flows = append(out.Flows, f)
		}
	}
	nodes := map[string]bool{}
	for _, f := range out.Flows {
		nodes[f.From], nodes[f.To] = true, true
	}
	for _, n := range r.Nodes {
		if nodes[n.Name] && strings.HasPrefix(n.Name, "run ") {
			out.Nodes = append(out.Nodes, n)
		}
	}
	said := []message.Text{r.Yards[i].Sentence}
	for _, p := range r.Parts {
		if p.Suspect != nil && runs[p.Suspect.Run] {
			said = append(said, p.Suspect.Sentence)
			out.Parts = append(out.Parts, p)
		}
	}
	out.Statement, out.Unseen = message.Join(said...), out.unseen()
	return out, nil
}
