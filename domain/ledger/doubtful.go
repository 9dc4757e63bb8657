package ledger

// doubtful gathers the flags of readings by instruments that could not be
// relied on: one for each check that found an instrument wrong, with all
// readings since the last good one, and one for each stretch of readings
// without a check in time, about its first reading. What was accepted of one
// reading stands by itself.
func (v *survey) doubtful() {
	readings := map[ID][]Flag{}
	var instruments []ID
	rest := v.found[:0]
	for _, f := range v.found {
		if f.Code != InstrumentDoubtful {
			rest = append(rest, f)
			continue
		}
		with := v.book.rootID(v.book.byID[f.Entry].last.Body.(*Reading).InstrumentID)
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

// gather makes one finding of the readings of an instrument up to each of its
// checks.
func (v *survey) gather(readings []Flag, checks []*fact) {
	var open *Flag
	var until *fact
	for _, f := range readings {
		reading := v.book.byID[f.Entry].last
		for len(checks) > 0 && checks[0].at < reading.at {
			checks = checks[1:]
		}
		var next *fact
		if len(checks) > 0 {
			next = checks[0]
		}
		if open == nil || next != until {
			v.addIf(open)
			open, until = v.doubt(reading, next), next
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

func (v *survey) addIf(f *Flag) {
	if f != nil {
		v.add(*f)
	}
}

// doubt begins the finding of the readings from one on up to a check.
func (v *survey) doubt(first, next *fact) *Flag {
	if next != nil {
		if c := next.Body.(*Calibration); !c.Good() {
			return &Flag{Code: InstrumentDoubtful, Entry: next.root.ID, Expected: c.Expected, Found: c.AsFound, Unit: v.scale(c.InstrumentID)}
		}
	}
	return &Flag{Code: InstrumentDoubtful, Entry: first.root.ID, On: first.Body.(*Reading).On}
}

func (v *survey) scale(instrument ID) string {
	if i := body[Instrument](v.book, instrument); i != nil && i.Scale == ScaleMoisture {
		return "%"
	}
	return "on its scale"
}
