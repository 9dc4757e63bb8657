package spelling

import "slices"

// A slip is a letter put in, left out, changed or swapped with its neighbour. Names
// are alike that are one slip in four letters apart, and mostSlips at most.
const mostSlips = 2

func slipsAllowed(a, b int) int { return min(a/4, b/4, mostSlips) }

// Nearest is the name among a few that is the fewest slips away, and most at most: the
// first of them in order of the alphabet, and empty where there is none. An Index
// finds names among many.
func Nearest(name string, among []string, most int) string {
	best := ""
	for _, other := range slices.Sorted(slices.Values(among)) {
		w := newWalk([]rune(name), max(most, 0), 0, most)
		for _, r := range other {
			w.step(r)
		}
		if far := w.far(); far <= most {
			best, most = other, far-1
		}
	}
	return best
}

// walk goes along another name, letter by letter, and keeps how many slips what it has
// gone along is from each beginning of its own name (optimal string alignment distance).
type walk struct {
	own, path []rune
	// slips is how many there may be, and early how many before so many letters as half says.
	slips, half, early int
	// rows holds the slips, by letters gone and by letters of the own name. What is
	// further apart than slips is not worked out.
	rows     [][]int
	compared int
	found    []string
	want     wanted
}

// tooFar is more slips than any names are apart.
const tooFar = 1 << 20

func newWalk(own []rune, slips, half, early int) *walk {
	w := &walk{own: own, slips: slips, half: half, early: early, rows: [][]int{make([]int, len(own)+1)}}
	for i := range w.rows[0] {
		w.rows[0][i] = w.within(i, i)
	}
	return w
}

// step goes one letter on, and gives the least distance from any beginning.
func (w *walk) step(letter rune) (least int) {
	w.path = append(w.path, letter)
	n := len(w.path)
	if len(w.rows) <= n {
		w.rows = append(w.rows, make([]int, len(w.own)+1))
	}
	before, row := w.rows[n-1], w.rows[n]
	first, last := max(0, n-w.slips), min(len(w.own), n+w.slips)
	if first > 0 && first <= len(w.own) {
		row[first-1] = tooFar
	}
	least = tooFar
	for i := first; i <= last; i++ {
		d := before[i] + 1
		if i > 0 {
			change := before[i-1]
			if w.own[i-1] != letter {
				change++
			}
			d = min(d, change, row[i-1]+1)
		}
		if i > 1 && n > 1 && w.own[i-1] == w.path[n-2] && w.own[i-2] == letter {
			d = min(d, w.rows[n-2][i-2]+1)
		}
		row[i] = w.within(i, d)
		least = min(least, row[i])
	}
	if last < len(w.own) {
		row[last+1] = tooFar
	}
	w.compared += 1 + max(0, last-first)
	return least
}

// within gives up what is too far apart to be looked for.
func (w *walk) within(letters, d int) int {
	if d > w.slips || letters < w.half && d > w.early {
		return tooFar
	}
	return d
}

// far is how many slips what was gone along is from the whole of the own name.
func (w *walk) far() int {
	if n := len(w.path); n > len(w.own)+w.slips || n < len(w.own)-w.slips {
		return tooFar
	}
	return w.rows[len(w.path)][len(w.own)]
}
