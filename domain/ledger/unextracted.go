package ledger

import (
	"slices"
	"sort"
	"time"
)

// longestUnextracted is how long full supers may wait: beyond two weeks combs are
// forgotten, or moths are in them (common practice).
const longestUnextracted = 14 * 24 * time.Hour

// pulled is the pulls that happened, in order of occurrence.
type pulled struct {
	// byYard holds all pulls of a yard.
	byYard map[ID][]*fact
	// waiting are the pulls that have supers left, and most ranks them by how many.
	waiting []*fact
	most    peaks
	// seasons are those that stand, in order of their first days.
	seasons []*Season
}

func (v *survey) pulled() *pulled {
	if v.pulls != nil {
		return v.pulls
	}
	p := &pulled{byYard: map[ID][]*fact{}, seasons: v.book.seasons()}
	v.pulls = p
	var left []int
	for _, f := range v.happened(KindPull) {
		pull := f.Body.(*Pull)
		yard := v.book.rootID(pull.YardID)
		p.byYard[yard] = append(p.byYard[yard], f)
		if n, _, _ := v.supersLeft(f.root, pull); n > 0 {
			p.waiting, left = append(p.waiting, f), append(left, n)
		}
	}
	p.most = newPeaks(left)
	return p
}

// unextracted finds supers that were pulled and went into no run: two weeks after,
// or once their season is over.
func (v *survey) unextracted() {
	var unbooked []*Flag
	for _, flag := range v.found {
		if flag.Code == RunWithoutSupers {
			unbooked = append(unbooked, flag)
		}
	}
	for _, f := range v.pulled().waiting {
		if v.waitsTooLong(f) {
			flag := v.neverExtracted(f)
			flag.Likely = v.whyUnextracted(f, unbooked)
			v.add(flag)
		}
	}
}

// waitsTooLong reports whether supers of a pull are left and should not be any more.
func (v *survey) waitsTooLong(f *fact) bool {
	if v.now-f.at <= longestUnextracted.Microseconds() && !v.seasonOver(f) {
		return false
	}
	left, _, _ := v.supersLeft(f.root, f.Body.(*Pull))
	return left > 0
}

// neverExtracted is the finding about a pull, without what may lie behind it.
func (v *survey) neverExtracted(f *fact) Flag {
	left, pulled, mass := v.supersLeft(f.root, f.Body.(*Pull))
	return Flag{Code: NeverExtracted, Entry: f.root.ID, On: Place{PlacePull, f.root.ID}, Unit: "supers",
		Expected: float64(pulled), Found: float64(pulled - left), MassG: mass}
}

// supersLeft counts what of a pull went into no run, and the honey it usually
// holds.
func (v *survey) supersLeft(root *fact, pull *Pull) (left, pulled int, mass int64) {
	var seen []ID
	for _, c := range pull.Supers {
		pulled += c.Supers
		kind := v.book.rootID(c.SuperKindID)
		if slices.Contains(seen, kind) {
			continue
		}
		seen = append(seen, kind)
		if n := v.state.SupersLeft(root.ID, kind); n > 0 {
			left += n
			if k := body[SuperKind](v.book, kind); k != nil {
				mass += int64(n) * k.UsualNetG
			}
		}
	}
	return left, pulled, mass
}

func (v *survey) seasonOver(f *fact) bool {
	seasons := v.book.seasons()
	i := seasonOf(seasons, f.OccurredAt, v.book.loc)
	return i >= 0 && !seasons[i].Holds(time.UnixMicro(v.now), v.book.loc)
}

// whyUnextracted: a pull written down twice, a run that took them and did not say
// so, or they stand there still. unbooked are the flags of runs without supers,
// in order of occurrence.
func (v *survey) whyUnextracted(f *fact, unbooked []*Flag) (out []Explanation) {
	yard := v.pulled().byYard[v.book.rootID(f.Body.(*Pull).YardID)]
	for _, o := range around(yard, f.at, 24*time.Hour, 24*time.Hour) {
		if len(out) == mostExplanations {
			return out
		}
		if o != f {
			out = append(out, Explanation{Why: Twice, Place: Place{PlacePull, o.root.ID}, Entry: o.root.ID})
		}
	}
	later := sort.Search(len(unbooked), func(i int) bool { return v.book.fact(unbooked[i].Entry).last.at > f.at })
	for _, flag := range unbooked[later:min(len(unbooked), later+mostExplanations-len(out))] {
		out = append(out, Explanation{Why: NotBooked, Place: flag.On, Entry: flag.Entry, Value: flag.Found})
	}
	return out
}

// explainRuns says of runs without supers which pulls had some left, and of
// those that gave more than their boxes hold which entry may be wrong. One run
// may have very many such flags: each run is looked at once.
func (v *survey) explainRuns() {
	type about struct {
		code Code
		run  *fact
	}
	why := map[about][]Explanation{}
	for i, f := range v.found {
		if f.Code != RunWithoutSupers && f.Code != RunTooRich {
			continue
		}
		run := v.book.at(f.On.ID)
		of := about{f.Code, run}
		likely, had := why[of]
		switch {
		case had:
		case f.Code == RunWithoutSupers:
			likely = v.unbookedSupers(run)
		default:
			if y := v.yieldOf(run); y != nil {
				likely = v.whyYields(y, y.shouldKg, unweighedSD)
			}
		}
		likely = likely[:min(len(likely), mostExplanations)]
		why[of] = slices.Clip(likely)
		explained := *f // the state's flag stays as it is
		explained.Likely = likely
		explained = explained.trimmed()
		v.found[i] = &explained
	}
}

// unbookedSupers are the pulls of the weeks before a run that have supers which
// went into none, those with the most first.
func (v *survey) unbookedSupers(run *fact) (out []Explanation) {
	p := v.pulled()
	from, to := stretch(p.waiting, run.last.at, longestUnextracted, 0)
	for _, i := range p.most.largest(from, to, mostExplanations) {
		root := p.waiting[i].root
		out = append(out, Explanation{Why: NotBooked, Place: Place{PlacePull, root.ID}, Entry: root.ID, Value: float64(p.most.of[i])})
	}
	return out
}

// around gives the facts of a list in order of occurrence that happened so long
// before an instant and after it.
func around(list []*fact, at int64, before, after time.Duration) []*fact {
	from, to := stretch(list, at, before, after)
	return list[from:to]
}

// stretch is where the facts of around are in their list.
func stretch(list []*fact, at int64, before, after time.Duration) (from, to int) {
	place := func(at int64) int {
		return sort.Search(len(list), func(i int) bool { return list[i].at > at })
	}
	return place(at - before.Microseconds()), place(at + after.Microseconds())
}
