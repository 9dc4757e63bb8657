package rest

import (
	"math"
	"math/rand/v2"
)

// draws is what is left to chance in one rest of a season. Each figure has numbers of its own, by the day that
// it is about, so that a house with one thing more meets the same days.
type draws struct {
	course                          *Course
	supers                          int
	stretch                         float64 // of the days on which supers are due
	kg                              float64
	endHours                        float64 // 0 where the last tanks settle like others
	dry, rate, honey, settled, full series
}

func newDraws(h *House, seed, number uint64) *draws {
	stream := func(n uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, number*8+n)) }
	once := stream(0)
	d := &draws{course: &h.Courses[once.IntN(len(h.Courses))]}
	d.supers = int(math.Round(d.course.Supers * math.Exp(h.Out.draw(once))))
	d.stretch = stretched(d.course.lastDay(), h.Late.draw(once))
	if d.course.Paced && d.course.Supers > 0 {
		d.stretch *= float64(d.supers) / d.course.Supers
	}
	d.kg = math.Exp(h.KgSD * once.NormFloat64())
	d.endHours = h.EndHours * math.Exp(h.End.draw(once))
	d.dry, d.rate, d.honey, d.settled = series{stream(1), h.DryHours, nil}, series{stream(2), h.SupersAnHour, nil}, series{stream(3), h.KgPerSuper, nil}, series{stream(4), h.SettleHours, nil}
	d.full = series{stream(5), h.FullAt, nil}
	return d
}

// stretched is how many times as long a course takes whose last day is so many days late, or early: a day is left at
// the least.
func stretched(last, late float64) float64 {
	last = max(1, last)
	return max(1, last+late) / last
}

// kgPerSuper is what a super gives on a day.
func (d *draws) kgPerSuper(day int) float64 { return d.kg * d.honey.at(day) }

// due is how many supers come to be ripe on each day.
func (d *draws) due() []int {
	out := make([]int, mostDays)
	if d.course.Supers <= 0 {
		return out
	}
	sum, before := 0.0, 0
	for _, x := range d.course.Due {
		sum += x.Supers
		upTo := int(math.Round(sum / d.course.Supers * float64(d.supers)))
		out[min(mostDays-1, int(math.Round(d.stretch*x.Day)))] += upTo - before
		before = upTo
	}
	return out
}

// series draws one of some figures for each number.
type series struct {
	random *rand.Rand
	of     []float64
	drawn  []float64
}

func (s *series) at(n int) float64 {
	for len(s.drawn) <= n {
		s.drawn = append(s.drawn, s.of[s.random.IntN(len(s.of))])
	}
	return s.drawn[n]
}
