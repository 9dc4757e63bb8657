package rest

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// year is what the yards of one season gave.
type year struct {
	season *ledger.Season
	pulls  []pulled
	// hives are the yards' last counts.
	hives map[ledger.ID]int
	// extracted is when the last honey came from a run, filled when the last container was filled after it.
	extracted, filled time.Time
}

type pulled struct {
	at     time.Time
	yard   ledger.ID
	supers int
}

// record is what a book says of the season that is going on.
type record struct {
	book  *ledger.Book
	state *ledger.State
	now   time.Time
	this  year
	// before are the seasons before, the latest first; partial those of which the book has fewer pulls than
	// of this one up to now. They say how a season goes on, and not how much of which yard.
	before, partial []year
	// waiting are the pulls of this season that have supers left; mostWaiting is how many stood in the hot
	// rooms at once, in whichever season.
	waiting     []Stack
	mostWaiting int
	runs        []*run
	byRun       map[ledger.ID]*run
	// dryHours are the waits of supers that went into runs.
	dryHours []float64
	// lastIn is when honey last came into a tank; emptied whether a container was filled from it since.
	lastIn      map[ledger.ID]time.Time
	filledSince map[ledger.ID]bool
	settleHours []float64
	fills       []filled
	// emptyings are how much was filled from a tank from one honey that came in to the next, in whichever season.
	emptyings []emptying
	moisture  map[ledger.ID]read // by yard, the last
}

type read struct {
	at  time.Time
	pct float64
}

// run is a run as it was recorded.
type run struct {
	from, last time.Time
	ended      bool
	supers     int
	loads      int
	usualKg    float64
	kg         float64
}

type emptying struct {
	tank ledger.ID
	kg   float64
}

type filled struct {
	at   time.Time
	tank ledger.ID
	kind ledger.ID
	kg   float64
}

// mostBefore is how many earlier seasons are looked at.
const mostBefore = 5

// recordOf reads a book up to an instant of a season.
func recordOf(b *ledger.Book, season *ledger.Season, now time.Time) *record {
	r := &record{book: b, state: b.State(), now: now, byRun: map[ledger.ID]*run{}, lastIn: map[ledger.ID]time.Time{},
		filledSince: map[ledger.ID]bool{}, moisture: map[ledger.ID]read{}}
	if b.Latest().After(now) {
		r.state = b.StateAt(now)
	}
	r.years(season)
	waiting := map[string]int{} // by season
	for root, e := range b.Happened {
		if e.OccurredAt.After(now) {
			break
		}
		r.take(root, e, waiting)
	}
	r.before = slices.DeleteFunc(r.before, func(y year) bool {
		few := len(y.pulls) < len(r.this.pulls)
		if few && len(y.pulls) > 0 {
			r.partial = append(r.partial, y)
		}
		return few || len(y.pulls) == 0
	})
	return r
}

// years are the season and those before it.
func (r *record) years(season *ledger.Season) {
	r.this = year{season: season, hives: map[ledger.ID]int{}}
	r.book.InForceOf(ledger.KindSeason, func(_ ledger.ID, e *ledger.Entry) bool {
		if s := e.Body.(*ledger.Season); s.Last < season.First {
			r.before = append(r.before, year{season: s, hives: map[ledger.ID]int{}})
		}
		return true
	})
	slices.SortFunc(r.before, func(a, b year) int { return cmp.Compare(b.season.First, a.season.First) })
	r.before = r.before[:min(len(r.before), mostBefore)]
}

// yearOf is the year that an instant belongs to; nil of one that is not looked at.
func (r *record) yearOf(at time.Time) *year {
	if r.this.season.Holds(at, r.book.Location()) {
		return &r.this
	}
	for i := range r.before {
		if r.before[i].season.Holds(at, r.book.Location()) {
			return &r.before[i]
		}
	}
	return nil
}

// take takes up one entry.
func (r *record) take(root ledger.ID, e *ledger.Entry, waiting map[string]int) {
	switch x := e.Body.(type) {
	case *ledger.HiveCount:
		if y := r.yearOf(e.OccurredAt); y != nil {
			y.hives[r.book.Root(x.YardID)] = x.Hives
		}
	case *ledger.Pull:
		r.takePull(root, e, x, waiting)
	case *ledger.Run, *ledger.RunSupers, *ledger.Load, *ledger.RunEnd:
		r.takeRun(root, e, waiting)
	case *ledger.Movement:
		if to := r.book.Root(x.To.ID); x.To.Kind == ledger.PlaceTank {
			r.lastIn[to], r.filledSince[to] = e.OccurredAt, false
		}
		if y := r.yearOf(e.OccurredAt); y != nil && x.From.Kind == ledger.PlaceRun {
			y.extracted, y.filled = e.OccurredAt, e.OccurredAt
		}
		if of := r.byRun[r.book.Root(x.From.ID)]; of != nil {
			of.kg += float64(x.MassG) / 1000
			of.went(e.OccurredAt)
		}
	case *ledger.Fill:
		r.takeFill(e, x)
	case *ledger.Reading:
		if p := ledger.Named[ledger.Pull](r.book, x.On.ID); p != nil && x.Moisture != nil && r.yearOf(e.OccurredAt) == &r.this {
			r.moisture[r.book.Root(p.YardID)] = read{e.OccurredAt, x.Moisture.Pct}
		}
	}
}

func (r *record) takePull(root ledger.ID, e *ledger.Entry, x *ledger.Pull, waiting map[string]int) {
	y := r.yearOf(e.OccurredAt)
	if y == nil {
		return
	}
	p := pulled{at: e.OccurredAt, yard: r.book.Root(x.YardID)}
	left := 0
	for _, c := range x.Supers {
		p.supers += c.Supers
		left += max(0, r.state.SupersLeft(root, c.SuperKindID))
	}
	if y.pulls, left = append(y.pulls, p), min(left, p.supers); y == &r.this && left > 0 && !r.book.Accepted(root, ledger.NeverExtracted) {
		r.waiting = append(r.waiting, Stack{left, r.now.Sub(e.OccurredAt).Hours()})
	}
	waiting[y.season.Name] += p.supers
	r.mostWaiting = max(r.mostWaiting, waiting[y.season.Name])
}

// takeRun takes up what is told of a run.
func (r *record) takeRun(root ledger.ID, e *ledger.Entry, waiting map[string]int) {
	switch x := e.Body.(type) {
	case *ledger.Run:
		if r.yearOf(e.OccurredAt) == &r.this {
			n := &run{from: e.OccurredAt, last: e.OccurredAt}
			r.runs, r.byRun[root] = append(r.runs, n), n
		}
	case *ledger.RunSupers:
		pull := r.book.InForce(x.PullID)
		if pull != nil {
			if y := r.yearOf(pull.OccurredAt); y != nil {
				waiting[y.season.Name] -= x.Supers
			}
		}
		if n := r.byRun[r.book.Root(x.RunID)]; n != nil {
			n.supers += x.Supers
			if k := ledger.Named[ledger.SuperKind](r.book, x.SuperKindID); k != nil {
				n.usualKg += float64(x.Supers) * float64(k.UsualNetG) / 1000
			}
			if pull != nil && !pull.OccurredAt.After(e.OccurredAt) {
				r.dryHours = append(r.dryHours, e.OccurredAt.Sub(pull.OccurredAt).Hours())
			}
		}
	case *ledger.Load:
		if n := r.byRun[r.book.Root(x.RunID)]; n != nil {
			n.loads++
			n.went(e.OccurredAt)
		}
	case *ledger.RunEnd:
		if n := r.byRun[r.book.Root(x.RunID)]; n != nil && !n.ended {
			n.ended, n.last = true, e.OccurredAt
		}
	}
}

// went says that a run was going on at an instant.
func (n *run) went(at time.Time) {
	if !n.ended && at.After(n.last) {
		n.last = at
	}
}

// longestSettling is beyond what honey is left to settle: a tank that is filled from later was forgotten, or kept.
const longestSettling = 14 * 24 * time.Hour

func (r *record) takeFill(e *ledger.Entry, x *ledger.Fill) {
	y := r.yearOf(e.OccurredAt)
	if y != nil && e.OccurredAt.Sub(y.filled) < longestSettling {
		y.filled = e.OccurredAt
	}
	if y == nil {
		return
	}
	tank := r.book.Root(x.TankID)
	r.empty(tank, float64(x.NetG())/1000)
	if y != &r.this {
		r.filledSince[tank] = true
		return
	}
	if in, had := r.lastIn[tank]; had && !r.filledSince[tank] && e.OccurredAt.Sub(in) < longestSettling {
		r.settleHours = append(r.settleHours, e.OccurredAt.Sub(in).Hours())
	}
	r.filledSince[tank] = true
	r.fills = append(r.fills, filled{e.OccurredAt, tank, r.book.Root(x.ContainerKindID), float64(x.NetG()) / 1000})
}

// empty adds what was filled from a tank to what was since honey last came in.
func (r *record) empty(tank ledger.ID, kg float64) {
	if r.filledSince[tank] {
		for i := len(r.emptyings) - 1; i >= 0; i-- {
			if e := &r.emptyings[i]; e.tank == tank {
				e.kg += kg
				return
			}
		}
	}
	r.emptyings = append(r.emptyings, emptying{tank, kg})
}
