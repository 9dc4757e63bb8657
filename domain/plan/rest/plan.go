package rest

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"pullbook/domain/ledger"
)

// Rests is how often the rest of a season is played, fewest how often at least: that many loads go through the line
// in all of them together, unless the house is very large. What one thing more would save is tried on a fifth of them.
const (
	Rests    = 1000
	fewest   = 150
	mostWork = 400_000
	forMore  = 5
)

// Band is a figure that is not known: its middle, and the ends between which nine of ten lie.
type Band struct{ Low, Middle, High float64 }

func bandOf(figures []float64) Band {
	slices.Sort(figures)
	at := func(p float64) float64 { return stat.Quantile(p, stat.Empirical, figures, nil) }
	return Band{at(0.05), at(0.5), at(0.95)}
}

// Plan is what the rest of a season comes to.
type Plan struct {
	// Rests is how many rests it rests on; Endless the part of them that were not over after a year.
	Rests   int
	Endless float64
	// Ends is when the last honey is in a container, Extracted when the last super is empty: hours from the
	// question on.
	Ends, Extracted Band
	// EndsOn are the days on which it ends, in order, with the part of the rests that end on each.
	EndsOn []EndDay
	// Days are what is done on each day, the first that of the question, until it ends in all but one of twenty rests.
	Days []ByDay
	// WorkedHours is how long the line runs. Supers are still on the yards.
	WorkedHours, Supers, Drums Band
	// ToOrder are drums beyond those on hand and on the way; nil where nobody says how many are.
	ToOrder *Band
	// Binds are the ways in which work is held up, the one that is most often the first at the beginning.
	Binds []Bind
	// More is what one more of each would save, the most first; Turns what would change the plan.
	More  []Saving
	Turns []Turn
}

// EndDay is a day on which a part of the rests ends, 0 to 1.
type EndDay struct {
	On    ledger.Date
	Share float64
}

// Bind is a way in which work is held up.
type Bind struct {
	Way Way
	// First is the part of the rests in which it is the first to hold up work, Ever that in which it does.
	First, Ever float64
	// From is when it first does where it does, in hours: the middle.
	From float64
}

// More is something that a honey house may have more of.
type More int

// What one more of is tried.
const (
	AnotherHotRoom More = iota
	EveningShift
	AnotherTank
	AnotherLine
	AnotherTruck
	// MoreDrums are ten; they are tried where somebody says how many are on hand.
	MoreDrums
	mores
)

// moreDrums is how many drums more are tried.
const moreDrums = 10

// eveningShiftHours is how long an evening shift is that is tried.
const eveningShiftHours = 3

// Saving is what one thing more would save.
type Saving struct {
	More More
	// Days is by how much sooner the season would end, in days; Mean of all rests.
	Days Band
	Mean float64
}

// Turn is what would change a plan.
type Turn struct {
	What TurnOf
	// Days is by how much later the season would end, on average.
	Days float64
}

// TurnOf is something that may be otherwise than thought.
type TurnOf int

// What is tried otherwise.
const (
	QuarterMoreSupers TurnOf = iota
	FifthSlowerLine
	DayLongerDrying
)

// with is the house with one thing more.
func (h House) with(m More) House {
	switch m {
	case AnotherHotRoom:
		h.HotRoom *= 2
	case EveningShift:
		h.EveningHours += eveningShiftHours
	case AnotherTank:
		largest := slices.MaxFunc(h.Tanks, func(a, b Tank) int { return cmp.Compare(a.CapacityKg, b.CapacityKg) })
		h.Tanks = append(slices.Clone(h.Tanks), Tank{CapacityKg: largest.CapacityKg})
	case AnotherLine:
		h.SupersAnHour = scaled(h.SupersAnHour, 1+1/h.Lines)
	case AnotherTruck:
		h.MostADay *= 2
	case MoreDrums:
		h.DrumsSpare += moreDrums
	}
	return h
}

// otherwise is the house with one thing otherwise than thought.
func (h House) otherwise(t TurnOf) House {
	switch t {
	case QuarterMoreSupers:
		courses := slices.Clone(h.Courses)
		for i := range courses {
			courses[i] = courses[i].times(1.25)
		}
		h.Courses = courses
	case FifthSlowerLine:
		h.SupersAnHour = scaled(h.SupersAnHour, 0.8)
	case DayLongerDrying:
		h.DryHours = slices.Clone(h.DryHours)
		for i := range h.DryHours {
			h.DryHours[i] += 24
		}
	}
	return h
}

func scaled(figures []float64, by float64) []float64 {
	out := make([]float64, len(figures))
	for i, v := range figures {
		out[i] = by * v
	}
	return out
}

// Supers is how many wait or are out, as far as one knows.
func (h *House) supers() (sum float64) {
	for _, c := range h.Courses {
		sum += c.Supers / float64(len(h.Courses))
	}
	for _, s := range h.Waiting {
		sum += float64(s.Supers)
	}
	return sum
}

// rests is how many rests are played of a house: fewer of a very large one.
func (h *House) rests() int {
	return min(Rests, max(fewest, int(mostWork/(1+h.supers()/float64(h.Load)))))
}

// playAll plays so many rests of a house.
func (h *House) playAll(seed uint64, n int) []Rest {
	c, out := h.calendar(), make([]Rest, n)
	for i := range out {
		out[i] = h.play(c, seed, uint64(i))
	}
	return out
}

// Plan plays the rest of the season, and counts.
func (h *House) Plan(seed uint64) Plan {
	rests := h.playAll(seed, h.rests())
	p := h.count(rests)
	some := rests[:len(rests)/forMore]
	for m := range mores {
		if m == MoreDrums && h.DrumsOnHand == nil {
			continue
		}
		house := h.with(m)
		days := sooner(some, house.playAll(seed, len(some)))
		mean := stat.Mean(days, nil)
		p.More = append(p.More, Saving{m, bandOf(days), mean})
	}
	slices.SortStableFunc(p.More, func(a, b Saving) int { return cmp.Compare(b.Mean, a.Mean) })
	for t := QuarterMoreSupers; t <= DayLongerDrying; t++ {
		house := h.otherwise(t)
		p.Turns = append(p.Turns, Turn{t, -stat.Mean(sooner(some, house.playAll(seed, len(some))), nil)})
	}
	return p
}

// sooner is by how many days each of some rests ends sooner than as it was.
func sooner(was, is []Rest) []float64 {
	out := make([]float64, len(was))
	for i := range was {
		out[i] = (was[i].ends() - is[i].ends()) / 24
	}
	return out
}

// ends is when it is over: after a year at the latest.
func (r *Rest) ends() float64 {
	if !r.Over {
		return mostDays * 24
	}
	return r.EndsAt
}

// count is what rests come to.
func (h *House) count(rests []Rest) Plan {
	p := Plan{Rests: len(rests)}
	each := func(of func(r *Rest) float64) Band {
		figures := make([]float64, len(rests))
		for i := range rests {
			figures[i] = of(&rests[i])
		}
		return bandOf(figures)
	}
	p.Ends, p.Extracted = each((*Rest).ends), each(func(r *Rest) float64 { return r.ExtractedAt })
	p.WorkedHours, p.Supers = each(func(r *Rest) float64 { return r.WorkedHours }), each(func(r *Rest) float64 { return float64(r.Out) })
	p.Drums = each(func(r *Rest) float64 { return float64(r.Drums) })
	for i := range rests {
		if !rests[i].Over {
			p.Endless++
		}
	}
	p.Endless /= float64(len(rests))
	if h.DrumsOnHand != nil {
		have := float64(*h.DrumsOnHand + h.DrumsArriving)
		p.ToOrder = &Band{max(0, p.Drums.Low-have), max(0, p.Drums.Middle-have), max(0, p.Drums.High-have)}
	}
	p.Binds, p.EndsOn, p.Days = bindsOf(rests), h.endsOn(rests), h.byDay(rests, p.Ends.High)
	return p
}

// endsOn are the days on which rests end; those that do not within a year are left out.
func (h *House) endsOn(rests []Rest) (out []EndDay) {
	ends := map[ledger.Date]int{}
	for i := range rests {
		if rests[i].Over {
			ends[ledger.Date(h.At(rests[i].EndsAt).Format(time.DateOnly))]++
		}
	}
	for _, on := range slices.Sorted(maps.Keys(ends)) {
		out = append(out, EndDay{on, float64(ends[on]) / float64(len(rests))})
	}
	return out
}

// bindsOf are the ways in which work was held up.
func bindsOf(rests []Rest) (out []Bind) {
	all := float64(len(rests))
	for w := range ways {
		b := Bind{Way: w}
		var from []float64
		for i := range rests {
			at := rests[i].First[w]
			if math.IsInf(at, 1) {
				continue
			}
			from = append(from, at)
			if at == slices.Min(rests[i].First[:]) {
				b.First++
			}
		}
		if len(from) > 0 {
			b.First, b.Ever, b.From = b.First/all, float64(len(from))/all, bandOf(from).Middle
			out = append(out, b)
		}
	}
	slices.SortStableFunc(out, func(a, b Bind) int { return cmp.Or(cmp.Compare(b.First, a.First), cmp.Compare(b.Ever, a.Ever)) })
	return out
}

// At is the instant of a time of the house, in hours from the question on.
func (h *House) At(hours float64) time.Time {
	return h.From.Add(time.Duration(hours * float64(time.Hour)))
}
