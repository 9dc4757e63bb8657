package rest

// Clock does things in order of time. Of things that are due at one time, the one that was set first comes
// first. Its zero value stands at 0; times are in any unit, hours in a honey house.
type Clock struct {
	Now  float64
	due  []due
	sets int
}

// due is something to be done; the earliest is at the top of a binary heap.
type due struct {
	at  float64
	set int
	do  func()
}

func (d *due) before(e *due) bool { return d.at < e.at || d.at == e.at && d.set < e.set }

// At has something done at a time, which is not before Now.
func (c *Clock) At(at float64, do func()) {
	c.sets++
	c.due = append(c.due, due{max(at, c.Now), c.sets, do})
	for i := len(c.due) - 1; i > 0; {
		up := (i - 1) / 2
		if !c.due[i].before(&c.due[up]) {
			break
		}
		c.due[i], c.due[up] = c.due[up], c.due[i]
		i = up
	}
}

// Run does all that is due up to a time, and reports whether nothing is due later.
func (c *Clock) Run(until float64) (over bool) {
	for len(c.due) > 0 && c.due[0].at <= until {
		next := c.pop()
		c.Now = next.at
		next.do()
	}
	return len(c.due) == 0
}

func (c *Clock) pop() due {
	top, last := c.due[0], len(c.due)-1
	c.due[0] = c.due[last]
	c.due[last] = due{} // its function may hold much
	c.due = c.due[:last]
	for i := 0; ; {
		first := i
		for child := 2*i + 1; child <= 2*i+2 && child < last; child++ {
			if c.due[child].before(&c.due[first]) {
				first = child
			}
		}
		if first == i {
			return top
		}
		c.due[i], c.due[first] = c.due[first], c.due[i]
		i = first
	}
}
