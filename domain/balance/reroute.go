package balance

import (
	"cmp"
	"math"
	"slices"

	"pullbook/domain/message"
	"pullbook/domain/reconcile"
)

// A hose on the wrong tank is no weight that is wrong, but one that is in the
// wrong place: it puts two tanks out at once, and the test of single weights
// does not see it. So the likeliest movements are tried in the other tanks.

const (
	// mostTried bounds how many movements are tried: each is a reconciliation.
	mostTried = 5
	// clearly is by how much chi-square must be better than by the likeliest
	// single error. It stands for the choice among tanks and movements: with ten
	// tried, chance alone gains that much about once in sixty.
	clearly = 10.0
)

// solvedPart is flows that hang together, with what the reconciliation says.
type solvedPart struct {
	flows   []*flow
	result  reconcile.Result
	suspect *Suspect
}

// squared is what the likeliest wrong weight of a part takes off chi-square.
func (p *solvedPart) squared() float64 {
	if p.suspect == nil {
		return 0
	}
	return p.suspect.Standardised * p.suspect.Standardised
}

// reroute looks, in parts that do not agree, for a movement that fits into
// another tank much better than any weight is wrong, and suspects that instead.
func reroute(all []*solvedPart, solved *Solved) {
	if !slices.ContainsFunc(all, func(p *solvedPart) bool { return !p.result.Global.Passed }) {
		return
	}
	partOf := map[string]*solvedPart{}
	for _, p := range all {
		for _, f := range p.flows {
			partOf[f.from], partOf[f.to] = p, p
		}
	}
	delete(partOf, reconcile.Outside)
	for _, p := range all {
		if p.result.Global.Passed {
			continue
		}
		s, other := p.rerouted(partOf, solved)
		if s == nil {
			continue
		}
		if s.Gain >= p.needed(other) {
			// What the other tank has too much of is explained with it.
			other.suspect, p.suspect = nil, s
		}
	}
}

// needed is what a movement into a tank of another part, or of this one, has to take off
// chi-square to be suspected.
func (p *solvedPart) needed(other *solvedPart) float64 {
	if other == p {
		return p.squared() + clearly
	}
	// Two weights wrong at once must explain clearly more than one hose.
	return p.squared() + other.squared() - clearly
}

// try is a movement of a part that may belong into another tank.
type try struct {
	flow  int
	berth berth
	into  *solvedPart
}

// tries are the movements that are tried, and the least that one of them needs.
func (p *solvedPart) tries(partOf map[string]*solvedPart) (out []try, least float64) {
	least = math.Inf(1)
	for _, i := range likeliestMoves(p.flows, p.result) {
		for _, b := range p.flows[i].elsewhere() {
			if other := partOf[b.node]; other != nil && b.node != p.flows[i].from {
				out = append(out, try{i, b, other})
				least = min(least, p.needed(other))
			}
		}
	}
	return out, least
}

// rerouted is the movement of the part that, put into another tank, makes the
// weights agree best, with the part of that tank; nil where none can be tried.
func (p *solvedPart) rerouted(partOf map[string]*solvedPart, solved *Solved) (best *Suspect, into *solvedPart) {
	tries, least := p.tries(partOf)
	atMost := map[[2]string]float64{}
	for _, t := range tries {
		f := p.flows[t.flow]
		between := [2]string{f.to, t.berth.node}
		if _, known := atMost[between]; !known {
			atMost[between] = p.mostGain(between, t.into, solved)
		}
		if atMost[between] < least {
			continue // so are all gains that are as great: none of them is suspected
		}
		gain, ok := p.gain(t.flow, t.berth, t.into, solved)
		if ok && (best == nil || gain > best.Gain) {
			best, into = &Suspect{Flow: tell(f, p.result.Streams[t.flow]), RightTank: t.berth.tank, Gain: gain,
				Cause: message.F("the weights agree best if it went into the %s", t.berth.name)}, t.into
			best.Sentence = message.F("Most likely %s went into another tank than was written down: %s. Look at that transfer first.", f.said, best.Cause)
		}
	}
	return best, into
}

// gain is by how much chi-square, bounds apart, is less if the i-th flow went to another node.
func (p *solvedPart) gain(i int, b berth, other *solvedPart, solved *Solved) (float64, bool) {
	flows, before := p.with(other)
	after, err := solved.chiSquare(flows, func(n *reconcile.Network) { n.Streams[i].To = b.node }, p.flows[i].name, b.node)
	return before - after, err == nil
}

// mostGain is what the gain of any movement to the first of two nodes cannot exceed, if it went
// to the second: what a flow from the one to the other gains that was never weighed. Where it
// was as large as the movement, it would be the movement.
func (p *solvedPart) mostGain(between [2]string, other *solvedPart, solved *Solved) float64 {
	const rounding = 1e-6
	flows, before := p.with(other)
	name := "from " + between[0] + " to " + between[1]
	after, err := solved.chiSquare(flows, func(n *reconcile.Network) {
		n.Streams = append(n.Streams, reconcile.Stream{Name: name, From: between[0], To: between[1]})
	}, "one more", name, between[0], between[1])
	if err != nil {
		return math.Inf(1)
	}
	return before - after + rounding*(1+before)
}

// with is the flows of a part, together with another one, and their chi-square, bounds apart.
func (p *solvedPart) with(other *solvedPart) (flows []*flow, before float64) {
	statistic := func(p *solvedPart) float64 { return p.result.Global.Statistic - p.result.Global.AtBounds }
	flows, before = p.flows, statistic(p)
	if other != p {
		flows = slices.Concat(flows, other.flows)
		before += statistic(other)
	}
	return flows, before
}

// likeliestMoves are the movements into tanks that fit worst, worst first.
func likeliestMoves(flows []*flow, r reconcile.Result) []int {
	var out []int
	for i, f := range flows {
		if f.elsewhere != nil && r.Streams[i].Class == reconcile.Redundant {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int {
		return cmp.Compare(math.Abs(r.Streams[b].Standardised), math.Abs(r.Streams[a].Standardised))
	})
	return out[:min(len(out), mostTried)]
}
