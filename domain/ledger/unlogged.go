package ledger

import (
	"slices"
	"time"
)

// tide is a tank that came to hold honey worth the name, or to hold none.
type tide struct {
	f    *fact
	tank *fact
	full bool
}

// heelShare is the part of a tank's capacity up to which it counts as empty:
// what a gate leaves (common practice).
const heelShare = 0.05

// tide notes where a tank passes from empty to not, or back.
func (s *State) tide(f *fact, h grip, before int64) {
	t, ok := h.root.subject.(*Tank)
	if !ok {
		return
	}
	heel := int64(heelShare * float64(t.CapacityG))
	if (before > heel) != (h.Grams > heel) {
		s.tides = append(s.tides, tide{f, h.root, h.Grams > heel})
	}
}

// What counts as warm, and for how long it may go unlogged; common practice. At
// 35 C honey forms 0.45 mg/kg of HMF a day, at 45 C 2.3 (domain/heat).
const (
	warmC        = 35.0
	warmUnlogged = 48 * time.Hour
	// keptWithin is how near in time another log must be for a tank to count as
	// one whose temperature is kept.
	keptWithin = 30 * 24 * time.Hour
)

// unlogged finds tanks that held honey warm for days without a log.
func (v *survey) unlogged() {
	full, stays := map[*fact]*fact{}, map[*fact][]stay{}
	ended := func(tank, since *fact, to int64) {
		if to-since.at > warmUnlogged.Microseconds() {
			stays[tank] = append(stays[tank], stay{since, since.at, to})
		}
	}
	for _, t := range v.state.tides {
		since := full[t.tank]
		switch {
		case t.full:
			full[t.tank] = t.f
		case since != nil:
			ended(t.tank, since, t.f.at)
			delete(full, t.tank)
		}
	}
	for _, root := range v.book.roots[kindIndex[KindTank]] {
		if since := full[root]; since != nil {
			ended(root, since, v.now)
		}
		if len(stays[root]) == 0 {
			continue
		}
		log := v.log(root)
		for _, s := range stays[root] {
			v.stay(root, log, s)
		}
	}
}

// stay is honey in a tank from one instant to another.
type stay struct {
	since    *fact
	from, to int64
}

// stay looks for long silences of the log while a tank held honey.
func (v *survey) stay(tank *fact, log []logPoint, s stay) {
	since, from, to := s.since, s.from, s.to
	last, _ := slices.BinarySearchFunc(log, from, func(p logPoint, at int64) int {
		if p.at < at {
			return -1
		}
		return 1
	})
	edge := from
	for ; edge < to; last++ {
		next := to
		if last < len(log) {
			next = min(to, log[last].at)
		}
		if next-edge > warmUnlogged.Microseconds() {
			v.silence(tank, since, log, last, edge, next)
		}
		if last >= len(log) {
			return
		}
		edge = max(edge, log[last].at)
	}
}

// silence flags a stretch without a log in a tank that is warm: by what was
// logged last or next, by what it usually is, or because it has a heater and
// its temperature is kept otherwise.
func (v *survey) silence(tank, since *fact, log []logPoint, next int, from, to int64) {
	t, ok := tank.subject.(*Tank)
	if !ok || from > v.to || to < v.from {
		return
	}
	warm, kept := v.book.usualC(tank.ID), false
	for _, i := range []int{next - 1, next} {
		if i < 0 || i >= len(log) {
			continue
		}
		if gap := max(from-log[i].at, log[i].at-to); gap <= keptWithin.Microseconds() {
			kept = true
			if gap <= warmUnlogged.Microseconds() {
				warm = max(warm, log[i].celsius)
			}
		}
	}
	if heats := t.Use == Heated || t.HeaterW > 0; warm < warmC && !(heats && kept) {
		return
	}
	// The silence is about the last log before it, or the honey that came in.
	about := since
	if next > 0 && log[next-1].at > since.at {
		about = log[next-1].f
	}
	h := v.state.holders[tank.slot]
	v.add(Flag{Code: WarmWithoutLog, Entry: about.root.ID, On: h.Place, Unit: "h",
		Expected: warmUnlogged.Hours(), Found: time.Duration((to - from) * 1000).Hours(),
		Likely: []Explanation{{Why: NotBooked, Place: h.Place, Value: v.book.usualC(tank.ID)}}})
}

// logPoint is a temperature that a log says of a tank.
type logPoint struct {
	f       *fact
	at      int64
	celsius float64
}

// log gives a tank's logged temperatures in order of time.
func (v *survey) log(tank *fact) []logPoint { return v.logOf(v.book.logs[tank.ID]) }

func (v *survey) logOf(logs []*fact) []logPoint {
	var out []logPoint
	for _, f := range logs {
		if f.at > v.now {
			continue
		}
		for p := range f.Body.(*TemperatureLog).curve {
			out = append(out, logPoint{f, p.At.UnixMicro(), p.TemperatureC})
		}
	}
	slices.SortStableFunc(out, func(a, b logPoint) int {
		if a.at != b.at {
			return int(min(1, max(-1, a.at-b.at)))
		}
		return order(a.f, b.f)
	})
	return out
}
