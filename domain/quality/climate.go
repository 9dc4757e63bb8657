package quality

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Climate is how warm the rooms of an outfit were, read once for many lots.
type Climate struct {
	book *ledger.Book
	logs map[ledger.ID][]heat.Point
	made map[ledger.ID]heat.History
}

// ClimateOf is the climate of the rooms in a book.
func ClimateOf(b *ledger.Book) *Climate {
	return &Climate{book: b, logs: map[ledger.ID][]heat.Point{}, made: map[ledger.ID]heat.History{}}
}

// logged is what was logged of a room, named by its root.
func (c *Climate) logged(room ledger.ID) []heat.Point {
	points, read := c.logs[room]
	if !read {
		points = c.book.Logged(room)
		c.logs[room] = points
	}
	return points
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
	points := c.logged(store)
	i, _ := slices.BinarySearchFunc(points, at, func(p heat.Point, t time.Time) int {
		return cmp.Or(p.At.Compare(t), -1)
	})
	if i > 0 && at.Sub(points[i-1].At) <= heat.LongestJoin {
		return &points[i-1].TemperatureC
	}
	return c.usual(store)
}

// ahead is the temperature to reckon with from now on, and where it is from.
func (c *Climate) ahead(store ledger.ID, now time.Time) (*float64, message.Text) {
	name := c.book.Name(store)
	if t := c.usual(c.book.Root(store)); t != nil {
		return t, message.F("the usual %s of the %s", message.Celsius(*t), name)
	}
	if t := c.at(store, now); t != nil {
		return t, message.F("%s as last logged in the %s", message.Celsius(*t), name)
	}
	return nil, message.F("the book has no temperature for the place where the lot stands: give the lot a store, and the store its usual temperature or a log")
}

// between is the history of a store; an error where a stretch is not known.
func (c *Climate) between(store ledger.ID, from, to time.Time) (heat.History, error) {
	store = c.book.Root(store)
	if h, ok := c.made[store]; ok {
		return h.Between(from, to)
	}
	usual := c.usual(store)
	h, err := heat.FromPoints(c.logged(store), usual)
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
