package warm

import (
	"math"
	"slices"
)

// search tries the courses of a problem, and keeps the best of each hottest set point.
//
// Honey that begins as warm as what is around it changes nothing by waiting, so that a course that is over
// early begins later instead: all courses are tried from now on, and moved to the end of the time. A course is
// given up once it costs as much as the best that it may become, a colder one once a hotter one no longer
// comes in time, and an earlier switching off once a later one no longer coasts there. So what it finds is the
// best of all (a test compares it with trying each). Other honey is tried with a few waits and every other set point, and
// what is found is moved by single hours and degrees for as long as that helps.
type search struct {
	*problem
	// moves says that a course may be moved to the end.
	moves bool
	// every is for how many hours a first set point is held at the least, within how long a course may take.
	every, within int
	// needsC is the least hottest set point of a course that comes to what is asked.
	needsC int
	// best is the cost of the best course by its hottest set point less the least, worst the most of
	// those from there on.
	best, worst []float64
	found       []shape
	// alone says that the best of all is asked for, and not those of the other set points.
	alone bool
	// wait is what waiting does by the hour, waiting what it costs.
	wait    []node
	waiting []float64
	// firsts are the hours of a first set point, trail those of a second one, roughly, and exact the same exactly.
	firsts, trail, exact []node
	// now is the course that is followed: one that lies here is not allocated for each.
	now node
}

const (
	// fineHours is how long a course may take that may change at every hour; those that take longer
	// change at every second, fourth or seventh hour.
	fineHours = 48
	// mostWaits are tried where a course cannot be moved.
	mostWaits = 6
)

// search finds the best course of each hottest set point.
func (p *problem) search() *search {
	s := p.ready()
	s.atMost(math.Inf(1))
	s.all()
	return s
}

// searchLater finds the best course where there are some hours more than a search had, if it costs less than something.
// What was found then, begun so much later, is where honey that cannot be moved goes on from.
func (p *problem) searchLater(earlier *search, below float64) *search {
	s := p.ready()
	if s.alone = s.moves; s.alone {
		s.atMost(below - s.waiting[p.Hours])
	} else {
		s.atMost(math.Inf(1))
		for i, c := range earlier.found {
			if earlier.comes(i) {
				c.wait += p.Hours - earlier.Hours
				s.better(c)
			}
		}
	}
	s.all()
	return s
}

func (p *problem) ready() *search {
	levels := max(0, p.HottestC-p.leastC+1)
	s := &search{problem: p, moves: p.Vessel.steady(), best: make([]float64, levels), worst: make([]float64, levels), found: make([]shape, levels)}
	s.needsC = p.needsC()
	n := p.follower.begin()
	s.wait, s.waiting = append(s.wait, n), append(s.waiting, p.cost(&n))
	for range p.Hours {
		p.step(&n, Off)
		s.wait, s.waiting = append(s.wait, n), append(s.waiting, p.cost(&n))
	}
	return s
}

// needsC is the lowest set point at which all that is asked goes on, or what the honey has without heat.
func (p *problem) needsC() int {
	least := p.leastC
	for ; least <= p.HottestC; least++ {
		if !slices.ContainsFunc(p.doses, func(t table) bool { return t.at(float64(least)) == 0 }) {
			break
		}
	}
	if warm := p.Vessel.warmestC(); float64(least) <= math.Ceil(warm) {
		return p.leastC
	}
	return least
}

// atMost has courses given up that cost so much beyond what waiting costs.
func (s *search) atMost(cost float64) {
	for i := range s.best {
		s.best[i], s.worst[i] = cost, cost
	}
}

// all tries all courses.
func (s *search) all() {
	if len(s.best) == 0 {
		return
	}
	waits, step := []int{0}, 1
	if !s.moves {
		step = 2
		for i := 1; i < mostWaits; i++ {
			waits = append(waits, i*s.Hours/mostWaits)
		}
	}
	before := 0
	for _, s.every = range []int{1, 2, 4, 7} {
		if before >= s.Hours {
			break
		}
		before = fineHours * s.every
		for i := len(waits) - 1; i >= 0; i-- {
			s.within = min(waits[i]+before, s.Hours)
			for set := s.HottestC; set >= s.leastC; set -= step {
				s.from(waits[i], set, step)
			}
		}
	}
	if !s.moves {
		s.refine()
	}
}

// ending is how an attempt ended.
type ending int

const (
	goesOn ending = iota
	comes
	late
	dear
)

// has reports whether the honey has come to what is asked.
func (s *search) has(n *node) bool {
	return s.met(n) && (math.IsInf(s.endC, -1) || (s.moves || n.hour == s.Hours) && n.coldestC >= s.endC)
}

// spent is what a course has cost so far beyond what waiting costs, which every course does.
func (s *search) spent(n *node) float64 { return s.cost(n) - s.waiting[n.hour] }

// hour takes a course an hour on: problem.step, or problem.roughly.
type hour func(n *node, setC int)

// hold holds a set point for some hours, or until the honey has come to what is asked, and adds each hour to a
// trail. The course is given up as it costs so much.
func (s *search) hold(n *node, setC, hours int, atMost float64, trail *[]node, on hour) ending {
	for range hours {
		if n.hour >= s.within {
			return late
		}
		on(n, setC)
		*trail = append(*trail, *n)
		switch {
		case s.has(n):
			return comes
		case s.spent(n) >= atMost:
			return dear
		}
	}
	return goesOn
}

// from tries courses that begin at an hour with a set point.
func (s *search) from(at, set, step int) {
	n := s.wait[at]
	if s.spent(&n) >= s.worst[set-s.leastC] {
		return
	}
	s.firsts = s.firsts[:0]
	for {
		ended := s.hold(&n, set, s.every, s.worst[set-s.leastC], &s.firsts, s.step)
		if ended == comes || ended == dear {
			s.coast(s.firsts, set-s.leastC, func(i int) (node, shape) { return s.firsts[i], shape{wait: at, a: i + 1, setA: set} })
		}
		if ended != goesOn || !s.then(&n, at, set, step) {
			return
		}
	}
}

// then tries every second set point after a first one; false where none comes in time any more. What does not cost too
// much roughly is followed exactly.
func (s *search) then(n *node, at, set, step int) bool {
	for second := s.HottestC; second >= s.leastC; second -= step {
		if max(set, second) < s.needsC {
			break
		}
		if second == set {
			continue
		}
		m := &s.now
		*m = *n
		s.trail, s.exact = s.trail[:0], s.exact[:0]
		if s.hold(m, second, s.Hours, s.best[max(set, second)-s.leastC], &s.trail, s.roughly) == late {
			return second != s.HottestC // what is colder is later, and so is what begins as cold for longer
		}
		s.coast(s.trail, max(set, second)-s.leastC, func(i int) (node, shape) {
			for *m = *n; len(s.exact) < len(s.trail); s.exact = append(s.exact, *m) {
				s.step(m, second)
			}
			return s.exact[i], shape{at, n.hour - at, set, i + 1, second}
		})
	}
	return true
}

// coast keeps the courses that switch off along a trail and come to what is asked, the latest first: who switches
// off earlier comes later, or no more. exactly has the exact end of a trail, and the course.
func (s *search) coast(trail []node, level int, exactly func(i int) (node, shape)) {
	n := &s.now
	for i := len(trail) - 1; i >= 0; i-- {
		*n = trail[i]
		switch s.off(n, level, s.roughly) {
		case late:
			return
		case comes:
			var c shape
			if *n, c = exactly(i); s.off(n, level, s.step) == comes {
				if s.moves {
					c.wait = s.Hours - n.hour
				}
				s.take(level, s.spent(n), c)
			}
		}
	}
}

// off follows a course that is off, to what is asked and to where its cost is known. It is given up once it costs as
// much as the best of its hottest set point.
func (s *search) off(n *node, level int, on hour) ending {
	for !s.has(n) {
		switch {
		case n.hour >= s.within || s.stopped(n):
			return late
		case s.spent(n) >= s.best[level]:
			return dear
		}
		on(n, Off)
	}
	for !s.moves && n.hour < s.Hours && s.spent(n) < s.best[level] {
		on(n, Off)
	}
	if s.spent(n) >= s.best[level] {
		return dear
	}
	return comes
}

// stopped reports whether nothing that is asked goes on by coasting: of a tank, which only cools.
func (s *search) stopped(n *node) bool {
	if !s.Vessel.coolsAtOnce() {
		return false
	}
	for i, t := range s.doses {
		if n.doses[i] < 1 && t.at(n.coldestC) == 0 {
			return true
		}
	}
	return !math.IsInf(s.endC, -1) && n.coldestC < s.endC
}

// take keeps a course that is the best of its hottest set point.
func (s *search) take(i int, cost float64, c shape) {
	s.best[i], s.found[i] = cost, c
	if s.alone {
		for j := range s.best {
			s.best[j], s.worst[j] = cost, cost
			if j != i {
				s.found[j] = shape{}
			}
		}
		return
	}
	worst := 0.0
	for j := len(s.best) - 1; j >= 0; j-- {
		worst = max(worst, s.best[j])
		s.worst[j] = worst
	}
}

// comes reports whether a hottest set point has a course.
func (s *search) comes(level int) bool { return s.found[level].a+s.found[level].b > 0 }
