package ledger

import (
	"cmp"
	"sort"
)

// doubtful gathers the flags of readings by instruments that could not be
// relied on: one for each check that found an instrument wrong, with all
// readings since the last good one, and one for each stretch of readings
// without a check in time, about its first reading. What was accepted of one
// reading stands by itself.
func (v *survey) doubtful() {
	readings := map[ID][]*Flag{}
	var instruments []ID
	rest := v.found[:0]
	for _, f := range v.found {
		if f.Code != InstrumentDoubtful {
			rest = append(rest, f)
			continue
		}
		with := v.book.rootID(v.book.fact(f.Entry).last.Body.(*Reading).InstrumentID)
		if readings[with] == nil {
			instruments = append(instruments, with)
		}
		readings[with] = append(readings[with], f)
	}
	v.found = rest
	for _, with := range instruments {
		v.gather(readings[with], v.book.checks[with])
	}
}

// gather makes one finding of the readings of an instrument that hang on each of
// its checks.
func (v *survey) gather(readings []*Flag, checks []*fact) {
	var open *Flag
	var by *fact
	for k, f := range readings {
		reading := v.book.fact(f.Entry).last
		bad, next := blamed(reading, checks)
		on := cmp.Or(bad, next)
		if k == 0 || on != by {
			v.addIf(open)
			open, by = v.doubt(reading, bad), on
		}
		switch {
		case open.Entry == f.Entry:
		case f.Accepted != nil:
			v.found = append(v.found, f)
		default:
			open.Entries = append(open.Entries, f.Entry)
		}
	}
	v.addIf(open)
}

// blamed is the check that puts a reading in doubt: the next one, which found the
// instrument wrong, or the last one, which left it so; nil where neither did. next is
// the next one in any case. A check in the minute of a reading came before it, as for Trust.
func blamed(reading *fact, checks []*fact) (bad, next *fact) {
	i := sort.Search(len(checks), func(i int) bool { return checks[i].at > reading.at })
	if i < len(checks) {
		if next = checks[i]; !next.Body.(*Calibration).Good() {
			return next, next
		}
	}
	if i > 0 && checks[i-1].Body.(*Calibration).LeftWrong() {
		return checks[i-1], next
	}
	return nil, next
}

func (v *survey) addIf(f *Flag) {
	if f != nil {
		v.add(*f)
	}
}

// doubt begins the finding of the readings from one on that a check puts in doubt,
// or of those that no check came in time for.
func (v *survey) doubt(first, bad *fact) *Flag {
	if bad == nil {
		return &Flag{Code: InstrumentDoubtful, Entry: first.root.ID, On: first.Body.(*Reading).On}
	}
	c := bad.Body.(*Calibration)
	found := c.AsFound
	if c.Good() {
		found = c.AsLeft
	}
	return &Flag{Code: InstrumentDoubtful, Entry: bad.root.ID, Expected: c.Expected, Found: found, Unit: v.scale(c.InstrumentID)}
}

func (v *survey) scale(instrument ID) string {
	if i := body[Instrument](v.book, instrument); i != nil && i.Scale == ScaleMoisture {
		return "%"
	}
	return "on its scale"
}
