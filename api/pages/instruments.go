package pages

import (
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/balance"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// instrumentsView is the instruments with their checks, and what those found
// wrong have touched.
type instrumentsView struct {
	Entries     string
	Instruments []instrumentCard
}

type instrumentCard struct {
	ID, Name, Scale, Journal, Sentence string
	mark
	Doubts []instrumentDoubt
	// Checks are the latest first, as far as there is room.
	Checks     []instrumentCheck
	MoreChecks int
}

type instrumentCheck struct {
	At, Reference, Expected, AsFound, AsLeft, Tolerance, By string
	Entry                                                   entryLink
	mark
}

// instrumentDoubt is what rests on an instrument until a check that it failed.
type instrumentDoubt struct {
	Sentence string
	Check    entryLink
	Lots     []doubtfulLot
	Loads    []doubtfulLoad
	// Readings are those that lie on two sides of a limit as read and as they
	// would have been; Others count the rest.
	Readings []doubtfulReading
	Others   int
}

type doubtfulLot struct {
	Address, Code, Sentence, How string
	State                        mark
	Entries                      []entryLink
	More                         int
}

type doubtfulLoad struct {
	Entry                             entryLink
	Day, Buyer, Containers, Net, Lots string
	Worst, MayFail                    string
}

type doubtfulReading struct {
	Entry                     entryLink
	At, On, AsRead, Corrected string
}

// mostChecks of an instrument are shown, and mostDoubtful readings of a doubt.
const (
	mostChecks   = 12
	mostDoubtful = 20
)

func (p *pages) instrumentsPage(ctx echo.Context) error {
	return p.keptAsOf(ctx, "instruments.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		entries, l := int(b.Len()), links{}
		var reports []*balance.InstrumentReport
		var roots []ledger.ID
		b.InForceOf(ledger.KindInstrument, func(root ledger.ID, _ *ledger.Entry) bool {
			roots = append(roots, root)
			return true
		})
		for _, root := range roots {
			r, err := balance.Instrument(b, root)
			if err != nil {
				return nil, err
			}
			reports = append(reports, r)
			l.addInstrument(b, r)
		}
		slices.SortStableFunc(reports, func(x, y *balance.InstrumentReport) int {
			if d := min(len(y.Doubts), 1) - min(len(x.Doubts), 1); d != 0 {
				return d
			}
			return compareNames(x.Instrument.Name, y.Instrument.Name)
		})
		return func(f locale.Voice) any {
			v := &instrumentsView{Entries: f.Count(entries)}
			for _, r := range reports {
				v.Instruments = append(v.Instruments, instrumentOf(f, l, r))
			}
			return v
		}, nil
	})
}

// addInstrument looks up what a report on an instrument names.
func (l links) addInstrument(b *ledger.Book, r *balance.InstrumentReport) {
	for _, c := range r.Checks {
		l.add(b, c.EntryID)
	}
	for _, d := range r.Doubts {
		l.add(b, d.Check.EntryID)
		for _, x := range d.Lots {
			l.add(b, x.Readings...)
		}
		for _, x := range d.Dispatches {
			l.add(b, x.DispatchID)
		}
		for _, x := range d.Readings {
			l.add(b, x.EntryID)
		}
	}
}

func instrumentOf(f locale.Voice, known links, r *balance.InstrumentReport) instrumentCard {
	c := instrumentCard{
		ID: r.InstrumentID.String(), Name: r.Instrument.Name, Scale: f.Say(request.ChoiceOf(r.Instrument.Scale)),
		Journal: journalPath + "/" + r.InstrumentID.String(), mark: trust(f, r),
	}
	if len(r.Doubts) == 0 {
		c.Sentence = r.Sentence.In(f)
	}
	for _, d := range slices.Backward(r.Doubts) {
		c.Doubts = append(c.Doubts, doubtOf(f, known, d))
	}
	for _, x := range slices.Backward(r.Checks) {
		if len(c.Checks) == mostChecks {
			c.MoreChecks++
			continue
		}
		c.Checks = append(c.Checks, instrumentCheckOf(f, known, x))
	}
	return c
}

// trust is how far an instrument can be relied on now, in a word.
func trust(f locale.Voice, r *balance.InstrumentReport) mark {
	last := len(r.Checks) - 1
	switch {
	case last < 0:
		return mark{"?", f.Say("never checked"), "watch"}
	case r.Checks[last].LeftWrong:
		return mark{"✗", f.Say("left out of tolerance"), "bad"}
	case r.Trust == ledger.Overdue:
		return mark{"▲", f.Say("check overdue"), "watch"}
	}
	return mark{"✓", f.Say("checked"), "good"}
}

func instrumentCheckOf(f locale.Voice, known links, c balance.CheckLine) instrumentCheck {
	own := func(v float64) string { return f.Number(v, -4) }
	out := instrumentCheck{
		At: f.Minute(c.At), Reference: c.Reference, Expected: own(c.Expected), AsFound: own(c.AsFound), AsLeft: own(c.AsLeft), Tolerance: own(c.Tolerance),
		By: c.By, Entry: known.to(f, c.EntryID), mark: mark{"✓", f.Say("good"), "good"},
	}
	if !c.Good {
		out.mark = mark{"✗", f.Say("found wrong"), "bad"}
	}
	return out
}

func doubtOf(f locale.Voice, known links, d balance.Doubt) instrumentDoubt {
	out := instrumentDoubt{Sentence: d.Sentence.In(f), Check: known.to(f, d.Check.EntryID)}
	for _, l := range d.Lots {
		lot := doubtfulLot{
			Address: lotPath(l.LotID), Code: l.Code, Sentence: l.Sentence.In(f), State: statusMark(f, l.Status),
			How: f.Say("%s", message.Capital(message.F("%s", message.Series{Between: ", ", Items: l.How}))),
		}
		lot.Entries, lot.More = known.some(f, l.Readings, mostEntries)
		out.Lots = append(out.Lots, lot)
	}
	for _, x := range d.Dispatches {
		lots := make([]message.Text, len(x.Lots))
		for i, code := range x.Lots {
			lots[i] = message.Verbatim(code)
		}
		out.Loads = append(out.Loads, doubtfulLoad{
			Entry: known.to(f, x.DispatchID), Day: f.Day(x.At), Buyer: x.Buyer, Containers: f.Count(x.Containers), Net: f.Kg(x.Kg),
			Lots: f.Say("%s", message.List(lots)), Worst: f.Number(x.WorstPct, 1), MayFail: limits(f, x.Fails),
		})
	}
	for _, r := range d.Readings {
		if len(r.Crosses) == 0 || len(out.Readings) == mostDoubtful {
			out.Others++
			continue
		}
		out.Readings = append(out.Readings, doubtfulReading{known.to(f, r.EntryID), f.Minute(r.At), r.OnName.In(f), f.Percent(r.MoisturePct), f.Percent(r.CorrectedPct)})
	}
	return out
}

// limits lists limits of moisture.
func limits(f locale.Voice, pct []float64) string {
	if len(pct) == 0 {
		return locale.Missing
	}
	said := make([]message.Text, len(pct))
	for i, v := range pct {
		said[i] = message.F("%s %%", message.Number{V: v, Places: 1})
	}
	return f.Say("%s", message.List(said))
}
