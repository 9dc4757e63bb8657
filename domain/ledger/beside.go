package ledger

import (
	"math"
	"slices"
	"sort"
)

// besides are the runs, pulls and tanks of which an entry may change what shows beside the
// rest of the book: loads beyond the supers, supers never extracted, a tank warm without a
// log. Only these are looked at before and after it.
//
// Runs and containers that are unlike the others are not among them: each is judged by the
// middle of all of its season or kind, which every weighing moves for all of them.
type besides struct {
	// all says that it may be any of them, and entries that cannot be read.
	all bool
	// now stands in for the present on both sides, so that what comes of time going on
	// alone is not laid to the entry.
	now                int64
	runs, pulls, tanks []ID
	// from and to are between when something of the tanks changed.
	from, to int64
}

// besidesOf tells of the book's next entry, and of what it replaces.
func (b *Book) besidesOf(e *Entry) besides {
	x := besides{now: b.nowWith(e), from: math.MaxInt64, to: math.MinInt64}
	old, kind := b.fact(e.Replaces), e.Kind
	if old != nil {
		kind = old.root.Kind
	}
	switch {
	case b.missing[e.ID], kind == KindSeason, kind == KindUnreadable,
		old != nil && (kind == KindImport || kind == KindSuperKind || old.root.withdrawn() || b.spoiltIn(old.ID)):
		x.all = true
		return x
	}
	x.add(b, e, e.Body)
	if old != nil {
		x.thing(old.root)
		x.add(b, old.Entry, old.Body)
		x.add(b, old.root.last.Entry, old.root.subject)
	}
	return x
}

// join adds what another entry bears on that comes together with the first.
func (x *besides) join(o besides) {
	x.all, x.now = x.all || o.all, max(x.now, o.now)
	x.from, x.to = min(x.from, o.from), max(x.to, o.to)
	x.runs, x.pulls, x.tanks = joined(x.runs, o.runs), joined(x.pulls, o.pulls), joined(x.tanks, o.tanks)
}

func joined(list, more []ID) []ID {
	for _, id := range more {
		if !slices.Contains(list, id) {
			list = append(list, id)
		}
	}
	return list
}

// nowWith is when the last thing happened before the next entry or with it.
func (b *Book) nowWith(e *Entry) int64 {
	now := int64(math.MinInt64)
	if n := len(b.line); n > 0 {
		now = b.line[n-1].at
	}
	old := b.fact(e.Replaces)
	if e.Kind.SetUp() || e.Kind == KindWithdrawal || e.Kind == KindUnreadable || old != nil && old.root.takenBack {
		return now
	}
	return max(now, e.OccurredAt.UnixMicro())
}

func (x *besides) add(b *Book, e *Entry, said Body) {
	at := e.OccurredAt.UnixMicro()
	switch body := said.(type) {
	case *RunSupers:
		x.runs, x.pulls = append(x.runs, b.rootID(body.RunID)), append(x.pulls, b.rootID(body.PullID))
	case *Load:
		x.runs = append(x.runs, b.rootID(body.RunID))
	case *Pull:
		x.pulls = append(x.pulls, b.rootID(e.ID))
	case *Movement:
		for _, p := range []Place{body.From, body.To} {
			x.tank(b, p, at, math.MaxInt64)
		}
	case *Fill:
		x.tank(b, Place{PlaceTank, body.TankID}, at, math.MaxInt64)
	case *Stocktake:
		x.tank(b, Place{PlaceTank, body.TankID}, at, math.MaxInt64)
	case *Wash:
		x.tank(b, Place{PlaceTank, body.TankID}, at, math.MaxInt64)
	case *TemperatureLog:
		x.tank(b, body.On, body.Points[0].At.UnixMicro(), body.Points[len(body.Points)-1].At.UnixMicro())
	case *Acceptance:
		x.accepted(b, body)
	}
}

func (x *besides) tank(b *Book, p Place, from, to int64) {
	if p.Kind == PlaceTank {
		x.tanks = append(x.tanks, b.rootID(p.ID))
		x.from, x.to = min(x.from, from), max(x.to, to)
	}
}

// thing adds what is itself a run, a pull or a tank.
func (x *besides) thing(root *fact) {
	switch root.Kind {
	case KindRun:
		x.runs = append(x.runs, root.ID)
	case KindPull:
		x.pulls = append(x.pulls, root.ID)
	case KindTank:
		x.tanks = append(x.tanks, root.ID)
		x.from, x.to = math.MinInt64, math.MaxInt64
	}
}

// accepted adds what the settled finding is about.
func (x *besides) accepted(b *Book, a *Acceptance) {
	switch a.Flag {
	case EntryUnreadable:
		x.all = true
	case MoreSpun, NeverExtracted, WarmWithoutLog:
		for _, id := range append([]ID{a.EntryID}, a.With...) {
			if f := b.at(id); f != nil {
				x.thing(f)
				x.add(b, f.last.Entry, f.subject)
				x.from, x.to = math.MinInt64, math.MaxInt64
			}
		}
	}
}

// besideBook are the open findings of such runs, pulls and tanks.
func (s *State) besideBook(x besides) []*Flag {
	if !x.all && len(x.runs)+len(x.pulls)+len(x.tanks) == 0 {
		return nil
	}
	v := survey{book: s.book, state: s, now: x.now, from: earlier(x.from), to: later(x.to), runs: map[*fact]*runYield{}}
	if x.all {
		v.from, v.to = math.MinInt64, math.MaxInt64
		v.besideAll()
	} else {
		v.besideSome(x)
	}
	return slices.DeleteFunc(v.found, func(f *Flag) bool { return f.Accepted != nil })
}

func (v *survey) besideAll() {
	v.unreadable()
	found := v.found
	v.found = v.state.flagged()
	flags := len(v.found)
	v.spun()
	v.unextracted()
	v.unlogged()
	v.found = append(found, v.found[flags:]...)
}

func (v *survey) besideSome(x besides) {
	each := func(ids []ID, kind Kind, look func(root *fact)) {
		var seen []*fact
		for _, id := range ids {
			if f := v.book.at(id); f != nil && f.Kind == kind && !slices.Contains(seen, f) {
				seen = append(seen, f)
				look(f)
			}
		}
	}
	stands := func(f *fact) bool { return !f.withdrawn() && !f.last.unreadable() }
	each(x.runs, KindRun, func(run *fact) {
		if !stands(run) {
			return
		}
		if r := v.framesOf(run); r.over() > 0 {
			v.add(v.overSpun(r))
		}
	})
	each(x.pulls, KindPull, func(pull *fact) {
		if stands(pull) && v.waitsTooLong(pull.last) {
			v.add(v.neverExtracted(pull.last))
		}
	})
	each(x.tanks, KindTank, v.unloggedLately)
}

// framesOf is of one run what framesOfRuns has of all.
func (v *survey) framesOf(run *fact) *spunRun {
	r := &spunRun{run: run.last}
	for _, f := range v.book.runKnown(run.ID).supers {
		x := f.Body.(*RunSupers)
		if kind := body[SuperKind](v.book, x.SuperKindID); kind != nil {
			r.booked += x.Supers * kind.FramesPerSuper
		}
	}
	for _, f := range v.book.loads[run.ID] {
		if !v.state.raised(f, LoadTwice) {
			x := f.Body.(*Load)
			n := x.FramesLeft + x.FramesRight
			r.spun, r.most = r.spun+n, max(r.most, n)
		}
	}
	return r
}

// unloggedLately is of one tank what unlogged has of all, of the time that v is about.
func (v *survey) unloggedLately(tank *fact) {
	stays := v.staysIn(tank)
	if len(stays) == 0 {
		return
	}
	log := v.logOf(v.around(tank.ID))
	for _, s := range stays {
		v.stay(tank, log, s)
	}
}

// earlier and later are so far off that a log does not matter any more.
func earlier(at int64) int64 {
	return max(at, math.MinInt64+keptWithin.Microseconds()) - keptWithin.Microseconds()
}

func later(at int64) int64 {
	return min(at, math.MaxInt64-keptWithin.Microseconds()) + keptWithin.Microseconds()
}

// staysIn are the long stays of honey in a tank that did not end before v looks.
func (v *survey) staysIn(tank *fact) (out []stay) {
	end := v.now
	for _, t := range slices.Backward(v.state.tides) {
		if t.tank != tank {
			continue
		}
		if t.full && end-t.f.at > warmUnlogged.Microseconds() {
			out = append(out, stay{t.f, t.f.at, end})
		}
		if end = t.f.at; end < v.from {
			break
		}
	}
	slices.Reverse(out)
	return out
}

// around are those of a tank's logs that have points while v looks, with the last before
// and the first after. It looks at few others: a log's points lie near to when it was
// written down.
func (v *survey) around(tank ID) (out []*fact) {
	logs, spread := v.book.logs[tank], v.book.logSpread[tank]
	begin := sort.Search(len(logs), func(i int) bool { return logs[i].at+spread >= v.from })
	end := begin + sort.Search(len(logs)-begin, func(i int) bool { return logs[begin+i].at-spread > v.to })
	var before, after *fact
	first := func(f *fact) int64 { first, _ := f.Body.(*TemperatureLog).span(); return first }
	last := func(f *fact) int64 { _, last := f.Body.(*TemperatureLog).span(); return last }
	for _, f := range logs[begin:end] {
		switch {
		case last(f) < v.from:
			if before == nil || last(f) >= last(before) {
				before = f
			}
		case first(f) > v.to:
			if after == nil || first(f) < first(after) {
				after = f
			}
		default:
			out = append(out, f)
		}
	}
	for _, f := range slices.Backward(logs[:begin]) {
		if before != nil && f.at+spread < last(before) {
			break
		}
		if before == nil || last(f) > last(before) {
			before = f
		}
	}
	for _, f := range logs[end:] {
		if after != nil && f.at-spread > first(after) {
			break
		}
		if after == nil || first(f) < first(after) {
			after = f
		}
	}
	for _, f := range []*fact{before, after} {
		if f != nil {
			out = placed(out, f)
		}
	}
	return out
}

// span is when the first and the last of a log's points were taken.
func (l *TemperatureLog) span() (first, last int64) {
	return l.Points[0].At.UnixMicro(), l.Points[len(l.Points)-1].At.UnixMicro()
}

// raised reports whether an entry that stands has a flag.
func (s *State) raised(f *fact, code Code) bool {
	from, _ := slices.BinarySearchFunc(s.flags, f, func(flag Flag, f *fact) int {
		return order(s.book.fact(flag.Entry).last, f)
	})
	for _, flag := range s.flags[from:] {
		if flag.Entry != f.root.ID {
			break
		}
		if flag.Code == code {
			return true
		}
	}
	return false
}
