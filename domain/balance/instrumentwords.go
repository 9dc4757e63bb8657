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
	found := say.F("It showed %s when it was checked on %s.", offBy(d.Off), on)
	if d.Check.Good {
		found = say.F("It was left showing %s on %s.", offBy(d.OffAfter), on)
	}
	readings := say.Plural{N: float64(len(d.Readings)), One: "%s reading", Other: "%s readings"}
	lots := say.Plural{N: float64(len(d.Lots)), One: "%s lot", Other: "%s lots"}
	loads := say.Plural{N: float64(len(d.Dispatches)), One: "%s dispatch", Other: "%s dispatches"}
	var out say.Text
	switch {
	case d.Check.Good:
		out = say.F("%s What it read since may be off: %s, in %s and %s.", found, readings, lots, loads)
	case d.Since.IsZero():
		out = say.F("%s All that it ever read may be off: %s, in %s and %s.", found, readings, lots, loads)
	default:
		out = say.F("%s What it read since its check on %s may be off: %s, in %s and %s.", found, say.Day(d.Since.In(loc)), readings, lots, loads)
	}
	if d.WorstPct != nil {
		out = say.F("%s The wettest honey among it may have %s %%.", out, pct(*d.WorstPct))
	}
	if d.Check.LeftWrong && !d.Check.Good {
		out = say.F("%s It was not put right, and was left %s: what it read afterwards is off too.", out, offBy(d.OffAfter))
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
	out := say.F("Lot %s: %s %% as read, %s %% with the instrument's error taken off.", l.Code, pct(l.MoisturePct), pct(l.CorrectedPct))
	for _, limit := range l.Fails {
		out = say.F("%s So it may be above the limit of %s %% that it passed: read it again.", out, pct(limit))
	}
	for _, limit := range l.Passes {
		out = say.F("%s So it may be within the limit of %s %% that it failed: read it again.", out, pct(limit))
	}
	if l.OtherWettestPct != nil {
		wettest := pct(*l.OtherWettestPct)
		if l.OtherReadings == 1 {
			return say.F("%s Another instrument read it once: %s %%.", out, wettest)
		}
		out = say.F("%s Other instruments read it %s times: %s %% at most.", out, l.OtherReadings, wettest)
	}
	return out
}
