package balance

import (
	"fmt"
	"strings"
	"time"

	"pullbook/domain/ledger"
)

func (r *InstrumentReport) sentence() string {
	name := r.Instrument.Name
	switch {
	case len(r.Checks) == 0:
		return fmt.Sprintf("The %s was never checked.", name)
	case len(r.Doubts) == 0 && r.Trust == ledger.Overdue:
		return fmt.Sprintf("The %s was found good in all of its checks (%d); the next one is overdue.", name, len(r.Checks))
	case len(r.Doubts) == 0:
		return fmt.Sprintf("The %s was found good in all of its checks (%d).", name, len(r.Checks))
	}
	var said []string
	for _, d := range r.Doubts {
		said = append(said, d.Sentence)
	}
	return strings.Join(said, " ")
}

func (d *Doubt) sentence(loc *time.Location) string {
	on := d.Check.At.In(loc).Format("2 January")
	found := "Found " + offBy(d.Off)
	if d.Check.Good {
		found = "Left " + offBy(d.OffAfter)
	}
	out := fmt.Sprintf("%s on %s: in doubt are %s", found, on, count(len(d.Readings), "reading", "readings"))
	switch {
	case d.Check.Good:
		out += " since,"
	case d.Since.IsZero():
		out += ", all that were ever taken with it,"
	default:
		out += fmt.Sprintf(" since the check of %s,", d.Since.In(loc).Format("2 January"))
	}
	out += fmt.Sprintf(" %s and %s.", count(len(d.Lots), "lot", "lots"), count(len(d.Dispatches), "dispatch", "dispatches"))
	if d.WorstPct != nil {
		out += fmt.Sprintf(" At the worst the honey is at %.1f %%.", *d.WorstPct)
	}
	if d.Check.LeftWrong && !d.Check.Good {
		out += fmt.Sprintf(" It was left out of tolerance, %s: what was read after it is off too.", offBy(d.OffAfter))
	}
	return out
}

func offBy(off float64) string {
	if off < 0 {
		return fmt.Sprintf("%.4g too low", -off)
	}
	return fmt.Sprintf("%.4g too high", off)
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func (l *DoubtfulLot) sentence() string {
	out := fmt.Sprintf("Lot %s: %.1f %% as read, %.1f %% as corrected.", l.Code, l.MoisturePct, l.CorrectedPct)
	for _, limit := range l.Fails {
		out += fmt.Sprintf(" It may be above %.1f %%, which it passed.", limit)
	}
	for _, limit := range l.Passes {
		out += fmt.Sprintf(" It may be within %.1f %%, which it failed.", limit)
	}
	if l.OtherWettestPct != nil {
		out += fmt.Sprintf(" Other instruments read it %s, %.1f %% at the wettest.", times(l.OtherReadings), *l.OtherWettestPct)
	}
	return out
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
