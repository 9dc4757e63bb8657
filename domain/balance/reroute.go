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
func reroute(all []*solvedPart) {
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
		s, other := p.rerouted(partOf)
		if s == nil {
			continue
		}
		needed := p.squared() + clearly
		if other != p {
			// Two weights wrong at once must explain clearly more than one hose.
			needed = p.squared() + other.squared() - clearly
		}
		if s.Gain >= needed {
			// What the other tank has too much of is explained with it.
			other.suspect, p.suspect = nil, s
		}
	}
}

// rerouted is the movement of the part that, put into another tank, makes the
// weights agree best, with the part of that tank; nil where none can be tried.
func (p *solvedPart) rerouted(partOf map[string]*solvedPart) (best *Suspect, into *solvedPart) {
	for _, i := range likeliestMoves(p.flows, p.result) {
		f := p.flows[i]
		for _, b := range f.elsewhere {
			other := partOf[b.node]
			if other == nil || b.node == f.from {
				continue
			}
			gain, ok := p.gain(i, b, other)
			if ok && (best == nil || gain > best.Gain) {
				best, into = &Suspect{Flow: tell(f, p.result.Streams[i]), RightTank: b.tank, Gain: gain,
					Cause: message.F("the weights agree best if it went into the %s", b.name)}, other
				best.Sentence = message.F("Most likely %s went into another tank than was written down: %s. Look at that transfer first.", f.said, best.Cause)
			}
		}
	}
	return best, into
}

// gain is by how much chi-square, bounds apart, is less if the i-th flow went to another node.
func (p *solvedPart) gain(i int, b berth, other *solvedPart) (float64, bool) {
	statistic := func(p *solvedPart) float64 { return p.result.Global.Statistic - p.result.Global.AtBounds }
	flows, before := p.flows, statistic(p)
	if other != p {
		flows = slices.Concat(flows, other.flows)
		before += statistic(other)
	}
	n := network(flows)
	n.Streams[i].To = b.node
	after, err := reconcile.ChiSquare(n)
	return before - after, err == nil
}

// likeliestMoves are the movements into tanks that fit worst, worst first.
func likeliestMoves(flows []*flow, r reconcile.Result) []int {
	var out []int
	for i, f := range flows {
		if len(f.elsewhere) > 0 && r.Streams[i].Class == reconcile.Redundant {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int {
		return cmp.Compare(math.Abs(r.Streams[b].Standardised), math.Abs(r.Streams[a].Standardised))
	})
	return out[:min(len(out), mostTried)]
}
