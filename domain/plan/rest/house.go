package rest

import (
	"math"
	"time"

	"pullbook/domain/ledger"
)

// House is a honey house with what is left of its season. What is not known is a list of figures that were
// recorded, of which one is drawn at a time, or a spread.
type House struct {
	From  time.Time
	Shift Shift
	// EveningHours are worked after the shift, on each of its days.
	EveningHours float64
	// Courses are ways in which the supers that are out may come in, of which one is drawn. Out is how far their
	// number may be off, of its logarithm, and Late by how many days the last may be late.
	Courses   []Course
	Out, Late Spread
	// MostADay is how many supers the trucks bring in a day; HotRoom how many stand in the hot rooms.
	MostADay, HotRoom int
	// Waiting are the supers in the hot rooms now, DryHours how long supers stand before they are extracted.
	Waiting  []Stack
	DryHours []float64
	// SupersAnHour go through the line, Load of them at once. A run begins once Batch supers are dry, or
	// no more come. It is as many Lines taken as one as go on at once.
	SupersAnHour []float64
	Lines        float64
	Load, Batch  int
	// KgPerSuper comes out of a super; KgSD is how far the honey still to come may differ from what came,
	// as OutSD.
	KgPerSuper []float64
	KgSD       float64
	Tanks      []Tank
	// FullAt are the parts of a tank that are filled from at a time: one that holds as much is closed. Where there
	// are none, a tank is closed once it has no room.
	FullAt []float64
	// SettleHours pass between the last honey into a tank and the first container out of it. From the last honey of a
	// season to its last container pass EndHours, of whose logarithm End is how far it may be off; where they
	// are 0, the last tanks settle like all others.
	SettleHours   []float64
	EndHours      float64
	End           Spread
	FillKgPerHour float64
	// DrumKg is what a drum takes, DrumShare the part of the honey that goes into drums.
	DrumKg, DrumShare float64
	// DrumsOnHand are empty; nil where nobody says how many, and nothing waits for one. DrumsArriving more come
	// ArriveHours from the question on. Where no more are on the way as the last is used, as many as are needed
	// come OrderHours later; where these are 0, none do. DrumsSpare are on hand besides, and put off no order.
	DrumsOnHand               *int
	DrumsArriving, DrumsSpare int
	ArriveHours, OrderHours   float64
}

// Course is supers that are still out, by the day on which they may come in.
type Course struct {
	Supers float64
	// Due adds up to Supers.
	Due []Due
	// Paced is true where the supers come at the pace so far, so that more of them take longer. Otherwise the
	// bees set the days.
	Paced bool
}

// Due is supers of a yard that may be pulled from a day on, 0 that of the question.
type Due struct {
	Yard        ledger.ID
	Day, Supers float64
}

// add has more supers come to be due.
func (c *Course) add(d Due) {
	c.Due, c.Supers = append(c.Due, d), c.Supers+d.Supers
}

// times is a course with so many times as many supers.
func (c Course) times(by float64) Course {
	out := Course{Paced: c.Paced}
	for _, d := range c.Due {
		if d.Supers *= by; c.Paced {
			d.Day *= by
		}
		out.add(d)
	}
	return out
}

// lastDay is the last on which supers come to be due.
func (c *Course) lastDay() (last float64) {
	for _, d := range c.Due {
		last = max(last, d.Day)
	}
	return last
}

// Stack is supers of one pull in a hot room.
type Stack struct {
	Supers int
	// Hours is how long they have stood there.
	Hours float64
}

// Tank is a tank with what it holds.
type Tank struct {
	Name           string
	CapacityKg, Kg float64
	// IdleHours is how long ago honey last came in.
	IdleHours float64
}

// Way is what may hold up the work.
type Way int

// The ways in which work is held up.
const (
	// HotRoom: supers could have been pulled, and the hot rooms had no room for them.
	HotRoom Way = iota
	// Trucks: more supers could have been pulled than come in on the busiest day.
	Trucks
	// Line: at the end of a day more than a day's work was dry.
	Line
	// Tanks: the line stood, since no tank had room.
	Tanks
	// Drums: honey had settled, and no drum was left for it.
	Drums
	ways
)

// Rest is one way in which the season may go on. Times are hours from the question on.
type Rest struct {
	// Over is false where it was not over after a year.
	Over                bool
	EndsAt, ExtractedAt float64
	// WorkedHours is how long the line ran.
	WorkedHours float64
	// Out were still on the yards, Extracted went through the line.
	Out, Extracted int
	// Kg came from the line; FilledKg went into containers and LeftKg stands in tanks.
	Kg, FilledKg, LeftKg float64
	Drums                int
	// Days are what was done on each day, the first that of the question, as far as anything was.
	Days []Worked
	// First is when each way first held up the work; infinite where it never did.
	First [ways]float64
}

// Worked is what is done on a day: supers that the trucks bring in and that go through the line, honey that comes from
// it and goes into containers, and drums that are begun.
type Worked struct {
	In, Extracted, Kg, FilledKg, Drums float64
}

// calendar is when the house works from the question on.
func (h *House) calendar() *calendar { return newCalendar(h.From, h.Shift, h.EveningHours) }

// play plays the rest of a season once.
func (h *House) play(c *calendar, seed, number uint64) Rest {
	p := newPlay(h, c, seed, number)
	p.begin()
	p.clock.Run(mostDays * 24)
	return p.outcome()
}

// newPlay draws what is drawn once.
func newPlay(h *House, c *calendar, seed, number uint64) *play {
	p := &play{h: h, calendar: c, clock: &Clock{}, draws: newDraws(h, seed, number), current: none}
	p.line = &Station{Clock: p.clock, Servers: 1, May: p.mayExtract}
	p.filling = &Station{Clock: p.clock, Servers: 1, May: p.mayFill}
	for i := range p.rest.First {
		p.rest.First[i] = math.Inf(1)
	}
	p.tanks = make([]tank, len(h.Tanks))
	p.stock()
	for i, t := range h.Tanks {
		p.tanks[i] = tank{kg: max(0, t.Kg), lastIn: -t.IdleHours, fullKg: p.fullKg(i)}
	}
	return p
}
