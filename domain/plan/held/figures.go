package held

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// Figure is a figure that was expected, with what came.
type Figure struct {
	ledger.PlanExpected
	// About is the name of what it is of; empty of the house. Currency is that of money.
	About, Currency string
	// From is when the plan was adopted, from which days are counted.
	From time.Time
	// Came is what came, in the figure's unit; nil as long as nobody knows.
	Came *float64
	// At is when it came, where that is a time.
	CameAt time.Time
	// Reckoned is true where nobody measured it, and the book reckons it from what was logged.
	Reckoned bool
	// Open is true where it may still change.
	Open bool
	// Chance is how likely chance alone explains a difference as large; 0 where that cannot be said.
	Chance float64
}

// ninth is how many standard deviations the ends of a band lie from its middle, between which nine of ten lie.
var ninth = distuv.UnitNormal.Quantile(0.95)

// quiet is how long after the last super the season counts as over for what is still open.
const quiet = 14 * 24 * time.Hour

// Expected are the figures of a plan before anything came of them, adopted at an instant.
func Expected(b *ledger.Book, p *ledger.AdoptedPlan, at time.Time) []Figure {
	out := make([]Figure, len(p.Expects))
	for i, x := range p.Expects {
		out[i] = Figure{PlanExpected: x, About: nameOf(b, x.AboutID), From: at}
		if c := ledger.Named[ledger.Contract](b, x.AboutID); c != nil {
			if set := ledger.Named[ledger.RuleSet](b, c.RuleSet.RuleSetID); set != nil && set.Price != nil {
				out[i].Currency = set.Price.Currency
			}
		}
	}
	return out
}

// Figures are the figures that a plan expected with what came of each up to now.
func Figures(b *ledger.Book, e *ledger.Entry, now time.Time) ([]Figure, error) {
	h := holding{Book: b, since: e.OccurredAt, now: now}
	out := Expected(b, e.Body.(*ledger.AdoptedPlan), e.OccurredAt)
	inTime := make([]*Figure, len(out))
	for i := range out {
		inTime[i] = &out[i]
	}
	slices.SortStableFunc(inTime, func(x, y *Figure) int { return h.from(x).Compare(h.from(y)) })
	for _, f := range inTime {
		if err := h.hold(f); err != nil {
			return nil, err
		}
		f.compare()
	}
	return out, nil
}

// from is from when on a figure may have come.
func (h *holding) from(f *Figure) time.Time {
	if f.At != nil {
		return *f.At
	}
	return h.since
}

// Outside reports whether it came outside the ends between which nine of ten were expected.
func (f *Figure) Outside() bool {
	return f.Came != nil && !f.Open && (f.Low != nil && *f.Came < *f.Low || f.High != nil && *f.Came > *f.High)
}

// compare says how likely chance alone explains the difference.
func (f *Figure) compare() {
	if f.Came == nil || f.Low == nil || f.High == nil || f.Open {
		return
	}
	end := *f.High
	if *f.Came < f.Value {
		end = *f.Low
	}
	if off := math.Abs(end-f.Value) / ninth; off > 0 {
		f.Chance = 2 * distuv.UnitNormal.CDF(-math.Abs(*f.Came-f.Value)/off)
	}
}

// holding is what figures are held against.
type holding struct {
	*ledger.Book
	since, now time.Time
	// counted is of when each super went into a run, and each container was filled, since the plan was adopted.
	counted *counted
	yards   []season.SeasonYards
	// sent is by contract and dispatch how many grams left since then, paid by dispatch what was paid for a gram.
	sent map[ledger.ID]map[ledger.ID]int64
	paid map[ledger.ID]float64
	// state goes with time: figures are held in the order of theirs.
	state *ledger.State
}

func (h *holding) hold(f *Figure) error {
	switch f.Figure {
	case ledger.PlanTemperature:
		h.temperature(f)
	case ledger.PlanHMF, ledger.PlanDiastase:
		h.honey(f)
	case ledger.PlanExtracted, ledger.PlanFilled, ledger.PlanDaysLeft:
		h.house(f)
	case ledger.PlanPerHive:
		return h.perHive(f)
	case ledger.PlanDelivered, ledger.PlanPaid:
		h.contract(f)
	}
	return nil
}

// near is how far from its time a temperature may be logged to count for it.
const near = 90 * time.Minute

func (h *holding) temperature(f *Figure) {
	best := near + 1
	for _, p := range h.Logged(f.AboutID) {
		if off := p.At.Sub(*f.At).Abs(); off < best && !p.At.After(h.now) {
			best, f.Came, f.CameAt = off, new(p.TemperatureC), p.At
		}
	}
	f.Open = f.Came == nil && h.now.Before(f.At.Add(near))
}

// honey looks for what was measured on a tank's honey, or on lots that were filled from it, or on the lot.
func (h *holding) honey(f *Figure) {
	since := h.from(f)
	about := h.Root(f.AboutID)
	on := []ledger.ID{about}
	h.HappenedIn(since, h.now.Add(time.Microsecond), func(_ ledger.ID, e *ledger.Entry) bool {
		if fill, fills := e.Body.(*ledger.Fill); fills && h.Root(fill.TankID) == about && !slices.Contains(on, h.Root(fill.LotID)) {
			on = append(on, h.Root(fill.LotID))
		}
		return true
	})
	for _, id := range on {
		e := h.LastReading(id, h.now, func(r *ledger.Reading) bool { return measured(r, string(f.Figure)) != nil })
		if e != nil && !e.OccurredAt.Before(since) && e.OccurredAt.After(f.CameAt) {
			f.Came, f.CameAt = new(*measured(e.Body.(*ledger.Reading), string(f.Figure))), e.OccurredAt
		}
	}
	if f.Came == nil && !since.After(h.now) {
		h.reckon(f, about, since)
	}
	f.Open = f.Came == nil && since.After(h.now)
}

func measured(r *ledger.Reading, quantity string) *float64 {
	for i := range r.Measured {
		if r.Measured[i].Quantity == quantity {
			return &r.Measured[i].Value
		}
	}
	return nil
}

// reckon takes what the book expects of the honey by what was logged.
func (h *holding) reckon(f *Figure, about ledger.ID, at time.Time) {
	if h.state == nil {
		h.state = h.StateAt(at)
	}
	h.state.Until(at)
	known, ok := h.state.BeliefAt(about, at)
	if !ok {
		if known, ok = h.State().BeliefOfLot(about, at); !ok {
			return
		}
	}
	v := known.HMF().Mean
	if f.Figure == ledger.PlanDiastase {
		v = known.Diastase().Mean
	}
	f.Came, f.CameAt, f.Reckoned = new(v), at, true
}

// counted are supers that went into runs and containers that were filled, in order of time.
type counted struct {
	supers, containers []many
	lastPull           time.Time
}

type many struct {
	at time.Time
	n  int
}

func (h *holding) count() *counted {
	if h.counted != nil {
		return h.counted
	}
	h.counted = &counted{}
	h.HappenedIn(h.since, h.now.Add(time.Microsecond), func(_ ledger.ID, e *ledger.Entry) bool {
		switch x := e.Body.(type) {
		case *ledger.RunSupers:
			h.counted.supers = append(h.counted.supers, many{e.OccurredAt, x.Supers})
		case *ledger.Fill:
			h.counted.containers = append(h.counted.containers, many{e.OccurredAt, 1})
		case *ledger.Pull:
			h.counted.lastPull = e.OccurredAt
		}
		return true
	})
	return h.counted
}

func until(of []many, at time.Time) (n int) {
	for _, m := range of {
		if !m.at.After(at) {
			n += m.n
		}
	}
	return n
}

// house counts what the house did since the plan was adopted.
func (h *holding) house(f *Figure) {
	c := h.count()
	if f.Figure == ledger.PlanDaysLeft {
		if len(c.supers) > 0 {
			last := c.supers[len(c.supers)-1].at
			f.Came, f.CameAt = new(last.Sub(h.since).Hours()/24), last
		}
		last := f.CameAt
		if c.lastPull.After(last) {
			last = c.lastPull
		}
		f.Open = last.IsZero() || h.now.Sub(last) < quiet
		return
	}
	of := c.supers
	if f.Figure == ledger.PlanFilled {
		of = c.containers
	}
	f.Came, f.Open = new(float64(until(of, *f.At))), f.At.After(h.now)
}

// perHive is what a yard gave in the first season that begins after the plan was adopted.
func (h *holding) perHive(f *Figure) error {
	if h.yards == nil {
		all, err := season.EachYard(h.Book)
		if err != nil {
			return err
		}
		h.yards = all
	}
	day := func(at time.Time) ledger.Date { return ledger.Date(at.In(h.Location()).Format(time.DateOnly)) }
	f.Open = true
	for _, s := range h.yards {
		if s.Season.First <= day(h.since) {
			continue
		}
		f.Open = day(h.now) <= s.Season.Last
		for _, y := range s.Yards {
			if y.YardID == h.Root(f.AboutID) {
				f.Came = y.KgPerHive
			}
		}
		break
	}
	return nil
}

func (h *holding) contract(f *Figure) {
	c := ledger.Named[ledger.Contract](h.Book, f.AboutID)
	if c == nil {
		return
	}
	f.Open = !c.Closed && (c.LastDay == "" || c.LastDay >= ledger.Date(h.now.In(h.Location()).Format(time.DateOnly)))
	h.sell()
	sent := h.sent[h.Root(f.AboutID)]
	if f.Figure == ledger.PlanDelivered {
		var grams int64
		for _, g := range sent {
			grams += g
		}
		f.Came = new(float64(grams) / 1000)
		return
	}
	// What was paid for a dispatch counts by the part of its honey that went by this contract.
	sum, paid := 0.0, false
	for dispatch, grams := range sent {
		if minor, settled := h.paid[dispatch]; settled {
			sum, paid = sum+minor*float64(grams), true
		}
	}
	if paid {
		f.Came = new(math.Round(sum))
	}
}

// sell takes what was sent by each contract since the plan was adopted, by dispatch, and what was paid for it.
func (h *holding) sell() {
	if h.sent != nil {
		return
	}
	h.sent, h.paid = map[ledger.ID]map[ledger.ID]int64{}, map[ledger.ID]float64{}
	for _, o := range h.FilledContracts(h.now) {
		by := map[ledger.ID]int64{}
		for dispatch, grams := range o.By {
			if e := h.InForce(dispatch); e != nil && !e.OccurredAt.Before(h.since) {
				by[dispatch] = grams
			}
		}
		h.sent[o.Root] = by
	}
	h.HappenedIn(h.since, h.now.Add(time.Microsecond), func(_ ledger.ID, e *ledger.Entry) bool {
		if x, settles := e.Body.(*ledger.Settlement); settles {
			if d := ledger.Named[ledger.Dispatch](h.Book, x.DispatchID); d != nil {
				if grams := h.DispatchedG(d); grams > 0 {
					h.paid[h.Root(x.DispatchID)] = float64(x.PaidMinor) / float64(grams)
				}
			}
		}
		return true
	})
}
