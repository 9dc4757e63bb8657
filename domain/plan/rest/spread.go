package rest

import (
	"math"
	"math/rand/v2"
)

// Spread is how far a figure may be off: standard deviations of which each is as likely. One that is known is alone.
type Spread []float64

// draw is by how much the figure is off in one rest.
func (s Spread) draw(r *rand.Rand) float64 {
	if len(s) == 0 {
		return 0
	}
	return s[r.IntN(len(s))] * r.NormFloat64()
}

// learned is how far a season may be off that is foretold from some before it, by how far those were off that were
// foretold each from the others. A few deviations say little of the standard deviation that they come from, so that
// none is taken for known: each from a twentieth of the usual to eight times that is as likely, one twice as large as
// one half as large, and is weighed by how well it fits. With such weights a band holds as many as it says, whatever
// seasons differ by (Jeffreys' prior for a scale; from memory). A mean of few seasons is off itself.
func learned(usual float64, deviations []float64, seasons int) Spread {
	ofMean := math.Sqrt(1 + 1/float64(seasons))
	n := float64(len(deviations))
	if n < 2 {
		return Spread{ofMean * usual}
	}
	sum := 0.0
	for _, d := range deviations {
		sum += d * d
	}
	sum *= (n - 1) / n * (n - 1) / n // of deviations from the mean of all
	const steps, least, most = 200, 1.0 / 20, 8.0
	var sds, upTo [steps]float64
	all := 0.0
	for i := range steps {
		times := least * math.Pow(most/least, float64(i)/(steps-1))
		sds[i] = usual * times
		all += math.Exp(-(n-1)*math.Log(times) - sum/(2*sds[i]*sds[i]))
		upTo[i] = all
	}
	out, next := make(Spread, 0, steps), 0
	for i := range steps {
		for upTo[next] < (float64(i)+0.5)/steps*all {
			next++
		}
		out = append(out, ofMean*sds[next])
	}
	return out
}

// fromOthers are deviations of figures each from the mean of the others.
func fromOthers(figures []float64) (out []float64) {
	n, sum := float64(len(figures)), 0.0
	for _, v := range figures {
		sum += v
	}
	for _, v := range figures {
		if n > 1 {
			out = append(out, v-(sum-v)/(n-1))
		}
	}
	return out
}
