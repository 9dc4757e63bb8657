package ledger

import (
	"math"
	"slices"
	"time"
)

// Beside how many other runs of a season a run is judged, and how near alike
// runs are at best, as the standard deviation of the logarithm of what they
// give over what their boxes should: dips and scales err a few percent
// (common practice), and boxes that were not weighed differ by a good part.
const (
	fewestRuns  = 8
	weighedSD   = 0.03
	unweighedSD = 0.08
)

// stillRunning is how long after its last honey a run without an end may still
// give some.
const stillRunning = 48 * time.Hour

// runYield is a run's honey beside what its boxes should give.
type runYield struct {
	root  *fact
	outKg float64
	// shouldKg is by weight, or what such boxes usually hold.
	shouldKg float64
	weighed  bool
	// last is when its last honey came.
	last  int64
	ended bool
}

func (y *runYield) log() float64 { return math.Log(y.outKg / y.shouldKg) }

// yields finds runs whose honey per super is far from their season's.
func (v *survey) yields() {
	rich := map[ID]bool{}
	for _, f := range v.found {
		if f.Code == RunTooRich {
			rich[f.On.ID] = true
		}
	}
	for _, runs := range v.runsBySeason() {
		for _, weighed := range []bool{true, false} {
			v.judge(slices.DeleteFunc(slices.Clone(runs), func(y *runYield) bool { return y.weighed != weighed }), rich)
		}
	}
}

// judge holds runs of one sort against one another: those whose boxes were all
// weighed, or those of which some were not. Of rich runs something was said
// already.
func (v *survey) judge(runs []*runYield, rich map[ID]bool) {
	if len(runs) < fewestRuns {
		return
	}
	logs := make([]float64, len(runs))
	for i, y := range runs {
		logs[i] = y.log()
	}
	usual := spreadOf(logs)
	floor := unweighedSD
	if runs[0].weighed {
		floor = weighedSD
	}
	usual.sd = max(usual.sd, floor)
	for i, y := range runs {
		z := (logs[i] - usual.middle) / usual.sd
		open := !y.ended && v.now-y.last < stillRunning.Microseconds()
		if math.Abs(z) > farOff && !(z < 0 && open) && !rich[y.root.ID] {
			v.unlikeOthers(y, usual, z)
		}
	}
}

func (v *survey) unlikeOthers(y *runYield, usual spread, z float64) {
	expected := y.shouldKg * math.Exp(usual.middle)
	flag := Flag{Code: RunYieldUnusual, Entry: y.root.ID, On: Place{PlaceRun, y.root.ID}, Unit: "kg",
		Expected: expected, Found: y.outKg, MassG: int64(1000 * math.Abs(y.outKg-expected)), Unlikely: unlikely(z)}
	flag.Likely = v.whyYields(y, expected, usual.sd)
	v.add(flag)
}

// whyYields says what may lie behind a run that gave unlike the others: each
// of its entries is tried twice, in pounds, or not at all.
func (v *survey) whyYields(y *runYield, expectedKg, sd float64) (out []Explanation) {
	fits := func(kg float64) bool { return kg > 0 && math.Abs(math.Log(kg/expectedKg)) < Fitting*sd }
	r := v.book.runs[y.root.ID]
	var twice []Explanation
	before := map[float64]bool{}
	for _, f := range r.out {
		mass := v.movedKg(f)
		switch {
		case before[mass] && nearer(y.outKg-mass, y.outKg, expectedKg):
			twice = append(twice, Explanation{Why: Twice, Entry: f.root.ID, Value: mass})
		case fits(y.outKg - mass + mass/poundsPerKilogram):
			out = append(out, Explanation{Why: Pounds, Entry: f.root.ID, Value: mass / poundsPerKilogram})
		case fits(y.outKg - mass + mass*poundsPerKilogram):
			out = append(out, Explanation{Why: Pounds, Entry: f.root.ID, Value: mass * poundsPerKilogram})
		case fits(y.outKg - mass):
			out = append(out, Explanation{Why: Twice, Entry: f.root.ID, Value: mass})
		}
		before[mass] = true
	}
	slices.Reverse(twice)
	out = append(twice, out...)
	if y.outKg < expectedKg {
		for _, f := range r.supers {
			if s := f.Body.(*RunSupers); fits(y.outKg * y.shouldKg / (y.shouldKg - v.book.superG(s)/1000)) {
				out = append(out, Explanation{Why: TooManyBooked, Entry: f.root.ID, Value: float64(s.Supers)})
			}
		}
		return append(out, Explanation{Why: NotBooked, Place: Place{PlaceRun, y.root.ID}, Value: expectedKg - y.outKg})
	}
	return append(out, v.unbookedSupers(y.root)...)
}

// nearer reports whether a is nearer, as a ratio, to what was expected than b.
func nearer(a, b, expected float64) bool {
	off := func(x float64) float64 { return math.Abs(math.Log(max(x, 1e-3) / expected)) }
	return off(a) < off(b)
}

func (v *survey) movedKg(f *fact) float64 { return kg(f.Body.(*Movement).MassG) }

// runsBySeason gives the runs that gave honey, season by season.
func (v *survey) runsBySeason() [][]*runYield {
	ends := make([]bool, v.book.slots) // by the slots of runs
	seasons := v.pulled().seasons
	of := make([][]*runYield, len(seasons)+1)
	var runs []*runYield
	for _, f := range v.happened(KindRunEnd) {
		if run := v.book.at(f.Body.(*RunEnd).RunID); run != nil && run.slot >= 0 {
			ends[run.slot] = true
		}
	}
	for _, f := range v.happened(KindRun) {
		if y := v.yieldOf(f); y != nil {
			runs = append(runs, y)
			i := seasonOf(seasons, f.OccurredAt, v.book.loc)
			of[i+1] = append(of[i+1], y)
		}
	}
	for _, y := range runs {
		y.ended = ends[y.root.slot]
	}
	return of
}

// yieldOf is nil for a run that gave nothing or names no supers.
func (v *survey) yieldOf(run *fact) *runYield {
	y, had := v.runs[run.root]
	if !had {
		y = v.newYield(run)
		v.runs[run.root] = y
	}
	return y
}

func (v *survey) newYield(f *fact) *runYield {
	r := v.book.runs[f.root.ID]
	if r == nil || r.How == NoSupers {
		return nil
	}
	y := &runYield{root: f.root, outKg: kg(v.state.holders[f.root.slot].OutG), shouldKg: r.shouldG / 1000, weighed: true}
	for _, s := range r.supers {
		y.weighed = y.weighed && v.book.netPerUsual(s.Body.(*RunSupers).PullID) > 0
	}
	for _, o := range r.out {
		if o.at <= v.now {
			y.last = max(y.last, o.at)
		}
	}
	if y.outKg <= 0 || y.shouldKg <= 0 {
		return nil
	}
	return y
}
