package ledger

import (
	"cmp"
	"slices"
	"sort"
	"sync"
	"time"
)

// calendar keeps the seasons that stand in order, until one of them changes: a sheet
// asks for the season of each of its rows.
type calendar struct {
	once    sync.Once
	seasons []*Season
}

// seasons gives the seasons that stand in order of their first days. They do not
// overlap.
func (b *Book) seasons() []*Season {
	c := b.calendar
	c.once.Do(func() {
		b.InForceOf(KindSeason, func(_ ID, e *Entry) bool {
			c.seasons = append(c.seasons, e.Body.(*Season))
			return true
		})
		slices.SortStableFunc(c.seasons, func(a, z *Season) int { return cmp.Compare(a.First, z.First) })
	})
	return c.seasons
}

// seasonOf is the place of the season that holds an instant; -1 where none does.
func seasonOf(seasons []*Season, at time.Time, loc *time.Location) int {
	day := Date(at.In(loc).Format(time.DateOnly))
	i := sort.Search(len(seasons), func(i int) bool { return seasons[i].First > day }) - 1
	if i < 0 || !seasons[i].Holds(at, loc) {
		return -1
	}
	return i
}

// SeasonOf gives the season that holds an instant; nil where none does.
func (b *Book) SeasonOf(at time.Time) *Season {
	seasons := b.seasons()
	if i := seasonOf(seasons, at, b.loc); i >= 0 {
		return seasons[i]
	}
	return nil
}

// seasonsAround are the few seasons that are nearest to an instant that none holds.
func (b *Book) seasonsAround(at time.Time) []*Season {
	const few = 4 // before it, and after it
	seasons, day := b.seasons(), Date(at.In(b.loc).Format(time.DateOnly))
	i := sort.Search(len(seasons), func(i int) bool { return seasons[i].First > day })
	return seasons[max(0, i-few):min(len(seasons), i+few)]
}

// turnCalendar forgets the seasons where a fact may change which of them stand.
func (b *Book) turnCalendar(f *fact) {
	switch f.root.Kind {
	case KindSeason, KindImport, KindUnreadable:
		b.calendar = new(calendar)
	}
}
