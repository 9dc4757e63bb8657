package ledger

import "cmp"

// peaks finds the largest numbers of any stretch of a list in the logarithm of its
// length: a tree whose leaves are the places of the list, and whose every node is
// the place of the larger of the two numbers below it.
type peaks struct {
	of   []int
	tree []int
}

func newPeaks(of []int) peaks {
	n := len(of)
	p := peaks{of, make([]int, 2*n)}
	for i := range n {
		p.tree[n+i] = i
	}
	for i := n - 1; i > 0; i-- {
		p.tree[i] = p.larger(p.tree[2*i], p.tree[2*i+1])
	}
	return p
}

// larger is the place of the larger number, the first of two alike.
func (p peaks) larger(a, b int) int {
	if cmp.Or(cmp.Compare(p.of[b], p.of[a]), cmp.Compare(a, b)) <= 0 {
		return a
	}
	return b
}

// peak is the place of the largest number of a stretch that is not empty.
func (p peaks) peak(from, to int) int {
	best := from
	for l, r := from+len(p.of), to+len(p.of); l < r; l, r = l/2, r/2 {
		if l%2 == 1 {
			best = p.larger(best, p.tree[l])
			l++
		}
		if r%2 == 1 {
			r--
			best = p.larger(best, p.tree[r])
		}
	}
	return best
}

// largest gives the places of the largest numbers of a stretch, not more than so
// many, the largest first and of those alike the first.
func (p peaks) largest(from, to, most int) (places []int) {
	type stretch struct{ from, to, peak int }
	var open []stretch
	add := func(from, to int) {
		if from < to {
			open = append(open, stretch{from, to, p.peak(from, to)})
		}
	}
	add(from, to)
	for len(places) < most && len(open) > 0 {
		best := 0
		for i := range open {
			if p.larger(open[best].peak, open[i].peak) == open[i].peak {
				best = i
			}
		}
		s := open[best]
		open[best] = open[len(open)-1]
		open = open[:len(open)-1]
		places = append(places, s.peak)
		add(s.from, s.peak)
		add(s.peak+1, s.to)
	}
	return places
}
