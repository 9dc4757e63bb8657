package balance

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

func (r *InstrumentReport) sentence() say.Text {
	name, n := r.Instrument.Name, len(r.Checks)
	switch {
	case n == 0:
		return say.F("The %s was never checked.", name)
	case len(r.Doubts) == 0 && r.Trust == ledger.Overdue:
		return say.F("The %s was found good in all of its checks (%s); the next one is overdue.", name, n)
	case len(r.Doubts) == 0:
		return say.F("The %s was found good in all of its checks (%s).", name, n)
	}
	var said []say.Text
	for _, d := range r.Doubts {
		said = append(said, d.Sentence)
	}
	return say.Join(said...)
}

func (d *Doubt) sentence(loc *time.Location) say.Text {
	on := say.Day(d.Check.At.In(loc))
	found := say.F("Found %s on %s:", offBy(d.Off), on)
	if d.Check.Good {
		found = say.F("Left %s on %s:", offBy(d.OffAfter), on)
	}
	readings := say.Plural{N: float64(len(d.Readings)), One: "%s reading", Other: "%s readings"}
	lots := say.Plural{N: float64(len(d.Lots)), One: "%s lot", Other: "%s lots"}
	loads := say.Plural{N: float64(len(d.Dispatches)), One: "%s dispatch", Other: "%s dispatches"}
	var out say.Text
	switch {
	case d.Check.Good:
		out = say.F("%s in doubt are %s since, %s and %s.", found, readings, lots, loads)
	case d.Since.IsZero():
		out = say.F("%s in doubt are %s, all that were ever taken with it, %s and %s.", found, readings, lots, loads)
	default:
		out = say.F("%s in doubt are %s since the check of %s, %s and %s.", found, readings, say.Day(d.Since.In(loc)), lots, loads)
	}
	if d.WorstPct != nil {
		out = say.F("%s At the worst the honey is at %s %%.", out, pct(*d.WorstPct))
	}
	if d.Check.LeftWrong && !d.Check.Good {
		out = say.F("%s It was left out of tolerance, %s: what was read after it is off too.", out, offBy(d.OffAfter))
	}
	return out
}

func offBy(off float64) say.Text {
	if off < 0 {
		return say.F("%s too low", say.Significant(-off, 4))
	}
	return say.F("%s too high", say.Significant(off, 4))
}

func (l *DoubtfulLot) sentence() say.Text {
	out := say.F("Lot %s: %s %% as read, %s %% as corrected.", l.Code, pct(l.MoisturePct), pct(l.CorrectedPct))
	for _, limit := range l.Fails {
		out = say.F("%s It may be above %s %%, which it passed.", out, pct(limit))
	}
	for _, limit := range l.Passes {
		out = say.F("%s It may be within %s %%, which it failed.", out, pct(limit))
	}
	if l.OtherWettestPct != nil {
		wettest := pct(*l.OtherWettestPct)
		if l.OtherReadings == 1 {
			return say.F("%s Another instrument read it once, at %s %%.", out, wettest)
		}
		out = say.F("%s Other instruments read it %s times, %s %% at the wettest.", out, l.OtherReadings, wettest)
	}
	return out
}
