package ledger

// spunSlack is by what part of the frames of a run's supers its loads may have more:
// combs are spun again, and boxes hold a frame more or less (common practice). Less is
// ordinary, since not every load is written down.
const spunSlack = 0.25

// spunRun is the frames of a run by its supers and by its loads.
type spunRun struct {
	run          *fact
	booked, spun int
	// most is those of its largest load.
	most int
}

// over is by how many frames its loads have too many; 0 where they do not.
func (r *spunRun) over() int {
	if n := r.spun - r.booked; r.booked > 0 && n > r.most && float64(n) > spunSlack*float64(r.booked) {
		return n
	}
	return 0
}

// spun finds runs whose loads have many more frames than the supers that were booked
// into them. Of a load that was flagged as entered twice something was said already.
func (v *survey) spun() {
	runs := v.framesOfRuns()
	for i, r := range runs {
		over := r.over()
		if over == 0 {
			continue
		}
		flag := v.overSpun(r)
		flag.Likely = append(lacking(runs, i, over), v.unbookedSupers(r.run.root)...)
		v.add(flag)
	}
}

// overSpun is the finding about a run, without what may lie behind it.
func (v *survey) overSpun(r *spunRun) Flag {
	flag := Flag{Code: MoreSpun, Entry: r.run.root.ID, On: Place{PlaceRun, r.run.root.ID}, Unit: "frames",
		Expected: float64(r.booked), Found: float64(r.spun)}
	if of := v.book.runs[r.run.root.ID]; of != nil {
		flag.MassG = int64(of.shouldG * float64(r.over()) / float64(r.booked))
	}
	return flag
}

// framesOfRuns is in order of the runs.
func (v *survey) framesOfRuns() (runs []*spunRun) {
	twice := map[ID]bool{}
	for _, f := range v.found {
		if f.Code == LoadTwice {
			twice[f.Entry] = true
		}
	}
	of := make([]*spunRun, v.book.slots) // by the slots of runs
	at := func(run ID) *spunRun {
		if f := v.book.at(run); f != nil && f.slot >= 0 && of[f.slot] != nil {
			return of[f.slot]
		}
		return new(spunRun) // of a run that did not happen, which nobody asks for
	}
	for _, f := range v.happened(KindRun) {
		r := &spunRun{run: f}
		of[f.root.slot] = r
		runs = append(runs, r)
	}
	for _, f := range v.happened(KindRunSupers) {
		x := f.Body.(*RunSupers)
		if kind := body[SuperKind](v.book, x.SuperKindID); kind != nil {
			at(x.RunID).booked += x.Supers * kind.FramesPerSuper
		}
	}
	for _, f := range v.happened(KindLoad) {
		x := f.Body.(*Load)
		if n := x.FramesLeft + x.FramesRight; len(twice) == 0 || !twice[f.root.ID] {
			r := at(x.RunID)
			r.spun, r.most = r.spun+n, max(r.most, n)
		}
	}
	return runs
}

// runsBeside is among how many runs before and after one its loads may belong.
const runsBeside = 3

// lacking are the runs beside the i-th of which about so many frames were not spun:
// some of its loads may be theirs.
func lacking(runs []*spunRun, i, over int) (out []Explanation) {
	for j := max(0, i-runsBeside); j <= min(len(runs)-1, i+runsBeside); j++ {
		r := runs[j]
		lacks := r.booked - r.spun
		if away := max(lacks-over, over-lacks); j != i && away <= max(r.most, runs[i].most) {
			out = append(out, Explanation{Why: OtherRun, Place: Place{PlaceRun, r.run.root.ID}, Value: float64(lacks)})
		}
	}
	return out
}
