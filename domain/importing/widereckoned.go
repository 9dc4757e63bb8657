package importing

import (
	"math"
	"slices"

	"pullbook/domain/message"
)

// reckoning says how the figures of one name come of those of others.
type reckoning struct {
	at  int // the name
	how message.Text
	of  []int
}

// reckoned finds the names whose figures come of those of others beside them. Each of lines has
// what stands with one name, NaN where nothing does, and is nil where the name takes no part. free are
// the names that may be no names at all.
//
// Small numbers add up by chance. A figure s is met by about one in 1+s, so what agrees counts by the
// logarithm of that, and has to outweigh twice as many names and ways as were tried.
func reckoned(lines [][]float64, free []bool) (out []reckoning) {
	var base []int
	all := 0
	for i, line := range lines {
		if line != nil {
			base = append(base, i)
		}
		if free[i] {
			all++
		}
	}
	from := 0
	for i := 0; i < len(base); i++ {
		if !free[base[i]] {
			continue
		}
		found := reckonedAt(lines, base, i, from, all)
		if found == nil {
			continue
		}
		out = append(out, *found)
		base = slices.Delete(base, i, i+1)
		from = i
		i--
	}
	return out
}

// reckonedAt is how the figures of one name of the base come of the others; nil where they do not.
// from is the first name that no sum before it counts.
func reckonedAt(lines [][]float64, base []int, i, from, all int) *reckoning {
	const most = 100 // names of a sum of some that stand side by side
	try := func(how message.Text, of []int, tried int, r reckoner) *reckoning {
		if len(of) < 2 || !r.agrees(lines, base[i], of, float64(all*tried)) {
			return nil
		}
		return &reckoning{base[i], how, slices.Clone(of)}
	}
	left, right := base[:i], base[i+1:]
	for _, of := range [...][]int{base[from:i], left} {
		if found := try(message.F("the sums"), of, 2, sumOf); found != nil {
			return found
		}
	}
	for n := 2; n <= min(len(left), most); n++ {
		if found := try(message.F("the sums"), left[len(left)-n:], len(left), sumOf); found != nil {
			return found
		}
	}
	for n := 2; n <= min(len(right), most); n++ {
		if found := try(message.F("the sums"), right[:n], len(right), sumOf); found != nil {
			return found
		}
	}
	const steps, ways = 5, 20
	for step := 2; step <= 3; step++ {
		for first := 1; first <= step; first++ {
			if found := try(message.F("the sums"), everyOther(left, first, step), steps, sumOf); found != nil {
				return found
			}
		}
	}
	for _, of := range [...][]int{left, left[max(len(left)-1, 0):]} {
		if isRunning(lines, base[i], of, float64(all*steps)) {
			return &reckoning{base[i], message.F("the running sums"), slices.Clone(of)}
		}
	}
	for _, of := range [...][]int{left, right} {
		if found := try(message.F("the means"), of, ways, meanOf); found != nil {
			return found
		}
	}
	if n := len(left); n >= 2 {
		pair := left[n-2:]
		if found := try(message.F("the differences"), pair, ways, differenceOf); found != nil {
			return found
		}
		for _, r := range [...]reckoner{ratioOf, inverseOf, percentOf} {
			if found := try(message.F("the ratios"), pair, ways, r); found != nil {
				return found
			}
		}
	}
	return nil
}

func everyOther(of []int, first, step int) (out []int) {
	for i := len(of) - first; i >= 0; i -= step {
		out = append(out, of[i])
	}
	slices.Reverse(out)
	return out
}

// reckoner reckons a figure of others. Those of means lie between these, so that less speaks for one.
type reckoner struct {
	reckon func([]float64) float64
	isMean bool
}

var (
	sumOf        = reckoner{reckon: sum}
	meanOf       = reckoner{func(of []float64) float64 { return sum(of) / float64(len(of)) }, true}
	differenceOf = reckoner{reckon: ofTwo(func(a, b float64) float64 { return math.Abs(a - b) })}
	ratioOf      = reckoner{reckon: ofTwo(func(a, b float64) float64 { return a / b })}
	inverseOf    = reckoner{reckon: ofTwo(func(a, b float64) float64 { return b / a })}
	percentOf    = reckoner{reckon: ofTwo(func(a, b float64) float64 { return 100 * a / b })}
)

func sum(of []float64) (sum float64) {
	for _, v := range of {
		sum += v
	}
	return sum
}

func ofTwo(reckon func(a, b float64) float64) func([]float64) float64 {
	return func(of []float64) float64 {
		if len(of) != 2 {
			return math.NaN()
		}
		return reckon(of[0], of[1])
	}
}

// agrees reports whether the figures of a name are what is reckoned of others, in so many places
// that it is no chance.
func (r reckoner) agrees(lines [][]float64, at int, of []int, tried float64) bool {
	const fewest, chance, typing = 2, 2, 5
	weight, yes, no, blank := 0., 0, 0, 0
	parts := make([]float64, 0, len(of))
	for n, said := range lines[at] {
		parts = parts[:0]
		for _, o := range of {
			if v := lines[o][n]; !math.IsNaN(v) && v != 0 {
				parts = append(parts, v)
			}
		}
		switch {
		case math.IsNaN(said) && len(parts) > 1:
			blank++
		case math.IsNaN(said) || said == 0 && len(parts) == 0:
		case len(parts) == 0 || !isRounded(math.Abs(said), r.reckon(parts)):
			no++
		case len(parts) > 1:
			if speaks := r.speaks(said, parts); speaks > 0 {
				yes++
				weight += speaks
			}
		}
		if no*typing > len(lines[at]) {
			return false
		}
	}
	return yes >= fewest && no*typing <= yes && blank <= yes && weight > math.Log(chance*tried)
}

// isRunning reports whether the figures of a name go on adding up those of others.
func isRunning(lines [][]float64, at int, of []int, tried float64) bool {
	const fewest, chance = 2, 2
	weight, yes, all := 0., 0, 0.
	for n, said := range lines[at] {
		now := 0.
		for _, o := range of {
			if v := lines[o][n]; !math.IsNaN(v) {
				now += v
			}
		}
		all += now
		switch {
		case math.IsNaN(said):
		case !isRounded(said, all):
			return false
		case all > now && now != 0:
			yes++
			weight += sumOf.speaks(said, nil)
		}
	}
	return yes >= fewest && weight > math.Log(chance*tried)
}

// speaks is how much one figure speaks for being reckoned of others: the logarithm of how many it could
// have been, at most as many as its rounding leaves.
func (r reckoner) speaks(said float64, parts []float64) float64 {
	const most = 100
	could := math.Abs(said)
	switch {
	case r.isMean:
		could = slices.Max(parts) - slices.Min(parts)
	case slices.Contains(parts, said):
		return 0 // a ratio to 1
	}
	return math.Log1p(min(could/unitOfLast(said), most))
}

// isRounded allows for what was rounded: half of the last digit that is written, and half in a hundred.
func isRounded(said, come float64) bool {
	slack := 0.005 * math.Abs(come)
	if math.Trunc(come) != come {
		slack = unitOfLast(said) / 2
	}
	return math.Abs(said-come) <= slack+1e-9 // and never where nothing comes
}

// unitOfLast is the unit of the last digit of a figure, down to a hundredth.
func unitOfLast(figure float64) float64 {
	for _, unit := range [...]float64{1, 0.1} {
		if math.Abs(math.Remainder(figure, unit)) < 1e-9 {
			return unit
		}
	}
	return 0.01
}
