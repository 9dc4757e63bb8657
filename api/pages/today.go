package pages

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// todayView is the first page: what runs, what waits, what needs attention.
type todayView struct {
	Date string
	// Record is where one records; empty where that is not served.
	Record string
	Mass   string
	// Entries is zero where the book is empty.
	Entries      int64
	Attention    attentionView
	Runs         []runCard
	Pulls        []pullCard
	MorePulls    int
	SupersLeft   string
	Tanks        []tankCard
	Lots         []lotCard
	MoreLots     int
	HoneyInTanks string
}

// attentionView is the dearest of what does not add up.
type attentionView struct {
	Count int
	Mass  string
	First []findingLine
	More  int
}

type findingLine struct{ Address, Sentence, Happened string }

type runCard struct{ Name, Began, Quiet, Supers, Loads, Honey string }

type pullCard struct{ Address, Yard, Pulled, Supers, Room, Usual string }

type lotCard struct {
	Sheet, Code, Product, Status, Since, Containers, Held string
}

// How many of each list the first page shows.
const (
	mostAttention = 5
	mostWaiting   = 8
)

// today is the first page. Who is not signed in is offered to.
func (p *pages) today(ctx echo.Context) error {
	if _, ok, err := p.Session(ctx); err != nil {
		return err
	} else if !ok {
		return p.signInPage(ctx, http.StatusOK, "")
	}
	return p.kept(ctx, "today.html", func(_ db.Principal, f locale.Voice, b *ledger.Book) (any, error) {
		return p.todayView(f, b), nil
	})
}

func (p *pages) todayView(f locale.Voice, b *ledger.Book) *todayView {
	now := p.Now()
	v := &todayView{Date: f.Region.FmtDateFull(now.In(f.Zone)), Mass: f.Mass, Entries: b.Len(), Attention: attentionOf(f, b)}
	if p.served[recordPath] {
		v.Record = recordPath
	}
	shed := season.ShedOf(b)
	for _, r := range shed.Runs {
		v.Runs = append(v.Runs, runCardOf(f, r, now))
	}
	v.wait(f, b, shed.Pulls, now)
	v.hold(f, b, shed.Lots, now)
	v.Tanks, v.HoneyInTanks = fullTanks(f, b, now), f.Grams(b.State().Totals().InTanks)
	return v
}

// wait lists the pulls that wait, the oldest first.
func (v *todayView) wait(f locale.Voice, b *ledger.Book, pulls []season.WaitingPull, now time.Time) {
	all := 0
	for _, w := range slices.Backward(pulls) {
		n, usualG := w.Supers(b)
		if all += n; len(v.Pulls) < mostWaiting {
			v.Pulls = append(v.Pulls, pullCard{yardPath(w.YardID), w.Yard, ago(f, w.PulledAt, now), supers(f, n), b.Name(w.Room), f.Grams(usualG)})
		}
	}
	v.MorePulls, v.SupersLeft = len(pulls)-len(v.Pulls), supers(f, all)
}

// hold lists the lots that may not leave yet, those that are held first.
func (v *todayView) hold(f locale.Voice, b *ledger.Book, lots []season.OpenLot, now time.Time) {
	slices.SortStableFunc(lots, func(a, c season.OpenLot) int {
		return cmp.Compare(slices.Index(lotOrder, a.Status), slices.Index(lotOrder, c.Status))
	})
	for _, l := range lots[:min(len(lots), mostWaiting)] {
		state, since := b.State().Lot(l.LotID), b.InForce(l.LotID).OccurredAt
		if by := b.State().LotStatus(l.LotID).By; by != nil {
			since = by.OccurredAt
		}
		v.Lots = append(v.Lots, lotCard{
			sheetPath(l.LotID), l.Lot.Code, l.Lot.Product, lotStatus(f, l.Status), ago(f, since, now), f.Count(len(state.Containers)), f.Grams(state.HeldG),
		})
	}
	v.MoreLots = len(lots) - len(v.Lots)
}

var lotOrder = []ledger.Status{ledger.StatusHeld, ledger.StatusOpen}

// lotStatus is whether a lot may leave, in a word.
func lotStatus(f locale.Voice, s ledger.Status) string {
	switch s {
	case ledger.StatusOpen:
		return f.Say("lot|open")
	case ledger.StatusHeld:
		return f.Say("lot|held")
	case ledger.StatusReleased:
		return f.Say("lot|released")
	}
	return f.Say("lot|gone")
}

func attentionOf(f locale.Voice, b *ledger.Book) attentionView {
	list := season.Evening(b)
	v := attentionView{Count: len(list.Open), Mass: f.Grams(list.OpenG)}
	for _, flag := range list.Open[:min(len(list.Open), mostAttention)] {
		o := season.OddOf(b, flag)
		v.First = append(v.First, findingLine{findingsPath + "#" + findingID(o.Flag), o.Sentence.In(f), f.Day(o.OccurredAt)})
	}
	v.More = v.Count - len(v.First)
	return v
}

// quietAfter is how long a run may rest before it looks as if it were forgotten;
// common practice.
const quietAfter = 18 * time.Hour

func runCardOf(f locale.Voice, r season.OpenRun, now time.Time) runCard {
	c := runCard{
		Name: r.Run.Name, Began: f.Minute(r.StartedAt), Supers: supers(f, r.SupersIn),
		Loads: f.Say("%s", message.Plural{N: float64(r.LastLoad), One: "%s load", Other: "%s loads"}), Honey: f.Grams(r.HoneyG),
	}
	if now.Sub(r.LastAt) > quietAfter {
		c.Quiet = f.Say("nothing since %s: was it ended?", message.Minute(r.LastAt))
	}
	return c
}

func supers(f locale.Voice, n int) string {
	return f.Say("%s", message.Plural{N: float64(n), One: "%s super", Other: "%s supers"})
}

// ago is the day of an instant and how many days ago that was.
func ago(f locale.Voice, at, now time.Time) string {
	if at.IsZero() {
		return locale.Missing
	}
	days := daysBetween(at.In(f.Zone), now.In(f.Zone))
	switch {
	case days <= 0:
		return f.Say("today")
	case days == 1:
		return f.Say("yesterday")
	}
	return f.Say("%s, %s days ago", f.Day(at), message.Number{V: float64(days)})
}

// daysBetween counts midnights.
func daysBetween(from, to time.Time) int {
	day := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return int(day(to).Sub(day(from)).Hours() / 24)
}
