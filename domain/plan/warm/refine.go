package warm

import (
	"math"
	"slices"
)

// nearBest is how much more than the best the courses cost that are moved by more than one thing and its counterpart.
const nearBest = 0.02

// refine moves the courses found by single hours and degrees for as long as that makes one of them better: first each
// to those beside it, then those that cost about as little as the best to all around them.
func (s *search) refine() {
	s.move(math.Inf(1), shape.beside)
	s.move(nearBest, shape.around)
}

// move moves the courses that cost at most so much more than the best, as a share of it.
func (s *search) move(within float64, next func(shape) []shape) {
	from := make([]shape, len(s.found)) // what was moved already
	for again := true; again; {
		again = false
		for i, found := range s.found {
			if !s.comes(i) || found == from[i] || s.best[i] > (1+within)*slices.Min(s.best) {
				continue
			}
			from[i], again = found, true
			for _, c := range next(found) {
				s.better(c)
			}
		}
	}
}

// beside are the courses of which an hour or a degree is another, or an hour lies in another part of the course, or
// a set point is another for an hour less or more.
func (c shape) beside() (out []shape) {
	for _, by := range []int{-1, 1} {
		for _, change := range []func(*shape){
			func(n *shape) { n.wait += by }, func(n *shape) { n.a += by }, func(n *shape) { n.b += by }, func(n *shape) { n.setA += by }, func(n *shape) { n.setB += by },
			func(n *shape) { n.wait, n.a = n.wait+by, n.a-by }, func(n *shape) { n.a, n.b = n.a+by, n.b-by }, func(n *shape) { n.wait, n.b = n.wait+by, n.b-by },
			func(n *shape) { n.setA, n.a = n.setA+by, n.a-by }, func(n *shape) { n.setB, n.b = n.setB+by, n.b-by },
		} {
			n := c
			if change(&n); n.is() {
				out = append(out, n)
			}
		}
	}
	return out
}

// around are the courses of which each hour and degree is as it is, one less or one more.
func (c shape) around() (out []shape) {
	for i := range 3 * 3 * 3 * 3 * 3 {
		by := func(of int) int { return i/of%3 - 1 }
		if n := (shape{c.wait + by(1), c.a + by(3), c.setA + by(9), c.b + by(27), c.setB + by(81)}); n != c && n.is() {
			out = append(out, n)
		}
	}
	return out
}

// is reports whether there is such a course.
func (c shape) is() bool { return c.wait >= 0 && c.a >= 0 && c.b >= 0 && c.a+c.b > 0 }

// better takes a course if it is the best of its hottest set point.
func (s *search) better(c shape) {
	hottest := 0
	for _, part := range []struct{ hours, set int }{{c.a, c.setA}, {c.b, c.setB}} {
		if part.hours > 0 && (part.set < s.leastC || part.set > s.HottestC) {
			return
		}
		if part.hours > 0 {
			hottest = max(hottest, part.set)
		}
	}
	i := hottest - s.leastC
	if c.wait+c.a+c.b > s.Hours {
		return
	}
	if cost := s.costOfAll(c, s.best[i], s.roughly); cost >= s.best[i] {
		return
	}
	if cost := s.costOfAll(c, s.best[i], s.step); cost < s.best[i] {
		s.take(i, cost, c)
	}
}

// costOfAll is what a course costs to the end of the time; +Inf where it costs so much at the least, or does not come to what
// is asked.
func (s *search) costOfAll(c shape, atMost float64, on hour) float64 {
	n := s.wait[c.wait]
	came := s.has(&n)
	for n.hour < s.Hours {
		set := Off
		switch {
		case n.hour < c.wait+c.a:
			set = c.setA
		case n.hour < c.wait+c.a+c.b:
			set = c.setB
		}
		on(&n, set)
		came = came || s.has(&n)
		if s.spent(&n) >= atMost {
			return math.Inf(1)
		}
	}
	if !came {
		return math.Inf(1)
	}
	return s.spent(&n)
}
