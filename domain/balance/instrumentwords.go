package balance

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

func (r *InstrumentReport) sentence() message.Text {
	name, n := r.Instrument.Name, len(r.Checks)
	switch {
	case n == 0:
		return message.F("The %s was never checked.", name)
	case len(r.Doubts) == 0 && r.Trust == ledger.Overdue:
		return message.F("The %s was found good in all of its checks (%s); the next one is overdue.", name, n)
	case len(r.Doubts) == 0:
		return message.F("The %s was found good in all of its checks (%s).", name, n)
	}
	var said []message.Text
	for _, d := range r.Doubts {
		said = append(said, d.Sentence)
	}
	return message.Join(said...)
}

func (d *Doubt) sentence(loc *time.Location) message.Text {
	on := message.Day(d.Check.At.In(loc))
	found := message.F("It showed %s when it was checked on %s.", offBy(d.Off), on)
	if d.Check.Good {
		found = message.F("It was left showing %s on %s.", offBy(d.OffAfter), on)
	}
	readings := message.Plural{N: float64(len(d.Readings)), One: "%s reading", Other: "%s readings"}
	lots := message.Plural{N: float64(len(d.Lots)), One: "%s lot", Other: "%s lots"}
	loads := message.Plural{N: float64(len(d.Dispatches)), One: "%s dispatch", Other: "%s dispatches"}
	var out message.Text
	switch {
	case d.Check.Good:
		out = message.F("%s What it read since may be off: %s, in %s and %s.", found, readings, lots, loads)
	case d.Since.IsZero():
		out = message.F("%s All that it ever read may be off: %s, in %s and %s.", found, readings, lots, loads)
	default:
		out = message.F("%s What it read since its check on %s may be off: %s, in %s and %s.", found, message.Day(d.Since.In(loc)), readings, lots, loads)
	}
	if d.WorstPct != nil {
		out = message.F("%s The wettest of that honey may have %s %%.", out, pct(*d.WorstPct))
	}
	if d.Check.LeftWrong && !d.Check.Good {
		out = message.F("%s It was not put right, and was left %s: what it read afterwards is off too.", out, offBy(d.OffAfter))
	}
	return out
}

func offBy(off float64) message.Text {
	if off < 0 {
		return message.F("%s too low", message.Significant(-off, 4))
	}
	return message.F("%s too high", message.Significant(off, 4))
}

func (l *DoubtfulLot) sentence() message.Text {
	out := message.F("Lot %s: %s %% as read, %s %% with the instrument's error taken off.", l.Code, pct(l.MoisturePct), pct(l.CorrectedPct))
	for _, limit := range l.Fails {
		out = message.F("%s So it may be above the limit of %s %% that it passed: read it again.", out, pct(limit))
	}
	for _, limit := range l.Passes {
		out = message.F("%s So it may be within the limit of %s %% that it failed: read it again.", out, pct(limit))
	}
	if l.OtherWettestPct != nil {
		wettest := pct(*l.OtherWettestPct)
		if l.OtherReadings == 1 {
			return message.F("%s Another instrument read it once: %s %%.", out, wettest)
		}
		out = message.F("%s Other instruments read it %s times: %s %% at most.", out, l.OtherReadings, wettest)
	}
	return out
}
