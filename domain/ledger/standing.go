package ledger

import (
	"cmp"
	"slices"
	"sort"
	"time"
)

// longestStanding is how long full supers may wait: beyond two weeks combs are
// forgotten, or moths are in them (common practice).
const longestStanding = 14 * 24 * time.Hour

// standing finds supers that were pulled and went into no run: two weeks after,
// or once their season is over.
func (v *survey) standing() {
	for _, f := range v.happened() {
		pull, ok := f.Body.(*Pull)
		if !ok || v.now-f.at <= longestStanding.Microseconds() && !v.seasonOver(f) {
			continue
		}
		left, pulled, mass := v.supersLeft(f.root, pull)
		if left <= 0 {
			continue
		}
		v.add(Flag{Code: NeverExtracted, Entry: f.root.ID, On: Place{PlacePull, f.root.ID}, Unit: "supers",
			Expected: float64(pulled), Found: float64(pulled - left), MassG: mass, Likely: v.whyStanding(f)})
	}
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
	over := false
	v.book.Of(KindSeason, func(_ ID, e *Entry) bool {
		s := e.Body.(*Season)
		if !s.Holds(f.OccurredAt, v.book.loc) {
			return true
		}
		over = !s.Holds(time.UnixMicro(v.now), v.book.loc)
		return false
	})
	return over
}

// whyStanding: a pull written down twice, a run that took them and did not say
// so, or they stand there still.
func (v *survey) whyStanding(f *fact) (out []Explanation) {
	pull := f.Body.(*Pull)
	for _, o := range v.around(f.at, 24*time.Hour, 24*time.Hour) {
		other, ok := o.Body.(*Pull)
		if ok && o != f && v.book.rootID(other.YardID) == v.book.rootID(pull.YardID) {
			out = append(out, Explanation{Why: Twice, Place: Place{PlacePull, o.root.ID}, Entry: o.root.ID})
		}
	}
	for _, flag := range v.found {
		if flag.Code == RunWithoutSupers && v.book.byID[flag.Entry].last.at > f.at && len(out) < mostExplanations {
			out = append(out, Explanation{Why: NotBooked, Place: flag.On, Entry: flag.Entry, Value: flag.Found})
		}
	}
	return out
}

// explainRuns says of runs without supers which pulls had some left, and of
// those that gave more than their boxes hold which entry may be wrong.
func (v *survey) explainRuns() {
	for i := range v.found {
		f := &v.found[i]
		run := v.book.at(f.On.ID)
		switch {
		case f.Code == RunWithoutSupers:
			f.Likely = v.unbookedSupers(run)
		case f.Code == RunTooRich && v.yieldOf(run) != nil:
			y := v.yieldOf(run)
			f.Likely = v.whyYields(y, y.shouldKg, unweighedSD)
		default:
			continue
		}
		*f = f.trimmed()
	}
}

// unbookedSupers are the pulls of the weeks before a run that have supers which
// went into none, those with the most first.
func (v *survey) unbookedSupers(run *fact) (out []Explanation) {
	for _, f := range v.around(run.last.at, longestStanding, 0) {
		pull, ok := f.Body.(*Pull)
		if !ok {
			continue
		}
		if left, _, _ := v.supersLeft(f.root, pull); left > 0 {
			out = append(out, Explanation{Why: NotBooked, Place: Place{PlacePull, f.root.ID}, Entry: f.root.ID, Value: float64(left)})
		}
	}
	slices.SortStableFunc(out, func(a, b Explanation) int { return cmp.Compare(b.Value, a.Value) })
	return out[:min(len(out), mostExplanations)]
}

// around gives what happened so long before an instant and after it.
func (v *survey) around(at int64, before, after time.Duration) []*fact {
	line := v.happened()
	place := func(at int64) int {
		return sort.Search(len(line), func(i int) bool { return line[i].at > at })
	}
	return line[place(at-before.Microseconds()):place(at+after.Microseconds())]
}
