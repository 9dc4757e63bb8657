package ledger

import (
	"math"
	"slices"
	"sort"
	"time"

	"pullbook/domain/honey"
)

// Trust says whether an instrument can be relied on at a time.
type Trust string

const (
	// Trusted: checked in time, or nobody said how often it must be.
	Trusted Trust = "trusted"
	// Overdue: its last good check is longer ago than it holds.
	Overdue Trust = "overdue"
	// FoundWrong: the next check found it out of tolerance, so that everything
	// since the last good one is in doubt; or the last one left it so.
	FoundWrong Trust = "found wrong"
)

// Trust says how far an instrument can be relied on at an instant, by its checks
// before and after it. A check at that very instant came before it: an instrument is
// checked and then read (common practice, and the order of the book). off is by how much
// it was found, or left, to read high.
func (b *Book) Trust(instrument ID, at time.Time) (t Trust, off float64) {
	checks := b.checks[b.rootID(instrument)]
	i, _ := slices.BinarySearchFunc(checks, at.UnixMicro(), func(f *fact, t int64) int {
		if f.at <= t {
			return -1
		}
		return 1
	})
	if i < len(checks) {
		if next := checks[i].Body.(*Calibration); !next.Good() {
			return FoundWrong, next.AsFound - next.Expected
		}
	}
	if i > 0 {
		if last := checks[i-1].Body.(*Calibration); last.LeftWrong() {
			return FoundWrong, last.AsLeft - last.Expected
		}
	}
	x := body[Instrument](b, instrument)
	if x == nil || x.CheckEveryDays == 0 {
		return Trusted, 0
	}
	holds := time.Duration(x.CheckEveryDays) * 24 * time.Hour
	if i == 0 || at.UnixMicro()-checks[i-1].at > holds.Microseconds() {
		return Overdue, 0
	}
	return Trusted, 0
}

// LastCheck is the last check of an instrument that stands, and when it was; nil where it was
// never checked.
func (b *Book) LastCheck(instrument ID) (*Calibration, time.Time) {
	checks := b.checks[b.rootID(instrument)]
	if len(checks) == 0 {
		return nil, time.Time{}
	}
	last := checks[len(checks)-1]
	return last.Body.(*Calibration), last.OccurredAt
}

// InDoubt lists the readings that a check puts in doubt, earliest first: where it
// found the instrument wrong, those since the check before; where it left it wrong,
// those up to the next, unless that finds it wrong again and has them itself. As Trust
// has it, a check comes before what is read at its instant.
func (b *Book) InDoubt(check ID) []*Entry {
	f := b.fact(check)
	if f == nil {
		return nil
	}
	c, ok := f.root.subject.(*Calibration)
	if !ok {
		return nil
	}
	at := f.root.last.at
	from, to := b.between(f.root.last)
	if c.Good() {
		from = at
	}
	if !c.LeftWrong() {
		to = at
	}
	readings := b.readBy[b.rootID(c.InstrumentID)]
	since := func(at int64) int {
		return sort.Search(len(readings), func(i int) bool { return readings[i].at >= at })
	}
	var out []*Entry
	for i := since(from); i < since(to); i++ {
		out = append(out, readings[i].Entry)
	}
	return out
}

// between is from the check of an instrument before one to the next that does not
// find it wrong; no further than the check itself where that does.
func (b *Book) between(check *fact) (from, to int64) {
	checks := b.checks[b.rootID(check.Body.(*Calibration).InstrumentID)]
	i, _ := slices.BinarySearchFunc(checks, check, order)
	from, to = 0, math.MaxInt64
	if i > 0 {
		from = checks[i-1].at
	}
	if i+1 < len(checks) {
		if to = checks[i+1].at; !checks[i+1].Body.(*Calibration).Good() {
			to = check.at
		}
	}
	return from, to
}

// firstTrusting is the first place in the line whose outcome a check can
// change: the readings of its instrument before it back to the check before,
// and after it to the next.
func (b *Book) firstTrusting(check *fact, instrument ID) int {
	first := len(b.line)
	with := b.rootID(instrument)
	from, to := int64(math.MinInt64), int64(math.MaxInt64)
	for _, c := range b.checks[with] {
		switch {
		case order(c, check) < 0:
			from = c.at
		case order(c, check) > 0:
			to = min(to, c.at)
		}
	}
	readings := b.readBy[with]
	i := sort.Search(len(readings), func(i int) bool { return readings[i].at >= from })
	for ; i < len(readings) && readings[i].at <= to; i++ {
		first = min(first, b.position(readings[i]), b.firstRead(readings[i].Body.(*Reading).On.ID))
	}
	return first
}

// PointsOff is by how many points of moisture a reading is too high when its
// instrument reads high by off in its own scale; 0 where either lies off the
// scale's table, where no honey is.
func (m *MoistureReading) PointsOff(off float64) float64 {
	if off == 0 {
		return 0
	}
	sampleC := 20.0
	if m.SampleC != nil {
		sampleC = *m.SampleC
	}
	with := honey.Refractometer{Compensated: m.Compensated}
	var was, is honey.Moisture
	var errWas, errIs error
	switch m.Scale {
	case ScaleRefractiveIndex:
		was, errWas = honey.FromRefractiveIndex(m.AsRead, sampleC, with)
		is, errIs = honey.FromRefractiveIndex(m.AsRead-off, sampleC, with)
	case ScaleBrix:
		was, errWas = honey.FromBrix(m.AsRead, sampleC, with)
		is, errIs = honey.FromBrix(m.AsRead-off, sampleC, with)
	default:
		return off
	}
	if errWas != nil || errIs != nil {
		return 0
	}
	return was.Pct - is.Pct
}

// CheckDue is when an instrument has to be checked next: when its last check stops holding,
// or that check itself where it left the instrument wrong. An instrument that nobody
// checked is due since it was set up. False where nobody said how often.
func (b *Book) CheckDue(instrument ID) (due time.Time, ok bool) {
	x, e := body[Instrument](b, instrument), b.InForce(instrument)
	if x == nil || x.CheckEveryDays == 0 || e == nil {
		return time.Time{}, false
	}
	checks := b.checks[b.rootID(instrument)]
	if len(checks) == 0 {
		return e.OccurredAt, true
	}
	last := checks[len(checks)-1]
	if last.Body.(*Calibration).LeftWrong() {
		return last.OccurredAt, true
	}
	return last.OccurredAt.Add(time.Duration(x.CheckEveryDays) * 24 * time.Hour), true
}
