package pages

import (
	"net/url"
	"strconv"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/balance"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

const (
	balancePath     = "/balance"
	dryingPath      = balancePath + "/drying"
	instrumentsPath = balancePath + "/instruments"
)

// balanceView says whether the weights of a season, a day or a yard add up.
type balanceView struct {
	balanceAsked
	Seasons []seasonChoice
	Yards   []choice
	// Period is empty where the outfit has no season.
	Period, Mass, Entries string
	// Nothing says why there is nothing to show.
	Nothing string

	Answer    mark
	Statement string
	Chance    chanceView
	Suspects  []balanceSuspect
	Claims    []balanceClaim
	ByYard    []balanceYard
	// OddDays do not add up by themselves, ByDay are the others.
	OddDays, ByDay balanceDays
	// Unseen are the flows that nobody saw, UnseenWords what they come to.
	UnseenWords string
	Unseen      []balanceFlow
	MoreUnseen  int
	// Flows are a leaf of all flows, those that fit worst first.
	Flows          []balanceFlow
	Count          string
	First, Last    int
	Earlier, Later string

	entries int
	// report is nil where the outfit has no season. one is what it says of the yard that was
	// asked for; where none of the yard's boxes went into a run, none says so.
	report, one *balance.Report
	none        message.Text
	byDay       []balance.DayLine
	links       links
	// tanks are the names of the tanks that fit better.
	tanks map[ledger.ID]string
}

// balanceAsked is what the address of the page asks for.
type balanceAsked struct {
	Season, Day, Yard string
	// AsOf is the entry up to which the book is known; empty for all of it.
	AsOf string
	from int
}

// at is the address of the page for something else than was asked for.
func (a balanceAsked) at(change func(*balanceAsked)) string {
	change(&a)
	q := url.Values{}
	for name, value := range map[string]string{"season": a.Season, "day": a.Day, "yard": a.Yard, "as_of": a.AsOf} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if a.from > 0 {
		q.Set("from", strconv.Itoa(a.from))
	}
	return balancePath + "?" + q.Encode()
}

// balanceSuspect is a measurement most likely wrong, with those that it cannot be
// told apart from.
type balanceSuspect struct {
	Sentence string
	Entries  []entryLink
	More     int
	// RightTank is the tank that it more likely went into.
	RightTank  *entryLink
	Others     []balanceOther
	MoreOthers int
}

type balanceOther struct {
	Name    string
	Entries []entryLink
	More    int
}

type balanceClaim struct{ Name, Measured, Adjusted string }

type balanceYard struct {
	Address, Name, How, Measured, Adjusted, Factor, Deviations string
	mark
}

// balanceDays are some days with what they are.
type balanceDays struct {
	Name string
	Rows []balanceDay
}

type balanceDay struct {
	Address, Day, Boxes, Tanks, Containers string
	mark
}

type balanceFlow struct {
	Name, How, Measured, Adjusted, Change, Deviations, Detectable string
	// Bound says that the adjusted figure is kept at a limit, and what it would be without.
	Bound   string
	Entries []entryLink
	More    int
	mark
}

const (
	flowsOnALeaf = 40
	mostUnseen   = 40
)

func (p *pages) balancePage(ctx echo.Context) error {
	asked := balanceAsked{Season: ctx.QueryParam("season"), Day: ctx.QueryParam("day"), Yard: ctx.QueryParam("yard")}
	asked.from, _ = strconv.Atoi(ctx.QueryParam("from"))
	return p.keptAsOf(ctx, "balance.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		asked.AsOf = earlierEntry(ctx, b)
		return p.balanceView(asked, b)
	})
}

// earlierEntry is up to where a page shows the book, which asks for it as it was known;
// empty for all of it.
func earlierEntry(ctx echo.Context, b *ledger.Book) string {
	if !request.AsksEarlier(ctx) {
		return ""
	}
	return strconv.FormatInt(b.Len(), 10)
}

func (p *pages) balanceView(asked balanceAsked, b *ledger.Book) (wording, error) {
	v := &balanceView{balanceAsked: asked, entries: int(b.Len()), links: links{}, tanks: map[ledger.ID]string{}}
	id, found, err := p.chosen(asked.Season, b)
	if err != nil || !found {
		return v.inWords, err
	}
	v.Season, v.Seasons = id.String(), seasonChoices(b, id)
	period, err := balance.Season(b, id)
	if err != nil {
		return nil, err
	}
	if asked.Day != "" {
		if period, err = balance.Day(b, ledger.Date(asked.Day)); err != nil {
			return nil, request.ParameterFault("day", asked.Day, "A day is written as 2026-08-12.")
		}
	}
	read := balance.Read(b, &p.Solved)
	if v.report, err = read.Reconcile(period); err != nil {
		return nil, err
	}
	if asked.Yard != "" {
		return v.inWords, v.narrow(b)
	}
	v.name(b, v.report)
	if asked.Day == "" && len(v.report.Flows) > 0 {
		v.byDay, err = read.Days(period)
	}
	return v.inWords, err
}

func (v *balanceView) inWords(f locale.Voice) any {
	v.Mass, v.Entries = f.Mass, f.Count(v.entries)
	r := v.report
	if r == nil {
		return v
	}
	v.Period = r.Period.Said().In(f)
	v.yardChoices(f, r, v.Yard)
	if v.Yard != "" {
		v.yard(f)
		return v
	}
	v.whole(f, r)
	if v.Day == "" && len(r.Flows) > 0 {
		v.days(f)
	}
	return v
}

// days are the days of the period, each by itself.
func (v *balanceView) days(f locale.Voice) {
	for _, d := range v.byDay {
		row := balanceDay{Address: v.at(func(a *balanceAsked) { a.Day, a.from = string(d.Day), 0 }), Day: f.Date(string(d.Day)), mark: passed(f, d.Global)}
		by := map[string]string{}
		for _, c := range d.Claims {
			by[c.Name] = locale.Missing
			if c.Complete && *c.UncertaintyKg > 0 {
				by[c.Name] = withinText(f, *c.MeasuredKg, *c.UncertaintyKg)
			}
		}
		row.Boxes, row.Tanks, row.Containers = by["boxes"], by["tanks"], by["containers"]
		if d.Global.Passed {
			v.ByDay.Rows = append(v.ByDay.Rows, row)
			continue
		}
		v.OddDays.Rows = append(v.OddDays.Rows, row)
	}
	v.OddDays.Name, v.ByDay.Name = f.Say("days that do not add up"), f.Say("Days that add up or that nothing checks, %s", len(v.ByDay.Rows))
}
