package spelling

import "slices"

// Index finds names among many. It keeps them letter by letter as a tree, so that
// what begins alike is compared once, and what begins otherwise is left at its first
// letters. A second tree has them from their ends: of two slips, one half of a name
// has one at most, and is found from its side without looking far. The zero Index is
// empty.
type Index struct {
	root, fromEnd node
	// Compared counts the pairs of letters that were compared so far; a name that was found counts as
	// asWhole of them for each letter.
	Compared int
}

type node struct {
	next []branch // in the order in which they came
	// byLetter finds a branch where there are many.
	byLetter map[rune]*node
	// names end here: they differ in accents, signs and blanks.
	names []string
}

type branch struct {
	letter rune
	to     *node
}

// fewBranches are looked through one by one.
const fewBranches = 32

func (n *node) child(letter rune) *node {
	if n.byLetter != nil {
		return n.byLetter[letter]
	}
	for _, b := range n.next {
		if b.letter == letter {
			return b.to
		}
	}
	return nil
}

func (n *node) grow(letter rune) *node {
	to := &node{}
	n.next = append(n.next, branch{letter, to})
	switch {
	case n.byLetter != nil:
		n.byLetter[letter] = to
	case len(n.next) > fewBranches:
		n.byLetter = make(map[rune]*node, 2*fewBranches)
		for _, b := range n.next {
			n.byLetter[b.letter] = b.to
		}
	}
	return to
}

// Add puts a name in. A name that is there already stays there once.
func (x *Index) Add(name string) {
	way := letters(name)
	x.root.put(way, name)
	slices.Reverse(way)
	x.fromEnd.put(way, name)
}

func (n *node) put(way []rune, name string) {
	for _, r := range way {
		next := n.child(r)
		if next == nil {
			next = n.grow(r)
		}
		n = next
	}
	if len(n.names) <= fewNames && !slices.Contains(n.names, name) {
		n.names = append(n.names, name)
	}
}

// asWhole is how many times as long as comparing letters it takes to see whether two names are apart.
const asWhole = 50

// fewNames is how many names Near gives: nobody chooses among more.
const fewNames = 5

// Near lists other names that a name is spelt nearly like, nearest first: the same
// except for accents, signs and blanks, or some slips apart. It gives five at most, and none
// for which but holds, where that is set.
//
// Of so many slips one half of the name has one less at most: the tree of that side is
// left early.
func (x *Index) Near(name string, but func(other, name string) bool) (found []string) {
	own := letters(name)
	want := wanted{name, but}
	found = x.root.at(own).add(found, want)
	back, half := slices.Clone(own), len(own)/2
	slices.Reverse(back)
	for slips := 1; slips <= slipsAllowed(len(own), len(own)); slips++ {
		found = x.behind(&x.root, newWalk(own, slips, half, slips-1), found, want)
		found = x.behind(&x.fromEnd, newWalk(back, slips, len(own)-half, slips-1), found, want)
	}
	return found
}

// at is the node where a way ends; nil where it leads nowhere.
func (n *node) at(way []rune) *node {
	for _, r := range way {
		if n = n.child(r); n == nil {
			return nil
		}
	}
	return n
}

// wanted is the name that is looked for, and but holds of those that are none of those found.
type wanted struct {
	name string
	but  func(other, name string) bool
}

// add adds the names that end here to those found, except the one looked for and those for which
// but holds.
func (n *node) add(found []string, want wanted) []string {
	if n == nil {
		return found
	}
	for _, name := range n.names {
		if len(found) < fewNames && name != want.name && !slices.Contains(found, name) && (want.but == nil || !want.but(name, want.name)) {
			found = append(found, name)
		}
	}
	return found
}

// behind adds the names behind a node that are as many slips away as the walk allows.
func (x *Index) behind(root *node, w *walk, found []string, want wanted) []string {
	w.found, w.want = found, want
	w.down(root)
	x.Compared += w.compared
	return w.found
}

func (w *walk) down(at *node) {
	if w.far() == w.slips && w.slips <= slipsAllowed(len(w.own), len(w.path)) {
		w.found = at.add(w.found, w.want)
		w.compared += asWhole * len(w.own)
	}
	for _, b := range at.next {
		if len(w.found) == fewNames {
			return
		}
		if w.step(b.letter) <= w.slips {
			w.down(b.to)
		}
		w.path = w.path[:len(w.path)-1]
	}
}
