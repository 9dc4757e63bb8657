package warm

import "math"

// refine moves the courses found by single hours and degrees for as long as that makes one of them better.
func (s *search) refine() {
	from := make([]shape, len(s.found)) // what was moved already
	for again := true; again; {
		again = false
		for i, found := range s.found {
			if !s.comes(i) || found == from[i] {
				continue
			}
			from[i], again = found, true
			for _, c := range found.moved() {
				s.better(c)
			}
		}
	}
}

// moved are the courses next to one.
func (c shape) moved() (out []shape) {
	for _, by := range []int{-1, 1} {
		for _, change := range []func(*shape){
			func(n *shape) { n.wait += by }, func(n *shape) { n.a += by }, func(n *shape) { n.b += by }, func(n *shape) { n.setA += by }, func(n *shape) { n.setB += by },
			func(n *shape) { n.wait, n.a = n.wait+by, n.a-by }, func(n *shape) { n.a, n.b = n.a+by, n.b-by }, func(n *shape) { n.wait, n.b = n.wait+by, n.b-by },
			func(n *shape) { n.setA, n.a = n.setA+by, n.a-by }, func(n *shape) { n.setB, n.b = n.setB+by, n.b-by },
		} {
			n := c
			if change(&n); n.wait >= 0 && n.a >= 0 && n.b >= 0 && n.a+n.b > 0 {
				out = append(out, n)
			}
		}
	}
	return out
}

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
