package warm

import "math"

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
	// best is the cost of the best course by its hottest set point less the least, worst the most of
	// those from there on.
	best, worst []float64
	found       []shape
	wait        []node
	// trail are the hours of a second set point, and of the first one.
	trail, firsts []node
}

const (
	// fineHours is how long a course may take that may change at every hour; those that take longer
	// change at every second, fourth or seventh hour.
	fineHours = 48
	// mostWaits are tried where a course cannot be moved.
	mostWaits = 6
)

func (p *problem) search() *search {
	levels := max(0, p.HottestC-p.leastC+1)
	s := &search{problem: p, moves: p.Vessel.steady(), best: make([]float64, levels), worst: make([]float64, levels), found: make([]shape, levels)}
	for i := range s.best {
		s.best[i], s.worst[i] = math.Inf(1), math.Inf(1)
	}
	s.wait = []node{p.follower.begin()}
	for range p.Hours {
		n := s.wait[len(s.wait)-1]
		p.step(&n, Off)
		s.wait = append(s.wait, n)
	}
	if levels == 0 {
		return s
	}
	waits, step := []int{0}, 1
	if !s.moves {
		step = 2
		for i := 1; i < mostWaits; i++ {
			waits = append(waits, i*p.Hours/mostWaits)
		}
	}
	before := 0
	for _, s.every = range []int{1, 2, 4, 7} {
		if before >= p.Hours {
			break
		}
		before = fineHours * s.every
		for i := len(waits) - 1; i >= 0; i-- {
			s.within = min(waits[i]+before, p.Hours)
			for set := s.HottestC; set >= s.leastC; set -= step {
				s.from(waits[i], set, step)
			}
		}
	}
	if !s.moves {
		s.refine()
	}
	return s
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
func (s *search) spent(n *node) float64 { return s.cost(n) - s.cost(&s.wait[n.hour]) }

// hold holds a set point for some hours, or until the honey has come to what is asked, and adds each hour to a
// trail. The course is given up as it costs so much.
func (s *search) hold(n *node, setC, hours int, atMost float64, trail *[]node) ending {
	for range hours {
		if n.hour >= s.within {
			return late
		}
		s.step(n, setC)
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
		ended := s.hold(&n, set, s.every, s.worst[set-s.leastC], &s.firsts)
		if ended == comes || ended == dear {
			s.coast(s.firsts, func(m *node) shape { return shape{wait: at, a: m.hour - at, setA: set} })
		}
		if ended != goesOn || !s.then(&n, at, set, step) {
			return
		}
	}
}

// then tries every second set point after a first one; false where none comes in time any more.
func (s *search) then(n *node, at, set, step int) bool {
	for second := s.HottestC; second >= s.leastC; second -= step {
		if second == set {
			continue
		}
		m := *n
		s.trail = s.trail[:0]
		if s.hold(&m, second, s.Hours, s.best[max(set, second)-s.leastC], &s.trail) == late {
			return second != s.HottestC // what is colder is later, and so is what begins as cold for longer
		}
		s.coast(s.trail, func(m *node) shape { return shape{at, n.hour - at, set, m.hour - n.hour, second} })
	}
	return true
}

// coast keeps the courses that switch off along a trail and come to what is asked, the latest first: who switches
// off earlier comes later, or no more.
func (s *search) coast(trail []node, shapeOf func(*node) shape) {
	for i := len(trail) - 1; i >= 0; i-- {
		n := trail[i]
		c := shapeOf(&n)
		level := max(c.setA, c.setB) - s.leastC
		for !s.has(&n) {
			if n.hour >= s.within || s.spent(&n) >= s.best[level] || s.stopped(&n) {
				break
			}
			s.step(&n, Off)
		}
		switch {
		case s.has(&n):
			s.keep(n, c)
		case s.spent(&n) < s.best[level]:
			return
		}
	}
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

// keep takes a course that has come to what is asked, if it is the best of its hottest set point.
func (s *search) keep(n node, c shape) {
	i := max(c.setA, c.setB) - s.leastC
	if s.moves {
		c.wait = s.Hours - n.hour
	} else {
		for n.hour < s.Hours && s.spent(&n) < s.best[i] {
			s.step(&n, Off)
		}
	}
	if cost := s.spent(&n); cost < s.best[i] {
		s.take(i, cost, c)
	}
}

func (s *search) take(i int, cost float64, c shape) {
	s.best[i], s.found[i] = cost, c
	worst := 0.0
	for j := len(s.best) - 1; j >= 0; j-- {
		worst = max(worst, s.best[j])
		s.worst[j] = worst
	}
}
