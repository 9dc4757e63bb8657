package warm

// Off is the set point of a heater that is off.
const Off = 0

// Set points that a course may have, in whole degrees Celsius.
const (
	LeastSetC = 25
	MostSetC  = 71
)

// Step is a stretch of a course with one set point; Off is the heater off.
type Step struct{ FromHour, Hours, SetC int }

// shape is a course of a search: it waits, holds A, holds B, and is off for the rest.
type shape struct{ wait, a, setA, b, setB int }

// sets are a course's set points hour by hour.
func (s shape) sets(hours int) []int {
	out := make([]int, hours)
	for h := range out {
		switch {
		case h < s.wait:
		case h < s.wait+s.a:
			out[h] = s.setA
		case h < s.wait+s.a+s.b:
			out[h] = s.setB
		}
	}
	return out
}

// stepsOf joins hours of one set point.
func stepsOf(sets []int) (out []Step) {
	for h, c := range sets {
		if last := len(out) - 1; last >= 0 && out[last].SetC == c {
			out[last].Hours++
		} else {
			out = append(out, Step{h, 1, c})
		}
	}
	return out
}
