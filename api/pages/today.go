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
	Backups      backupsView
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
	return p.kept(ctx, "today.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		return p.todayView(who, b), nil
	})
}

func (p *pages) todayView(who db.Principal, b *ledger.Book) wording {
	now, entries, inTanks := p.Now(), b.Len(), b.State().Totals().InTanks
	attention, shed, tanks := attentionOf(b), season.ShedOf(b), tanksNow(b, func(t season.TankLine) bool { return t.Grams > 0 })
	pulls, left := waitingPulls(b, shed.Pulls, now)
	lots := lotsToHold(b, shed.Lots, now)
	backups := p.backupsView(who, now)
	return func(f locale.Voice) any {
		v := &todayView{
			Date: f.Region.FmtDateFull(now.In(f.Zone)), Mass: f.Mass, Entries: entries, Attention: attention(f), SupersLeft: supers(f, left),
			MorePulls: len(shed.Pulls) - len(pulls), MoreLots: len(shed.Lots) - len(lots), HoneyInTanks: f.Grams(inTanks), Backups: backups(f),
		}
		if p.served[recordPath] {
			v.Record = recordPath
		}
		for _, r := range shed.Runs {
			v.Runs = append(v.Runs, runCardOf(f, r, now))
		}
		for _, card := range pulls {
			v.Pulls = append(v.Pulls, card(f))
		}
		for _, card := range lots {
			v.Lots = append(v.Lots, card(f))
		}
		for _, t := range tanks {
			v.Tanks = append(v.Tanks, tankCardOf(f, t, now))
		}
		return v
	}
}

// waitingPulls are the pulls that wait, the oldest first, and how many supers all of them left.
func waitingPulls(b *ledger.Book, pulls []season.WaitingPull, now time.Time) (cards []func(locale.Voice) pullCard, left int) {
	for _, w := range slices.Backward(pulls) {
		n, usualG := w.Supers(b)
		room := b.Name(w.Room)
		if left += n; len(cards) < mostWaiting {
			cards = append(cards, func(f locale.Voice) pullCard {
				return pullCard{yardPath(w.YardID), w.Yard, ago(f, w.PulledAt, now), supers(f, n), room, f.Grams(usualG)}
			})
		}
	}
	return cards, left
}

// lotsToHold are the lots that may not leave yet, those that are held first.
func lotsToHold(b *ledger.Book, lots []season.OpenLot, now time.Time) (cards []func(locale.Voice) lotCard) {
	slices.SortStableFunc(lots, func(a, c season.OpenLot) int {
		return cmp.Compare(slices.Index(lotOrder, a.Status), slices.Index(lotOrder, c.Status))
	})
	for _, l := range lots[:min(len(lots), mostWaiting)] {
		state, since := b.State().Lot(l.LotID), b.InForce(l.LotID).OccurredAt
		if by := b.State().LotStatus(l.LotID).By; by != nil {
			since = by.OccurredAt
		}
		cards = append(cards, func(f locale.Voice) lotCard {
			return lotCard{
				sheetPath(l.LotID), l.Lot.Code, l.Lot.Product, lotStatus(f, l.Status), ago(f, since, now), f.Count(len(state.Containers)), f.Grams(state.HeldG),
			}
		})
	}
	return cards
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

func attentionOf(b *ledger.Book) func(locale.Voice) attentionView {
	list := season.Evening(b)
	var first []season.Odd
	for _, flag := range list.Open[:min(len(list.Open), mostAttention)] {
		first = append(first, season.OddOf(b, flag))
	}
	return func(f locale.Voice) attentionView {
		v := attentionView{Count: len(list.Open), Mass: f.Grams(list.OpenG), More: len(list.Open) - len(first)}
		for _, o := range first {
			v.First = append(v.First, findingLine{findingsPath + "#" + findingID(o.Flag), o.Sentence.In(f), f.Day(o.OccurredAt)})
		}
		return v
	}
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
