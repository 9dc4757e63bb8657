package heat

import "time"

// Meter reads off what the temperatures of a place did to honey between any
// two instants, as a gas meter is read at the start and at the end. It is
// immutable and safe to share.
type Meter struct {
	kinetics Kinetics
	history  History
	usualC   float64
	// hmf and diastase are the exposures from the start of the history to each
	// of its knots.
	hmf, diastase []float64
}

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
	m.hmf = k.HMF.cumulative(m.history)
	m.diastase = k.Diastase.cumulative(m.history)
	return m, nil
}

// cumulative is the exposure from the start of a history to each of its knots.
func (a Arrhenius) cumulative(h History) []float64 {
	out := make([]float64, len(h.seconds))
	for i := 1; i < len(out); i++ {
		out[i] = out[i-1] + a.stretch(h.celsius[i-1], h.celsius[i], h.seconds[i]-h.seconds[i-1])
	}
	return out
}

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
	if len(m.hmf) == 0 {
		days := to.Sub(from).Hours() / 24
		return days * m.kinetics.HMF.PerDay(m.usualC), days * m.kinetics.Diastase.PerDay(m.usualC)
	}
	h0, d0 := m.upTo(from)
	h1, d1 := m.upTo(to)
	return h1 - h0, d1 - d0
}

func (m *Meter) upTo(at time.Time) (hmf, diastase float64) {
	h := &m.history
	second := at.Sub(h.start).Seconds()
	i := h.after(second)
	switch i {
	case 0:
		days := second / secondsPerDay
		return days * m.kinetics.HMF.PerDay(m.usualC), days * m.kinetics.Diastase.PerDay(m.usualC)
	case len(h.seconds):
		days := (second - h.seconds[i-1]) / secondsPerDay
		return m.hmf[i-1] + days*m.kinetics.HMF.PerDay(m.usualC), m.diastase[i-1] + days*m.kinetics.Diastase.PerDay(m.usualC)
	}
	fromC, toC, lasts := h.celsius[i-1], h.between(i, second), second-h.seconds[i-1]
	return m.hmf[i-1] + m.kinetics.HMF.stretch(fromC, toC, lasts), m.diastase[i-1] + m.kinetics.Diastase.stretch(fromC, toC, lasts)
}

// TemperatureC is the temperature of the place at an instant, as the meter
// takes it.
func (m *Meter) TemperatureC(at time.Time) float64 {
	if len(m.hmf) == 0 || at.Before(m.history.start) || at.After(m.history.End()) {
		return m.usualC
	}
	return m.history.TemperatureC(at)
}
