package quality

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
)

// Climate is how warm the rooms of an outfit were, read once for many lots.
type Climate struct {
	book *ledger.Book
	logs map[ledger.ID][]heat.Point
	made map[ledger.ID]heat.History
}

// ClimateOf reads the temperature logs of the rooms.
func ClimateOf(b *ledger.Book) *Climate {
	c := &Climate{book: b, logs: map[ledger.ID][]heat.Point{}, made: map[ledger.ID]heat.History{}}
	for e := range b.OfKind(ledger.KindTemperatureLog, 0) {
		log := e.Body.(*ledger.TemperatureLog)
		if log.On.Kind != ledger.PlaceRoom || b.Standing(e.ID) != e {
			continue
		}
		room := b.Root(log.On.ID)
		for i, p := range log.Points {
			if log.Held && i > 0 {
				c.logs[room] = append(c.logs[room], heat.Point{At: p.At.Add(-time.Second), TemperatureC: log.Points[i-1].TemperatureC})
			}
			c.logs[room] = append(c.logs[room], heat.Point{At: p.At, TemperatureC: p.TemperatureC})
		}
	}
	for room, points := range c.logs {
		slices.SortStableFunc(points, func(a, b heat.Point) int { return a.At.Compare(b.At) })
		c.logs[room] = slices.CompactFunc(points, func(a, b heat.Point) bool { return a.At.Equal(b.At) })
	}
	return c
}

func (c *Climate) usual(room ledger.ID) *float64 {
	if r := ledger.Named[ledger.Room](c.book, room); r != nil {
		return r.UsualTemperatureC
	}
	return nil
}

// at is the temperature of a store at an instant: what was logged within a day
// before it, or else what is usual there; nil where neither is known.
func (c *Climate) at(store ledger.ID, at time.Time) *float64 {
	store = c.book.Root(store)
	points := c.logs[store]
	i, _ := slices.BinarySearchFunc(points, at, func(p heat.Point, t time.Time) int {
		return cmp.Or(p.At.Compare(t), -1)
	})
	if i > 0 && at.Sub(points[i-1].At) <= heat.LongestJoin {
		return &points[i-1].TemperatureC
	}
	return c.usual(store)
}

// ahead is the temperature to reckon with from now on, and where it is from.
func (c *Climate) ahead(store ledger.ID, now time.Time) (*float64, string) {
	name := c.book.Name(store)
	if t := c.usual(c.book.Root(store)); t != nil {
		return t, fmt.Sprintf("the usual %g C of the %s", *t, name)
	}
	if t := c.at(store, now); t != nil {
		return t, fmt.Sprintf("%g C as last logged in the %s", *t, name)
	}
	return nil, "no temperature is known of where the lot stands: give the lot a store, and the store its usual temperature or a log"
}

// between is the history of a store; an error where a stretch is not known.
func (c *Climate) between(store ledger.ID, from, to time.Time) (heat.History, error) {
	store = c.book.Root(store)
	if h, ok := c.made[store]; ok {
		return h.Between(from, to)
	}
	usual := c.usual(store)
	h, err := heat.FromPoints(c.logs[store], usual)
	if err != nil && usual != nil {
		h, err = heat.FromSetPoints([]heat.SetPoint{{From: from, To: to.Add(time.Second), TemperatureC: *usual}}, usual)
		if err != nil {
			return h, err
		}
		return h.Between(from, to)
	}
	if err != nil {
		return h, err
	}
	c.made[store] = h
	return h.Between(from, to)
}
