package trace

import (
	"math"
	"slices"
)

// network is honey's movements in time: a node is what a holder has in it
// between two of its movements, an arc is what one may pass on to another. All
// masses are whole micrograms, so that sums are exact. One network answers any
// number of questions, one after the other.
type network struct {
	from, to []int32
	caps     []int64
	// off2 is the square of how far the caps may be off, in grams. Those of one number
	// in with, above 0, err together.
	off2 []float64
	with []int32
	// arcs lists the arcs to and from each node, those to it first; firsts says
	// where a node's begin, and outs where those from it do.
	arcs, firsts, outs []int32

	// flow is by arc; left is what each node may still give of its own.
	flow, left []int64
	// changed lists the arcs, met the nodes, that a question has come to.
	changed, met []int32
	known        []bool
	// depth is how many arcs lie between a node and what asks, 0 where none is
	// known to lead there; next is the next arc of a node to try.
	depth, next []int32
	queue       []int32
	// together is how far those that err together may be off, by their numbers.
	together map[int32]float64
	// work counts looks at arcs; past mostWork there is no answer.
	work, mostWork int
}

// demand is how much is asked of a node.
type demand struct {
	node int32
	ug   int64
	// spread is the square of how far that may be off, in grams, by gram.
	spread float64
}

// supplies are what nodes are given, in micrograms, and how far that may be off.
type supplies struct {
	ug  []int64
	off []offBy
}

func (s *supplies) put(node int32, ug int64, off offBy) { s.ug[node], s.off[node] = ug, off }

// offBy is how far a sum may be off, in grams: what errs together is added, what errs
// by itself is squared and added.
type offBy struct{ added, squares float64 }

// micrograms are in a gram.
const micrograms = 1_000_000

// ug is a mass in whole micrograms, rounded up.
func ug(grams float64) int64 { return int64(math.Ceil(grams*micrograms - 1e-3)) }

func (n *network) node() int32 {
	n.firsts = append(n.firsts, 0)
	return int32(len(n.firsts) - 1)
}

// arc is of so many grams, which may be off by the root of off2, together with others.
func (n *network) arc(from, to int32, grams int64, off2 float64, with int32) {
	if grams > 0 || off2 > 0 {
		n.from, n.to, n.caps = append(n.from, from), append(n.to, to), append(n.caps, grams*micrograms)
		n.off2, n.with = append(n.off2, off2), append(n.with, with)
	}
}

// close readies a network that is complete for questions that take so much work
// in all.
func (n *network) close(mostWork int) {
	nodes := len(n.firsts)
	into, outOf := make([]int32, nodes+1), make([]int32, nodes+1)
	for a := range n.from {
		into[n.to[a]]++
		outOf[n.from[a]]++
	}
	n.firsts, n.outs = make([]int32, nodes+1), make([]int32, nodes)
	for v := range nodes {
		n.outs[v] = n.firsts[v] + into[v]
		n.firsts[v+1] = n.outs[v] + outOf[v]
	}
	n.arcs = make([]int32, n.firsts[nodes])
	for a := range n.from {
		to, from := n.to[a], n.from[a]
		into[to]--
		outOf[from]--
		n.arcs[n.firsts[to]+into[to]] = int32(a)
		n.arcs[n.outs[from]+outOf[from]] = int32(a)
	}
	n.flow, n.left = make([]int64, len(n.from)), make([]int64, nodes)
	n.known, n.depth, n.next = make([]bool, nodes), make([]int32, nodes), make([]int32, nodes)
	n.mostWork, n.together = mostWork, map[int32]float64{}
}

// largest is how much can come to what is asked, at the most, where each node
// gives up to its supply: a maximum flow, found as Dinic (1970) does, and what the
// weights that keep it from being more may be off. It looks
// back from what is asked, at no more than may lead there. It is false where the
// work is used up.
func (n *network) largest(asked []demand, supply supplies) (int64, bool) {
	defer n.forget()
	open := slices.Clone(asked)
	var sum int64
	for !n.spent() && n.look(open, supply.ug) {
		for i := range open {
			g := n.pull(open[i].node, open[i].ug)
			open[i].ug -= g
			sum += g
		}
	}
	if n.spent() {
		return 0, false
	}
	return sum + ug(n.off(open, sum, supply.off)), true
}

// off is how far the smallest cut may be off: no flow is more than what goes through
// any cut, and what goes through this one is the largest flow by the book. It lies
// between the nodes that the last look came to and all others.
func (n *network) off(open []demand, flow int64, supply []offBy) float64 {
	var sum offBy
	clear(n.together)
	for _, v := range n.met {
		if n.depth[v] == 0 {
			continue
		}
		sum.added, sum.squares = sum.added+supply[v].added, sum.squares+supply[v].squares
		for k := n.firsts[v]; k < n.outs[v]; k++ {
			n.work++
			a := n.arcs[k]
			switch {
			case n.depth[n.from[a]] != 0 || n.off2[a] == 0:
			case n.with[a] == 0:
				sum.squares += n.off2[a]
			default:
				was := n.together[n.with[a]]
				is := was + math.Sqrt(n.off2[a])
				n.together[n.with[a]], sum.squares = is, sum.squares+is*is-was*was
			}
		}
	}
	spread := 0.0
	for _, d := range open {
		if d.ug > 0 {
			spread = max(spread, d.spread)
		}
	}
	return sum.added + math.Sqrt(sum.squares+spread*float64(flow)/micrograms)
}

func (n *network) spent() bool { return n.work > n.mostWork }

// look finds how far the nodes are from what is still asked, and reports whether
// one of them has something to give.
func (n *network) look(open []demand, supply []int64) (found bool) {
	for _, v := range n.met {
		n.depth[v] = 0
	}
	n.queue = n.queue[:0]
	reach := func(v, depth int32) {
		if n.depth[v] != 0 {
			return
		}
		if !n.known[v] {
			n.known[v], n.left[v] = true, supply[v]
			n.met = append(n.met, v)
		}
		n.depth[v], n.next[v] = depth, n.firsts[v]
		n.queue = append(n.queue, v)
		found = found || n.left[v] > 0
	}
	for _, d := range open {
		if d.ug > 0 {
			reach(d.node, 1)
		}
	}
	for i := 0; i < len(n.queue); i++ {
		v := n.queue[i]
		for k := n.firsts[v]; k < n.firsts[v+1]; k++ {
			n.work++
			if u, room := n.across(v, k); room > 0 {
				reach(u, n.depth[v]+1)
			}
		}
	}
	return found
}

// across is the node from which the k-th arc can bring honey to v, and how much:
// what the arc has room for, or what v sends by it, which may stay instead.
func (n *network) across(v, k int32) (from int32, room int64) {
	a := n.arcs[k]
	if k < n.outs[v] {
		return n.from[a], n.caps[a] - n.flow[a]
	}
	return n.to[a], n.flow[a]
}

// pull brings up to so much to a node, each step leading further from what asks,
// and returns how much it was.
func (n *network) pull(v int32, most int64) int64 {
	if most == 0 || n.depth[v] == 0 {
		return 0
	}
	got := min(most, n.left[v])
	n.left[v] -= got
	for ; got < most && n.next[v] < n.firsts[v+1]; n.next[v]++ {
		n.work++
		k := n.next[v]
		u, room := n.across(v, k)
		if room == 0 || n.depth[u] != n.depth[v]+1 {
			continue
		}
		g := n.pull(u, min(most-got, room))
		n.send(v, k, g)
		if got += g; got == most {
			break // the arc may have room yet
		}
	}
	return got
}

func (n *network) send(v, k int32, g int64) {
	a := n.arcs[k]
	n.changed = append(n.changed, a)
	if k < n.outs[v] {
		n.flow[a] += g
	} else {
		n.flow[a] -= g
	}
}

// forget makes the network as it was before the question.
func (n *network) forget() {
	for _, a := range n.changed {
		n.flow[a] = 0
	}
	for _, v := range n.met {
		n.known[v], n.depth[v] = false, 0
	}
	n.changed, n.met = n.changed[:0], n.met[:0]
}
