package ledger

import (
	"bytes"
	"slices"
	"time"

	"pullbook/domain/heat"
)

// Where no temperature was kept and none is said to be usual, these stand in,
// in degrees Celsius; common practice.
const (
	usualTankC    = 25.0
	usualHotRoomC = 33.0
	usualStoreC   = 20.0
)

var kinetics = heat.Default()

// Meter says what the temperatures of a tank or room do to honey: its logs
// where there are any, its usual temperature elsewhere.
func (b *Book) Meter(place ID) *heat.Meter {
	if m := b.meters[b.rootID(place)]; m != nil {
		return m
	}
	usual := b.usualC(place)
	if m := levelMeters[usual]; m != nil {
		return m
	}
	m, err := kinetics.Meter(heat.History{}, usual)
	if err != nil {
		return levelMeters[usualStoreC] // a usual temperature no meter takes
	}
	return m
}

// levelMeters are those of places of which nothing is known, by what is usual.
var levelMeters = func() map[float64]*heat.Meter {
	all := map[float64]*heat.Meter{}
	for _, usual := range []float64{usualTankC, usualHotRoomC, usualStoreC} {
		all[usual], _ = kinetics.Meter(heat.History{}, usual)
	}
	return all
}()

// usualC is what a place is said to be usually, or what such places are.
func (b *Book) usualC(place ID) float64 {
	if t := body[Tank](b, place); t != nil {
		return orUsual(t.UsualTemperatureC, usualTankC)
	}
	r := body[Room](b, place)
	if r != nil {
		if y, ok := r.Year(); ok { // the level year that does as much to honey
			return y.KineticMeanC(kinetics.HMF.Arrhenius)
		}
	}
	if r != nil && r.Use == HotRoom {
		return orUsual(r.UsualTemperatureC, usualHotRoomC)
	}
	if r != nil {
		return orUsual(r.UsualTemperatureC, usualStoreC)
	}
	return usualStoreC
}

func orUsual(said *float64, usual float64) float64 {
	if said != nil {
		return *said
	}
	return usual
}

// setMeters makes the meters of the places whose logs, or whose usual
// temperature, have changed.
func (b *Book) setMeters() {
	// A book that opens names a place once for each of its logs.
	slices.SortFunc(b.cold, func(x, y ID) int { return bytes.Compare(x[:], y[:]) })
	b.cold = slices.Compact(b.cold)
	for _, place := range b.cold {
		usual := b.usualC(place)
		var h heat.History
		if points := logged(b.logs[place]); len(points) > 0 {
			h, _ = heat.FromPoints(points, &usual)
		}
		if m, err := kinetics.Meter(h, usual); err == nil {
			b.meters[place] = m
		} else {
			delete(b.meters, place)
		}
	}
	b.cold = nil
}

// Logged joins what was logged of a tank's or room's temperature to points in
// order of time.
func (b *Book) Logged(place ID) []heat.Point { return logged(b.logs[b.rootID(place)]) }

// LastLogged is the last instant up to another of which a temperature of a tank or room was
// logged: the last of Logged up to then. It is the zero time where there is none.
func (b *Book) LastLogged(place ID, at time.Time) (last time.Time) {
	logs := b.logs[b.rootID(place)]
	note := func(p time.Time) {
		if !p.After(at) && p.After(last) {
			last = p
		}
	}
	one := len(logs) > 0 // all that was logged is of one instant
	for _, f := range logs {
		log := f.Body.(*TemperatureLog)
		first, end := log.Points[0].At, log.Points[len(log.Points)-1].At
		one = one && first.Equal(end) && first.Equal(logs[0].Body.(*TemperatureLog).Points[0].At)
		if note(end); end.After(at) {
			for p := range log.curve {
				note(p.At)
			}
		}
	}
	if one && !last.IsZero() {
		note(last.Add(time.Second)) // one reading stands for two
	}
	return last
}

// logged joins a place's logs to points in order of time. Where two logs say
// something of one instant, the one that was ended later counts. A temperature
// that was held ends just before the next begins.
func logged(logs []*fact) []heat.Point {
	var runs [][]heat.Point // Each is in order of time. Most logs begin after the one before has ended.
	for _, f := range logs {
		for p := range f.Body.(*TemperatureLog).curve {
			last := len(runs) - 1
			if last < 0 || !p.At.After(runs[last][len(runs[last])-1].At) {
				runs, last = append(runs, nil), last+1
			}
			runs[last] = append(runs[last], p)
		}
	}
	points := merged(runs)
	if len(points) == 1 {
		points = append(points, heat.Point{At: points[0].At.Add(time.Second), TemperatureC: points[0].TemperatureC})
	}
	return points
}

// merged joins runs of points to one in order of time. Of one instant the last run's counts.
func merged(runs [][]heat.Point) []heat.Point {
	switch len(runs) {
	case 0:
		return nil
	case 1:
		return runs[0]
	}
	a, b := merged(runs[:len(runs)/2]), merged(runs[len(runs)/2:])
	out := make([]heat.Point, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		order := a[0].At.Compare(b[0].At)
		if order < 0 {
			out = append(out, a[0])
		} else {
			out, b = append(out, b[0]), b[1:]
		}
		if order <= 0 {
			a = a[1:]
		}
	}
	return append(append(out, a...), b...)
}

// curve gives the points of the log's curve. A temperature that was held is
// said again twice a day, so that the silence is none, and once more just before
// the next begins.
func (l *TemperatureLog) curve(yield func(heat.Point) bool) {
	for i, p := range l.Points {
		if l.Held && i > 0 {
			before := l.Points[i-1]
			for at := before.At.Add(heat.LongestJoin / 2); at.Before(p.At.Add(-time.Second)); at = at.Add(heat.LongestJoin / 2) {
				if !yield(heat.Point{At: at, TemperatureC: before.TemperatureC}) {
					return
				}
			}
			if last := p.At.Add(-time.Second); last.After(before.At) && !yield(heat.Point{At: last, TemperatureC: before.TemperatureC}) {
				return
			}
		}
		if !yield(heat.Point{At: p.At, TemperatureC: p.TemperatureC}) {
			return
		}
	}
}

// firstWarmed is the first place in the line whose outcome a temperature log
// can change: honey that moved within a day before its first point, or since
// the last point before that, from which on the temperature is taken otherwise.
func (b *Book) firstWarmed(f *fact) int {
	log := f.Body.(*TemperatureLog)
	from := log.Points[0].At
	var before time.Time
	for _, o := range b.logs[b.rootID(log.On.ID)] {
		for _, p := range o.Body.(*TemperatureLog).Points {
			if p.At.Before(from) && p.At.After(before) && o != f {
				before = p.At
			}
		}
	}
	at := from.Add(-heat.LongestJoin).UnixMicro()
	if !before.IsZero() {
		at = min(at, before.UnixMicro())
	}
	p, _ := slices.BinarySearchFunc(b.line, at, func(g *fact, t int64) int {
		if g.at < t {
			return -1
		}
		return 1
	})
	return p
}
