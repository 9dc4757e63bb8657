package rest

import (
	"math"
	"time"

	"pullbook/domain/ledger"
)

// How unlike seasons are where the book does not say. All are a judgement and no figure of a source.
const (
	usualOutSD  = 0.25 // of the logarithm of how many supers are still to come
	usualLateSD = 5    // days
	usualEndSD  = 0.5  // of the logarithm of the hours from the last honey to the last container
	// partialOutSD is usualOutSD where no earlier season is told whole.
	partialOutSD = 0.5
	// countedSD is how far a number may be off that somebody says.
	countedSD = 0.05
)

// daysBetween is how many midnights lie between two instants in a place.
func daysBetween(from, to time.Time, loc *time.Location) int {
	day := func(t time.Time) time.Time {
		y, m, d := t.In(loc).Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return int(math.Round(day(to).Sub(day(from)).Hours() / 24))
}

// supersBy is how many were pulled up to an instant, of yards whose hives were counted.
func (y *year) supersBy(until time.Time) (supers, hives int) {
	for _, p := range y.pulls {
		if !p.at.After(until) {
			supers += p.supers
		}
	}
	for _, n := range y.hives {
		hives += n
	}
	return supers, hives
}

// yearsOn is by how many years a season is later than another.
func (y *year) yearsOn(before *year) int {
	from, err := before.season.First.On(time.UTC)
	to, errTo := y.season.First.On(time.UTC)
	if err != nil || errTo != nil {
		return 0
	}
	return int(math.Round(to.Sub(from).Hours() / 24 / 365.2425))
}

// as is what is still to come of a season at an instant, if it goes on as one before it did: what each yard
// gave after the same day, for as many hives as it has now. If this season gave more up to now than that one, the
// rest is taken to be more as well, as far as much of the season has been seen; all the same where that one is told
// in part.
func (y *year) as(before *year, now time.Time, loc *time.Location, partial bool) (c Course) {
	years := y.yearsOn(before)
	_, hivesNow := y.supersBy(now)
	_, hivesThen := before.supersBy(now)
	ratio := func(yard ledger.ID) float64 {
		is, was := y.hives[yard], before.hives[yard]
		switch {
		case len(y.hives) == 0 || hivesThen == 0:
			return 1
		case is == 0:
			return 0 // nobody works it this year
		case was == 0:
			return float64(hivesNow) / float64(hivesThen)
		}
		return float64(is) / float64(was)
	}
	by := 0.0
	for _, p := range before.pulls {
		at := p.at.In(loc).AddDate(years, 0, 0)
		supers := float64(p.supers) * ratio(p.yard)
		switch {
		case supers == 0:
		case at.After(now):
			c.add(Due{p.yard, float64(daysBetween(now, at, loc)), supers})
		default:
			by += supers
		}
	}
	if pulled, _ := y.supersBy(now); by > 0 && pulled > 0 {
		seen := by / (by + c.Supers)
		if partial {
			seen = 1
		}
		c = c.times(math.Pow(float64(pulled)/by, seen))
	}
	return c
}

// spread is how far the number of supers still to come may be off, and by how many days the last of them may be
// late: by how the seasons before would have been foretold on the same day, each from the others.
func (r *record) spread() (out, late Spread) {
	const fewestTold = 20 // supers, of which an error says little
	if len(r.before) == 0 {
		return Spread{partialOutSD}, Spread{usualLateSD}
	}
	loc := r.book.Location()
	var off, lastDays []float64
	for i := range r.before {
		then := &r.before[i]
		now := r.now.In(loc).AddDate(-r.this.yearsOn(then), 0, 0)
		var others []Course
		for j := range r.before {
			if i != j {
				others = append(others, then.as(&r.before[j], now, loc, false))
			}
		}
		came := 0.0
		for _, p := range then.pulls {
			if p.at.After(now) {
				came += float64(p.supers)
			}
		}
		if told, _ := middleOf(others); told > fewestTold && came > fewestTold {
			off = append(off, math.Log(came/told))
		}
		if last := then.pulls[len(then.pulls)-1].at; last.After(now) {
			lastDays = append(lastDays, float64(daysBetween(now, last, loc)))
		}
	}
	n := len(r.before)
	return learned(usualOutSD, off, n), learned(usualLateSD, fromOthers(lastDays), n)
}

// courses are the ways in which the supers still out may come in: as in each season before, and where the book
// has none, from yards that were not pulled yet, at the pace so far. said is how many are out where somebody says so.
func (r *record) courses(said *int) []Course {
	var out []Course
	for i := range r.before {
		out = append(out, r.this.as(&r.before[i], r.now, r.book.Location(), false))
	}
	for i := range r.partial {
		if len(r.before) == 0 {
			out = append(out, r.atAllYards(r.this.as(&r.partial[i], r.now, r.book.Location(), true)))
		}
	}
	if len(out) == 0 {
		out = []Course{{Paced: true}}
	}
	perHive := r.perHive()
	for i := range out {
		if r.addUnpulled(&out[i], perHive); said == nil {
			continue
		}
		if out[i].Supers == 0 || *said == 0 {
			out[i] = r.everywhere(*said)
		} else {
			out[i] = out[i].times(float64(*said) / out[i].Supers)
		}
	}
	return evened(out)
}

// ending is how many hours earlier seasons took from the last honey to the last container, as their geometric mean, how
// far it may be off, of its logarithm, and of how many seasons it is known.
func (r *record) ending() (hours float64, off Spread, seasons int) {
	var logs []float64
	sum := 0.0
	for i := range r.before {
		if took := r.before[i].filled.Sub(r.before[i].extracted); took > 0 {
			logs = append(logs, math.Log(took.Hours()))
			sum += math.Log(took.Hours())
		}
	}
	if seasons = len(logs); seasons == 0 {
		return 0, nil, 0
	}
	return math.Exp(sum / float64(seasons)), learned(usualEndSD, fromOthers(logs), seasons), seasons
}

// middleOf is how many supers come by courses that bring any, as their geometric mean, and by which day, in the mean.
func middleOf(courses []Course) (supers, last float64) {
	n, logs := 0.0, 0.0
	for i := range courses {
		if c := &courses[i]; c.Supers > 0 {
			n, logs, last = n+1, logs+math.Log(c.Supers), last+c.lastDay()
		}
	}
	if n == 0 {
		return 0, 0
	}
	return math.Exp(logs / n), last / n
}

// evened has courses that bring supers bring as many by as late a day: how far seasons differ in that is drawn by
// itself, and would be drawn twice if each kept its own. What is left of a course is which yards give when.
func evened(courses []Course) []Course {
	supers, last := middleOf(courses)
	out := make([]Course, len(courses))
	for i, c := range courses {
		out[i].Paced = c.Paced
		longer := 1.0
		if c.lastDay() > 0 {
			longer = last / c.lastDay()
		}
		for _, d := range c.Due {
			out[i].add(Due{d.Yard, longer * d.Day, supers / c.Supers * d.Supers})
		}
	}
	return out
}

// perHive is how many supers a hive of the yards that were pulled has given this season.
func (r *record) perHive() float64 {
	supers, hives, seen := 0, 0, map[ledger.ID]bool{}
	for _, p := range r.this.pulls {
		if n := r.this.hives[p.yard]; n > 0 {
			supers += p.supers
			if !seen[p.yard] {
				seen[p.yard], hives = true, hives+n
			}
		}
	}
	if hives == 0 {
		return 0
	}
	return float64(supers) / float64(hives)
}

// pace is how many supers were pulled a day since the first pull.
func (r *record) pace() float64 {
	pulled, _ := r.this.supersBy(r.now)
	return float64(pulled) / float64(1+daysBetween(r.this.pulls[0].at, r.now, r.book.Location()))
}

// addUnpulled adds yards that have hives and were not pulled this season, where a course has nothing of them.
func (r *record) addUnpulled(c *Course, perHive float64) {
	had := map[ledger.ID]bool{}
	for _, p := range r.this.pulls {
		had[p.yard] = true
	}
	for _, d := range c.Due {
		had[d.Yard] = true
	}
	more := 0.0
	for _, yard := range r.counted() {
		if supers := perHive * float64(r.this.hives[yard]); !had[yard] && supers > 0 {
			c.add(Due{yard, math.Floor(more / r.pace()), supers})
			more += supers
		}
	}
}

// everywhere has so many supers be out at all yards, at the pace so far.
func (r *record) everywhere(supers int) (c Course) {
	if supers == 0 {
		return c
	}
	c.Paced = true
	shares := r.shares()
	for _, d := range shares.times(float64(supers) / shares.Supers).Due {
		d.Day = math.Floor(c.Supers / r.pace())
		c.add(d)
	}
	return c
}

// atAllYards has what is due come from all yards.
func (r *record) atAllYards(c Course) (out Course) {
	shares := r.shares()
	for _, d := range c.Due {
		for _, s := range shares.Due {
			out.add(Due{s.Yard, d.Day, d.Supers * s.Supers / shares.Supers})
		}
	}
	return out
}

// shares are the yards that have hives, each with as many supers; where no hives were counted, the yards that were
// pulled.
func (r *record) shares() (shares Course) {
	for _, yard := range r.counted() {
		if n := r.this.hives[yard]; n > 0 {
			shares.add(Due{Yard: yard, Supers: float64(n)})
		}
	}
	if shares.Supers == 0 {
		for _, p := range r.this.pulls {
			shares.add(Due{Yard: p.yard, Supers: 1})
		}
	}
	return shares
}

// counted are the yards whose hives were counted, in the order in which they were set up.
func (r *record) counted() (out []ledger.ID) {
	r.book.InForceOf(ledger.KindYard, func(root ledger.ID, _ *ledger.Entry) bool {
		if _, is := r.this.hives[root]; is {
			out = append(out, root)
		}
		return true
	})
	return out
}
