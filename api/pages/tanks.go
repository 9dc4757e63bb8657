package pages

import (
	"cmp"
	"fmt"
	"math"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

const tanksPath = "/tanks"

func tankPath(id ledger.ID) string { return tanksPath + "/" + id.String() }

// tanksView is the tanks as they stand.
type tanksView struct {
	Mass, Held, Room string
	Tanks            []tankCard
	// Over is the last day on which something happened to tanks, or the one asked for; nil where
	// nothing ever did.
	Over *tanksDayView
}

// tankCard is a tank as it stands.
type tankCard struct {
	Address, Name, Use, HoseMark string
	// Held and Capacity are in Unit.
	Held, Capacity, Unit string
	Full, State          string
	LevelY, LevelHeight  string
	Over, Empty          bool
	// Expected is what the book expects of its moisture; empty where it has none.
	Expected, Spread string
	Moisture, ReadAt string
	// Warm is its temperature as the book takes it, Logged where that is from.
	Warm, Logged string
	WarmFor      string
	Since        string
	LastMoved    string
	comesFrom
}

// comesFrom is where honey comes from, in a line: the largest parts by name.
type comesFrom struct {
	From        []sourceLine
	MoreSources int
	MoreShare   string
}

type sourceLine struct{ Name, Share string }

// mostSources of a tank's make-up are named; the rest are summed.
const mostSources = 4

// gaugeHeight is that of the drawn tank's inside.
const gaugeHeight = 64.0

// nearlyFullPct is from where on a tank is called nearly full; common practice.
const nearlyFullPct = 90.0

func (p *pages) tanks(ctx echo.Context) error {
	asked, err := dayAsked(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "tanks.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		held, tanks := b.State().Totals().InTanks, tanksNow(b, func(season.TankLine) bool { return true })
		day, over := tanksDayOf(b, asked)
		return func(f locale.Voice) any {
			v := &tanksView{Mass: f.Mass, Held: f.Grams(held)}
			room := int64(0)
			for _, t := range tanks {
				v.Tanks = append(v.Tanks, tankCardOf(f, t, p.Now()))
				room += max(0, t.CapacityG-t.Grams)
			}
			v.Room = f.Grams(room)
			if day != "" {
				v.Over = over.inWords(f, day)
			}
			return v
		}, nil
	})
}

// tankNow is a tank as it stands, with how warm it is.
type tankNow struct {
	season.TankLine
	hoseMark string
	warmth   season.Warmth
}

// tanksNow are those of the tanks that are shown.
func tanksNow(b *ledger.Book, shown func(season.TankLine) bool) (tanks []tankNow) {
	for _, t := range season.Tanks(b) {
		if !shown(t) {
			continue
		}
		now := tankNow{TankLine: t, warmth: season.WarmthOf(b, t.TankID, b.Latest())}
		if tank := ledger.Named[ledger.Tank](b, t.TankID); tank != nil {
			now.hoseMark = tank.HoseMark
		}
		tanks = append(tanks, now)
	}
	return tanks
}

func tankCardOf(f locale.Voice, t tankNow, now time.Time) tankCard {
	c := tankCard{
		Address: tankPath(t.TankID), Name: t.Name, Use: t.Use.Text().In(f), Held: f.Grams(t.Grams), Capacity: f.Grams(t.CapacityG), Unit: f.Mass,
		LastMoved: f.Minute(t.LastMoved), HoseMark: t.hoseMark,
	}
	c.level(f, t.TankLine)
	if e := t.Expected; e != nil {
		c.Expected, c.Spread = f.Number(e.Moisture.Mean, 1), f.Number(e.Moisture.StandardDeviation(), 1)
	}
	if m := t.Moisture; m != nil {
		c.Moisture, c.ReadAt = f.Percent(&m.Pct), f.Minute(m.At)
	}
	c.warm(f, t.warmth, now)
	c.comesFrom = comesFromOf(f, t.MakeUp)
	return c
}

func (c *tankCard) level(f locale.Voice, t season.TankLine) {
	full := 0.0
	if t.FullPct != nil {
		full = *t.FullPct
	}
	switch {
	case t.Grams == 0:
		c.State, c.Empty = f.Say("tank|empty"), true
	case t.FullPct != nil:
		c.Full = f.Number(full, 0)
	}
	switch {
	case full > 100:
		c.State, c.Over = f.Say("over its capacity"), true
	case full >= nearlyFullPct:
		c.State = f.Say("nearly full")
	}
	height := gaugeHeight * math.Min(full, 100) / 100
	c.LevelY, c.LevelHeight = fmt.Sprintf("%.1f", 4+gaugeHeight-height), fmt.Sprintf("%.1f", height)
}

// warm says how warm a tank is, how that is known, and for how long what is in
// it was warm.
func (c *tankCard) warm(f locale.Voice, w season.Warmth, now time.Time) {
	c.Warm = f.Say("%s", message.Celsius(math.Round(w.NowC*10)/10))
	c.Logged = f.Say("as is usual, nothing logged")
	if !w.LoggedAt.IsZero() {
		c.Logged = f.Say("last logged %s", ago(f, w.LoggedAt, now))
	}
	if c.Empty {
		return
	}
	if !w.Since.IsZero() {
		c.Since = ago(f, w.Since, now)
	}
	if w.Warm > 0 {
		c.WarmFor = f.Say("%s or warmer for %s", message.Celsius(season.WarmC), days(f, w.Warm))
	}
}

// days is a length of time to a tenth of a day.
func days(f locale.Voice, d time.Duration) string {
	return f.Say("%s", message.Plural{N: math.Round(d.Hours()/24*10) / 10, One: "%s day", Other: "%s days"})
}

func comesFromOf(f locale.Voice, sources []season.Source) (c comesFrom) {
	named := min(len(sources), mostSources)
	rest := 0.0
	for i, s := range sources {
		if i < named {
			c.From = append(c.From, sourceLine{cmp.Or(s.Name, locale.Missing), f.Share(s.Share)})
			continue
		}
		rest += s.Share
	}
	c.MoreSources, c.MoreShare = len(sources)-named, f.Share(rest)
	return c
}
