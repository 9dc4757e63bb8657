package quality

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Climate is how warm the rooms of an outfit were and will be, read once for many lots.
type Climate struct {
	book     *ledger.Book
	logs     map[ledger.ID][]heat.Point
	years    map[ledger.ID]*storeYear
	outlooks map[outlookOf]*heat.Outlook
}

// outlookOf names the outlook of a reaction in a store.
type outlookOf struct {
	store    ledger.ID
	reaction heat.Reaction
}

// storeYear is the year of a store and where it is from; nil stands for a store of which
// nothing is known.
type storeYear struct {
	heat.Year
	// known is false where the year is only what was logged last.
	known bool
	basis message.Text
}

// ClimateOf is the climate of the rooms in a book.
func ClimateOf(b *ledger.Book) *Climate {
	return &Climate{book: b, logs: map[ledger.ID][]heat.Point{}, years: map[ledger.ID]*storeYear{}, outlooks: map[outlookOf]*heat.Outlook{}}
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

// at is the temperature of a store at an instant: what was logged within a day
// before it, or else that of its year; nil where neither is known.
func (c *Climate) at(store ledger.ID, at time.Time) *float64 {
	store = c.book.Root(store)
	points := c.logged(store)
	i, _ := slices.BinarySearchFunc(points, at, func(p heat.Point, t time.Time) int {
		return cmp.Or(p.At.Compare(t), -1)
	})
	if i > 0 && at.Sub(points[i-1].At) <= heat.LongestJoin {
		return &points[i-1].TemperatureC
	}
	if y := c.year(store); y != nil && y.known {
		return new(y.TemperatureC(at))
	}
	return nil
}

// year is the course of a store over the year, named by its root. A log of most of a year
// tells it best; else what the outfit says of its months, or of the whole year; else the
// temperature that was logged last.
func (c *Climate) year(store ledger.ID) *storeYear {
	y, read := c.years[store]
	if !read {
		y = c.yearOf(store)
		c.years[store] = y
	}
	return y
}

func (c *Climate) yearOf(store ledger.ID) *storeYear {
	room, name, points := ledger.Named[ledger.Room](c.book, store), c.book.Name(store), c.logged(store)
	if y, ok := heat.LearnYear(points); ok {
		return &storeYear{y, true, message.F("the year that was logged in the %s, from %s in its coldest time to %s in its warmest, which does to honey what %s would all year", name, message.Celsius(y.Coldest()), message.Celsius(y.Warmest()), kineticMean(y))}
	}
	if room != nil {
		if y, ok := room.Year(); ok {
			return &storeYear{y, true, message.F("the year of the %s, from %s in its coldest month to %s in its warmest, which does to honey what %s would all year", name, message.Celsius(y.Coldest()), message.Celsius(y.Warmest()), kineticMean(y))}
		}
		if t := room.UsualTemperatureC; t != nil {
			return &storeYear{heat.Year{MeanC: *t}, true, message.F("the usual %s of the %s, as if it were so all year: where summer warms it, honey ages two to four times as fast, so say its warmest and coldest month or keep a log", message.Celsius(*t), name)}
		}
	}
	if n := len(points); n > 0 {
		last := points[n-1].TemperatureC
		return &storeYear{heat.Year{MeanC: last}, false, message.F("%s as last logged in the %s, as if it were so all year: say its warmest and coldest month or keep a log", message.Celsius(last), name)}
	}
	return nil
}

// kineticMean is the temperature of a level year that forms as much HMF.
func kineticMean(y heat.Year) message.Celsius {
	return message.Celsius(y.KineticMeanC(heat.Default().HMF.Arrhenius))
}

// ahead is the temperature to reckon with, all year, and where it is from.
func (c *Climate) ahead(store ledger.ID) (*float64, message.Text) {
	y := c.year(c.book.Root(store))
	if y == nil {
		return nil, message.F("the book has no temperature for the place where the lot stands: give the lot a store, and the store its usual temperature or a log")
	}
	if y.SwingK == 0 { // as it is told; a log never comes to just that
		return &y.MeanC, y.basis
	}
	return new(float64(kineticMean(y.Year))), y.basis
}

// outlook is what the temperatures of a store do to a reaction; an error where none is known.
func (c *Climate) outlook(store ledger.ID, r heat.Reaction) (*heat.Outlook, error) {
	store = c.book.Root(store)
	key := outlookOf{store, r}
	if o := c.outlooks[key]; o != nil {
		return o, nil
	}
	y := c.year(store)
	if y == nil {
		return nil, message.Errorf("the book has no temperature for the place where it stands")
	}
	o, err := r.Outlook(c.logged(store), y.Year)
	if err != nil {
		return nil, err
	}
	c.outlooks[key] = o
	return o, nil
}
