package sale

import (
	"math"
	"math/rand/v2"
)

// Containers are moved at random, also to no advantage, and the less so the longer it goes on: simulated
// annealing. That fills contracts to the kilogram where no single move and no exchange does any more. The
// chance is always the same, so that the same question has the same answer.

const (
	// stepsEach is how many moves are tried for each container.
	stepsEach = 400
	// coldKg is for how much honey of the dearest a loss is hardly taken in the end, in kilograms.
	coldKg = 0.006
	// coolest is the least of the heats, in kilograms of the dearest honey.
	coolest = 0.6
	// worthTrying is how many times the greatest heat a place may be behind the best, at the prices.
	worthTrying = 12
)

// heats are with how much of the dearest honey, in kilograms, the losses begin that are taken, one annealing
// after the other: a little leaves what was right as it is, much finds what is far off.
var heats = [][]float64{{2, coolest}, {coolest}}

// annealing is a bettering with what is looked up at each move.
type annealing struct {
	*bettering
	r *rand.Rand
	// places are by container where it may go to, -1 for nowhere.
	places [][]int
	// at are by contract those that go there, behind those that stay; spot is by container its place there.
	at   [][]int
	spot []int
}

// anneal moves containers at random from a heat, in kilograms of the dearest honey, until it is cold or the
// time is over.
func (b *bettering) anneal(x *prices, hotKg float64, over func() bool) {
	hot, cold := hotKg*b.spec.dearest(), coldKg*b.spec.dearest()
	a := &annealing{bettering: b, r: rand.New(rand.NewPCG(30, 11)), places: make([][]int, len(b.to)), at: make([][]int, 1+len(b.kg)), spot: make([]int, len(b.to))}
	var some []int
	for _, i := range b.loose {
		a.put(i, b.to[i])
		if a.places[i] = b.placesOf(i, x, worthTrying*hot); len(a.places[i]) > 1 {
			some = append(some, i)
		}
	}
	if len(some) == 0 || hot <= 0 {
		return
	}
	steps := stepsEach * len(some)
	cooler := math.Pow(cold/hot, 1/float64(steps))
	for n := range steps {
		if n%(lookEvery*lookEvery) == 0 && over() {
			return
		}
		hot *= cooler
		i := some[a.r.IntN(len(some))]
		c := a.places[i][a.r.IntN(len(a.places[i]))]
		switch least := hot * math.Log(1-a.r.Float64()); {
		case c == b.to[i]:
		case len(a.at[c+1]) == 0 || a.r.IntN(4) == 0:
			a.shift(i, c, least)
		default:
			a.push(i, a.at[c+1][a.r.IntN(len(a.at[c+1]))], least)
		}
	}
}

// placesOf are those of a container that are not too far behind its best at some prices.
func (b *bettering) placesOf(i int, x *prices, far float64) (out []int) {
	kg, most := b.spec.Stock[i].Kg, 0.0
	for c, gain := range b.gains[i] {
		most = max(most, gain-x.of(c, kg))
	}
	if most < far {
		out = append(out, -1)
	}
	for c, gain := range b.gains[i] {
		if most-(gain-x.of(c, kg)) < far {
			out = append(out, c)
		}
	}
	return out
}

func (a *annealing) put(i, c int) {
	a.spot[i], a.at[c+1] = len(a.at[c+1]), append(a.at[c+1], i)
}

func (a *annealing) goes(i, c int) {
	from := a.at[a.to[i]+1]
	last := from[len(from)-1]
	from[a.spot[i]], a.spot[last] = last, a.spot[i]
	a.at[a.to[i]+1] = from[:len(from)-1]
	a.move(i, c)
	a.put(i, c)
}

// shift moves a container where that brings at least so much.
func (a *annealing) shift(i, c int, least float64) {
	was, kg := a.to[i], a.spec.Stock[i].Kg
	if by := a.gain(i, c) - a.gain(i, was) + a.change(was, -kg) + a.change(c, kg); by >= least {
		a.goes(i, c)
	}
}

// push moves a container to where another is, and that one to where the first was or to a place of its own,
// where both bring at least so much.
func (a *annealing) push(i, j int, least float64) {
	was, c := a.to[i], a.to[j]
	then := was
	if a.r.IntN(2) == 0 {
		if then = a.places[j][a.r.IntN(len(a.places[j]))]; then == c {
			return
		}
	}
	kg, other := a.spec.Stock[i].Kg, a.spec.Stock[j].Kg
	by := a.gain(i, c) - a.gain(i, was) + a.gain(j, then) - a.gain(j, c) + a.change(c, kg-other)
	if then == was {
		by += a.change(was, other-kg)
	} else {
		by += a.change(was, -kg) + a.change(then, other)
	}
	if by >= least {
		a.goes(i, c)
		a.goes(j, then)
	}
}
