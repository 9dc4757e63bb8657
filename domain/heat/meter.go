package heat

import (
	"math"
	"sort"
	"time"
)

// Meter reads off what the temperatures of a place did to honey between any
// two instants, as a gas meter is read at the start and at the end. It is
// immutable and safe to share.
type Meter struct {
	kinetics Kinetics
	history  History
	usualC   float64
	// knots are the instants of the history, in microseconds.
	knots []int64
	// hmf and diastase are the exposures from the start of the history to each
	// of its knots, in whole quanta: so a difference of two does not depend on
	// where the history starts, and a log written down later changes nothing
	// that came before it.
	hmf, diastase []int64
}

// quantum is the step of a meter, in mg/kg of HMF and in the logarithm of the
// diastase: far below anything that counts, and room for 8 million.
const quantum = 1.0 / (1 << 40)

// Meter makes a meter of a place that is usually at usualC (ColdestC to
// HottestC) and was at the temperatures of the history where it has any. Beyond
// the history's ends the nearest reading holds for LongestJoin, then the usual
// temperature. The zero History is a place of which no temperature was kept.
func (k Kinetics) Meter(h History, usualC float64) (*Meter, error) {
	if err := checkTemperature("usual temperature", usualC); err != nil {
		return nil, err
	}
	m := &Meter{kinetics: k, usualC: usualC}
	if len(h.seconds) == 0 {
		return m, nil
	}
	var err error
	if m.history, err = h.Between(h.start.Add(-LongestJoin), h.End().Add(LongestJoin)); err != nil {
		return nil, err
	}
	m.knots = make([]int64, len(m.history.seconds))
	for i, s := range m.history.seconds {
		m.knots[i] = m.history.start.UnixMicro() + int64(math.Round(s*1e6))
	}
	m.hmf = m.cumulative(k.HMF.Arrhenius)
	m.diastase = m.cumulative(k.Diastase.Arrhenius)
	return m, nil
}

// cumulative is the exposure from the start to each knot.
func (m *Meter) cumulative(a Arrhenius) []int64 {
	out := make([]int64, len(m.knots))
	for i := 1; i < len(out); i++ {
		out[i] = out[i-1] + int64(math.Round(a.stretch(m.history.celsius[i-1], m.history.celsius[i], seconds(m.knots[i-1], m.knots[i]))/quantum))
	}
	return out
}

// seconds is the time between two instants in microseconds.
func seconds(from, to int64) float64 { return float64(to-from) / 1e6 }

// stretch is the exposure while the temperature goes straight from one value to
// another in so many seconds.
func (a Arrhenius) stretch(fromC, toC, seconds float64) float64 {
	p, step := a.jet(fromC), toC-fromC
	if step == 0 {
		return p.rate * seconds / secondsPerDay
	}
	pieces := 1
	if span := max(step, -step) * p.steep; span > largestSpan/2 {
		pieces = int(2*span/largestSpan) + 1
	}
	return a.meanInPieces(p, fromC, step, pieces) * seconds / secondsPerDay
}

const secondsPerDay = 86400

// Between is the HMF formed from one instant to another, in mg/kg, and the
// natural logarithm of the diastase at the first over that at the second. It
// allocates nothing. An earlier second instant gives the negative.
func (m *Meter) Between(from, to time.Time) (hmfMgPerKg, diastaseLog float64) {
	a, b := from.UnixMicro(), to.UnixMicro()
	if b < a {
		hmf, diastase := m.between(b, a)
		return -hmf, -diastase
	}
	return m.between(a, b)
}

func (m *Meter) between(from, to int64) (hmf, diastase float64) {
	i, j := m.after(from), m.after(to)
	if i == j {
		return m.part(i, from, to)
	}
	h0, d0 := m.part(i, from, m.knots[i])
	h1, d1 := m.part(j, m.knots[j-1], to)
	return h0 + float64(m.hmf[j-1]-m.hmf[i])*quantum + h1, d0 + float64(m.diastase[j-1]-m.diastase[i])*quantum + d1
}

// after is the first knot later than an instant.
func (m *Meter) after(at int64) int {
	return sort.Search(len(m.knots), func(i int) bool { return m.knots[i] > at })
}

// part is the exposure within the line that ends at knot i, or beyond the ends.
func (m *Meter) part(i int, from, to int64) (hmf, diastase float64) {
	fromC, toC := m.usualC, m.usualC
	if i > 0 && i < len(m.knots) {
		fromC, toC = m.onLine(i, from), m.onLine(i, to)
	}
	lasts := seconds(from, to)
	return m.kinetics.HMF.stretch(fromC, toC, lasts), m.kinetics.Diastase.stretch(fromC, toC, lasts)
}

// onLine is the temperature on the line that ends at knot i.
func (m *Meter) onLine(i int, at int64) float64 {
	a, b := m.history.celsius[i-1], m.history.celsius[i]
	share := float64(at-m.knots[i-1]) / float64(m.knots[i]-m.knots[i-1])
	return min(max(a+share*(b-a), min(a, b)), max(a, b))
}

// Usual is the usual temperature of the place, and since is the last instant of which another
// one is known: after it the meter takes the usual one. It is the zero time where none ever was.
func (m *Meter) Usual() (celsius float64, since time.Time) {
	if len(m.hmf) == 0 {
		return m.usualC, time.Time{}
	}
	return m.usualC, m.history.End()
}

// TemperatureC is the temperature of the place at an instant, as the meter
// takes it.
func (m *Meter) TemperatureC(at time.Time) float64 {
	if len(m.hmf) == 0 || at.Before(m.history.start) || at.After(m.history.End()) {
		return m.usualC
	}
	return m.history.TemperatureC(at)
}
