package rest

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// What a run has to be like for its pace to count: nobody extracts for a few minutes, or for a day on end.
const (
	shortestRun = 10 * time.Minute
	longestRun  = 16 * time.Hour
)

// driftSD is how far the honey of a super that is still to come may differ from what came so far, as the standard
// deviation of its logarithm (a judgement: the last round of a year is often leaner or fuller than the one before).
const driftSD = 0.05

// honeyShare is what comes out of a super beside what it usually holds, where no run says: the rest is wax, and
// stays in combs and cappings (a judgement).
const honeyShare = 0.97

// line asks how fast supers are extracted, when people work and what a super gives.
func (a *Asked) line(r *record, q *Question) error {
	h := &a.House
	var loads, loadsAnHour, supers []float64
	var whole []*run
	for _, n := range r.runs {
		if took := n.last.Sub(n.from); n.supers > 0 && took >= shortestRun && took <= longestRun {
			whole = append(whole, n)
			h.SupersAnHour = append(h.SupersAnHour, float64(n.supers)/took.Hours())
			supers = append(supers, float64(n.supers))
			if n.loads > 0 {
				loads, loadsAnHour = append(loads, float64(n.supers)/float64(n.loads)), append(loadsAnHour, float64(n.loads)/took.Hours())
			}
		}
		if n.supers > 0 && n.kg > 0 && (n.ended || r.now.Sub(n.last) > 48*time.Hour) {
			h.KgPerSuper = append(h.KgPerSuper, n.kg/float64(n.supers))
		}
	}
	from := message.F("%s of this season, from beginning to end, with all stops", message.Plural{N: float64(len(h.SupersAnHour)), One: "%s run", Other: "%s runs"})
	switch {
	case q.SupersAnHour != nil:
		h.SupersAnHour, from = []float64{*q.SupersAnHour}, told()
	case len(h.SupersAnHour) == 0:
		return asksFor("supers_an_hour", message.F("no run of season %s has its supers, and its loads or its end with their times: record them, or say how many supers go through the line in an hour", r.this.season.Name))
	}
	a.rests(message.F("supers extracted in an hour"), rounded(stat.Mean(h.SupersAnHour, nil), 1), "1/h", from)
	if len(loads) > 0 {
		a.rests(message.F("loads in an hour"), rounded(stat.Mean(loadsAnHour, nil), 1), "1/h", message.F("the runs of this season whose loads were recorded; %s supers a load, in the middle", tenths(middle(loads))))
	}
	if at := atOnce(whole); at > 1 && q.SupersAnHour == nil {
		a.rests(message.F("runs that go on at once, on average"), rounded(at, 1), "", message.F("the hours of all runs over the hours in which one at least went on"))
		h.SupersAnHour, h.Lines = scaled(h.SupersAnHour, at), at
	}
	h.Load = usualLoad
	if len(loads) > 0 {
		h.Load = max(1, int(math.Round(middle(loads))))
	}
	h.Batch = h.Load
	if len(supers) > 0 {
		slices.Sort(supers)
		h.Batch = min(int(stat.Quantile(0.25, stat.Empirical, supers, nil)), h.HotRoom)
	}
	a.honey(r)
	a.shift(r)
	return nil
}

// atOnce is how many of some runs went on at once, on average over the time in which one did: the lines of an outfit
// are taken as one. Runs that only meet are one after another.
func atOnce(runs []*run) float64 {
	sorted := slices.SortedFunc(slices.Values(runs), func(a, b *run) int { return a.from.Compare(b.from) })
	var all, some time.Duration
	var until time.Time
	for _, n := range sorted {
		all += n.last.Sub(n.from)
		if n.last.After(until) {
			some += n.last.Sub(latest(n.from, until))
			until = n.last
		}
	}
	const meeting = 1.1
	if at := float64(all) / float64(some); at > meeting {
		return at
	}
	return 1
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// usualLoad is how many boxes of ten frames a line of sixty frames takes.
const usualLoad = 6

func rounded(v float64, places int) float64 {
	by := math.Pow(10, float64(places))
	return math.Round(v*by) / by
}

// honey asks what a super gives.
func (a *Asked) honey(r *record) {
	h := &a.House
	h.KgSD = driftSD
	from := message.F("%s of this season", message.Plural{N: float64(len(h.KgPerSuper)), One: "%s run", Other: "%s runs"})
	if len(h.KgPerSuper) == 0 {
		usual := 0.0
		n := 0
		r.book.InForceOf(ledger.KindSuperKind, func(_ ledger.ID, e *ledger.Entry) bool {
			usual, n = usual+float64(e.Body.(*ledger.SuperKind).UsualNetG)/1000, n+1
			return true
		})
		h.KgPerSuper, from = []float64{honeyShare * usual / float64(max(1, n))}, message.F("what supers usually hold by their kinds, less what stays in combs; no run of this season gave honey yet")
	}
	a.rests(message.F("honey from a super"), rounded(stat.Mean(h.KgPerSuper, nil), 1), "kg", from)
}

// Where few days were worked, or all at odd times, the usual shift stands in (common practice): Monday to Saturday.
var usualShift = Shift{8, 17, [7]bool{false, true, true, true, true, true, true}}

const fewestDays = 6

// shift asks when people work: from when to when on all but the odd days, and on which days of the week.
func (a *Asked) shift(r *record) {
	type day struct{ from, to float64 }
	days := map[string]day{}
	var weekdays [7]float64
	for _, n := range r.runs {
		from, to := n.from.In(r.book.Location()), n.last.In(r.book.Location())
		if to.Sub(from) > longestRun || daysBetween(from, to, r.book.Location()) > 0 {
			continue
		}
		on := from.Format(time.DateOnly)
		d, had := days[on]
		if !had {
			d = day{24, 0}
			weekdays[from.Weekday()]++
		}
		days[on] = day{min(d.from, hourOf(from)), max(d.to, hourOf(to))}
	}
	h, from := &a.House, message.F("common practice: fewer than %s days of extracting are in the book", fewestDays)
	if h.Shift = usualShift; len(days) >= fewestDays {
		var starts, ends []float64
		for _, d := range days {
			starts, ends = append(starts, d.from), append(ends, d.to)
		}
		slices.Sort(starts)
		slices.Sort(ends)
		early, late := stat.Quantile(0.1, stat.Empirical, starts, nil), stat.Quantile(0.9, stat.Empirical, ends, nil)
		h.Shift = Shift{From: math.Floor(2*early) / 2, To: math.Ceil(2*late) / 2}
		for i, n := range weekdays {
			h.Shift.Days[i] = 7*n >= float64(len(days))/3 // a third as often as any day of the week
		}
		from = message.F("the hours of nine in ten of %s of extracting, on the days of the week on which it was done", message.Plural{N: float64(len(days)), One: "%s day", Other: "%s days"})
	}
	a.rests(message.F("hours worked on a day, without an evening shift"), h.Shift.hours(), "h", from)
	a.rests(message.F("hours of an evening shift"), h.EveningHours, "h", told())
}

func hourOf(t time.Time) float64 { return float64(t.Hour()) + float64(t.Minute())/60 }

// byThumb reckons how many days are left by the pace so far.
func (a *Asked) byThumb(r *record) {
	var first time.Time
	for _, n := range r.runs {
		if first.IsZero() || n.from.Before(first) {
			first = n.from
		}
		a.Done += n.supers
	}
	if a.Done > 0 {
		a.SoFarDays = 1 + r.now.Sub(first).Hours()/24
		a.ByThumb = float64(a.Out+a.Waiting) / float64(a.Done) * a.SoFarDays
	}
}
