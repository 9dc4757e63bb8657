package ledger

import (
	"slices"
	"sort"
	"time"
)

// Moment is a tank as the book has it at an instant.
type Moment struct {
	At time.Time
	// Of is what happened to the tank right then, known by Root; nil where only
	// time went by.
	Of   *Entry
	Root ID
	// Even is true for the moments that were asked for, evenly over the time.
	Even bool
	// InG and OutG are what came in and went out with it. Where more was drawn
	// than the tank had, OutG is all that was drawn.
	InG, OutG int64
	// Grams is what it holds after that, and Belief what is expected of it; nil
	// where it is empty.
	Grams  int64
	Belief *Belief
}

// Course follows a tank from one instant to another: each thing that happened to
// it, just before and right after, and so many moments between, evenly over the
// time. It walks the book once; it is nil where tank names no tank.
func (b *Book) Course(tank ID, from, until time.Time, between int) []Moment {
	root := b.at(tank)
	if root == nil || root.Kind != KindTank || until.Before(from) {
		return nil
	}
	c := course{state: newState(b), tank: root, grid: evenly(from, until, between)}
	n := sort.Search(len(b.line), func(i int) bool { return b.line[i].at >= from.UnixMicro() })
	c.state.replay(n)
	for ; n < len(b.line) && b.line[n].at <= until.UnixMicro(); n++ {
		f := b.line[n]
		c.passUntil(f.at)
		c.state.replay(n) // makes room for the holders
		if !b.happensTo(root.ID, f.Body) {
			c.state.replay(n + 1)
			continue
		}
		before := c.state.holders[root.slot]
		c.note(f.OccurredAt)
		c.state.replay(n + 1)
		m, after := c.note(f.OccurredAt), c.state.holders[root.slot]
		m.Of, m.Root = f.Entry, f.root.ID
		m.InG, m.OutG = after.InG-before.InG, after.OutG-before.OutG
	}
	c.passUntil(until.UnixMicro() + 1)
	return c.out
}

// evenly are instants from one to another, both among them.
func evenly(from, until time.Time, between int) []time.Time {
	out := []time.Time{from}
	for i := 1; i <= between; i++ {
		out = append(out, from.Add(time.Duration(float64(until.Sub(from))*float64(i)/float64(between+1))))
	}
	return slices.CompactFunc(append(out, until), time.Time.Equal)
}

// course is a walk that looks at one tank.
type course struct {
	state *State
	tank  *fact
	// grid are the moments yet to come.
	grid []time.Time
	out  []Moment
}

// passUntil notes the moments of the grid before an instant, in microseconds.
func (c *course) passUntil(at int64) {
	for len(c.grid) > 0 && c.grid[0].UnixMicro() < at {
		c.note(c.grid[0]).Even = true
		c.grid = c.grid[1:]
	}
}

// note adds how the tank is at an instant.
func (c *course) note(at time.Time) *Moment {
	m := Moment{At: at}
	if h, ok := c.state.Holder(c.tank.ID); ok && h.Grams > 0 {
		m.Grams = h.Grams
		if belief, ok := c.state.BeliefAt(c.tank.ID, at); ok {
			m.Belief = &belief
		}
	}
	c.out = append(c.out, m)
	return &c.out[len(c.out)-1]
}

// HappenedTo returns when, from one instant to another, the first and the last thing happened to a
// tank; false where nothing did. It looks at entries alone and replays none.
func (b *Book) HappenedTo(tank ID, from, until time.Time) (first, last time.Time, any bool) {
	root := b.rootID(tank)
	n := sort.Search(len(b.line), func(i int) bool { return b.line[i].at >= from.UnixMicro() })
	for ; n < len(b.line) && b.line[n].at <= until.UnixMicro(); n++ {
		if f := b.line[n]; b.happensTo(root, f.Body) {
			if !any {
				first = f.OccurredAt
			}
			last, any = f.OccurredAt, true
		}
	}
	return first, last, any
}

// happensTo reports whether what an entry tells of happens to the tank.
func (b *Book) happensTo(tank ID, body Body) bool {
	is := func(id ID) bool { return b.rootID(id) == tank }
	switch x := body.(type) {
	case *Movement:
		return is(x.From.ID) || is(x.To.ID)
	case *Fill:
		return is(x.TankID)
	case *Stocktake:
		return is(x.TankID)
	case *Wash:
		return is(x.TankID)
	case *Reading:
		return is(x.On.ID)
	}
	return false
}

// HoldsSince is when a tank last came to hold honey worth the name, more than a
// heel; false where it never did. It may be empty again.
func (s *State) HoldsSince(tank ID) (since time.Time, ever bool) {
	root := s.book.at(tank)
	for _, t := range slices.Backward(s.tides) {
		if t.full && t.tank == root {
			return t.f.OccurredAt, true
		}
	}
	return time.Time{}, false
}
