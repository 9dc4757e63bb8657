package balance

import (
	"maps"
	"math"
	"slices"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/reconcile"
)

// Kind says what a flow is.
type Kind string

const (
	// Boxes is the honey of boxes that went into a run, full less empty.
	Boxes Kind = "boxes"
	// Unbooked is what came into a run that names no boxes.
	Unbooked Kind = "unbooked boxes"
	Wax      Kind = "wax"
	// Loss is what stays in cappings and on the line, and what dries off.
	Loss Kind = "loss"
	// OnTheLine is honey of a run that goes on.
	OnTheLine Kind = "on the line"
	// IntoTank is a run's honey by the rise of a tank, Between that of a tank into
	// another.
	IntoTank Kind = "into tank"
	Between  Kind = "between tanks"
	// Pump is what a float pump moved with nobody looking.
	Pump Kind = "float pump"
	// Level is what a tank held when it was dipped or weighed, Start and End as
	// the period began and ended.
	Level Kind = "level"
	Start Kind = "start"
	End   Kind = "end"
	// Containers is what went into a lot's containers.
	Containers Kind = "containers"
	// PouredBack is a container's honey poured into a tank.
	PouredBack Kind = "poured back"
	// ThrownAway is foam and the like; WashedOut what clung to a tank.
	ThrownAway Kind = "thrown away"
	WashedOut  Kind = "washed out"
	// Yard is all honey of one yard's boxes.
	Yard Kind = "yard"
)

// Basis says how the figure of a flow was had.
type Basis string

const (
	// Weighed on a scale, or by the rise or the depth of a tank.
	Weighed Basis = "weighed"
	// Counted: boxes times what such boxes usually hold.
	Counted Basis = "counted"
	// Limited: nobody weighs it, but it is known to be within bounds.
	Limited Basis = "limited"
	// Unseen: nobody knows, unless the other flows tell.
	Unseen Basis = "unseen"
)

// flow is a stream of the network with all that is known about it.
type flow struct {
	// said is its name in words; name is that in English, by which it is known.
	said     message.Text
	name     string
	from, to string
	kind     Kind
	basis    Basis
	kg       float64
	// mostKg is what it can be at most: a tank's size; 0 where nothing says.
	mostKg float64
	// own is the error of this weight alone, common that which it shares.
	own     float64
	common  []part
	entries []ledger.ID
	// The things that it is about, where it is about one.
	yard, run, tank, lot ledger.ID
	// tareKg is the mean tare of the containers.
	tareKg float64
	// solved is what the reconciliation says of it.
	solved reconcile.StreamResult
	// elsewhere gives the other tanks, as they stood, that it may have gone into, while its
	// period is being reconciled; nil where there are none.
	elsewhere func() []berth
}

// berth is a tank's node at an instant.
type berth struct {
	tank ledger.ID
	name string
	node string
}

// sd is the standard deviation of the weight.
func (f *flow) sd() float64 {
	v := f.own * f.own
	for _, p := range f.common {
		v += p.kg * p.kg
	}
	return math.Sqrt(v)
}

// covariance is that of the errors of two different weights.
func covariance(a, b []shared) float64 {
	v := 0.0
	for _, p := range a {
		for _, q := range b {
			if p.source == q.source {
				v += p.kg * q.kg
			}
		}
	}
	return v
}

// shared is a part, its source by number.
type shared struct {
	source int
	kg     float64
}

// sources numbers the sources of errors.
type sources map[string]int

func (s sources) of(common []part) []shared {
	out := make([]shared, len(common))
	for i, p := range common {
		number, known := s[p.source]
		if !known {
			number = len(s)
			s[p.source] = number
		}
		out[i] = shared{number, p.kg}
	}
	return out
}

// varianceOfSum is that of the sum of several weights, each counted by its sign.
func varianceOfSum(flows []*flow, sign func(*flow) float64) float64 {
	v, shared := 0.0, map[string]float64{}
	for _, f := range flows {
		v += f.own * f.own
		s := sign(f)
		for _, p := range f.common {
			shared[p.source] += s * p.kg
		}
	}
	// In an order: sums of the same figures in another order may differ in the last digit.
	for _, source := range slices.Sorted(maps.Keys(shared)) {
		v += shared[source] * shared[source]
	}
	return v
}

// network writes flows that hang together for the reconciliation.
func network(flows []*flow) reconcile.Network {
	var n reconcile.Network
	known, common, sds := sources{}, make([][]shared, len(flows)), make([]float64, len(flows))
	for i, f := range flows {
		sds[i] = f.sd()
		stream := reconcile.Stream{Name: f.name, From: f.from, To: f.to,
			Measured: f.basis != Unseen, Kg: f.kg, StandardUncertaintyKg: sds[i], AtLeastKg: new(float64)}
		if f.mostKg > 0 {
			stream.AtMostKg = &f.mostKg
		}
		n.Streams = append(n.Streams, stream)
		if f.basis == Unseen || len(f.common) == 0 {
			continue
		}
		common[i] = known.of(f.common)
		for j, g := range common[:i] {
			if c := covariance(common[i], g); c != 0 {
				n.Correlations = append(n.Correlations, reconcile.Correlation{A: flows[j].name, B: f.name, Coefficient: c / sds[i] / sds[j]})
			}
		}
	}
	return n
}

// parts divides flows into those that hang together through their nodes, in the
// order in which they come.
func parts(flows []*flow) [][]*flow {
	number, above := map[string]int{}, []int{}
	of := func(node string) int {
		i, known := number[node]
		if !known {
			i = len(above)
			number[node], above = i, append(above, i)
		}
		return i
	}
	top := func(i int) int {
		for above[i] != i {
			above[i] = above[above[i]]
			i = above[i]
		}
		return i
	}
	ends := make([]int, len(flows))
	for i, f := range flows {
		switch {
		case f.from == reconcile.Outside:
			ends[i] = of(f.to)
		default:
			if ends[i] = of(f.from); f.to != reconcile.Outside {
				above[top(ends[i])] = top(of(f.to))
			}
		}
	}
	at := map[int]int{}
	var out [][]*flow
	for k, f := range flows {
		root := top(ends[k])
		i, ok := at[root]
		if !ok {
			i = len(out)
			at[root] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], f)
	}
	return out
}
