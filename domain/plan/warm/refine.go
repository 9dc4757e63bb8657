package warm

import "math"

// refine moves the courses found by single hours and degrees for as long as that makes one of them better.
func (s *search) refine() {
	for again := true; again; {
		again = false
		for i := range s.found {
			if math.IsInf(s.best[i], 1) {
				continue
			}
			for _, c := range s.found[i].moved() {
				if s.better(c) {
					again = true
				}
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
func (s *search) better(c shape) bool {
	hottest := 0
	for _, part := range []struct{ hours, set int }{{c.a, c.setA}, {c.b, c.setB}} {
		if part.hours > 0 && (part.set < s.leastC || part.set > s.HottestC) {
			return false
		}
		if part.hours > 0 {
			hottest = max(hottest, part.set)
		}
	}
	i := hottest - s.leastC
	if c.wait+c.a+c.b > s.Hours {
		return false
	}
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
		s.step(&n, set)
		came = came || s.has(&n)
		if s.spent(&n) >= s.best[i] {
			return false
		}
	}
	if !came {
		return false
	}
	s.take(i, s.spent(&n), c)
	return true
}
