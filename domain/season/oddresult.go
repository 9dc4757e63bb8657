package season

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// oddResult is of a figure of a reading beside its moisture.
func oddResult(b *ledger.Book, where message.Capital, f ledger.Flag) message.Text {
	m := ledger.Measured{Quantity: f.Quantity}
	name, found, expected := m.SaidName(), m.SaidFigure(f.Found), m.SaidFigure(f.Expected)
	switch {
	case f.Code == ledger.AnalysedBeforeFilled:
		return message.F("%s was filled on %s, but the sample of this result was analysed before, on %s. Was it a sample of the tank? Then record the result there. Else: is the day right, and is it this honey?", where, day(b, f.Entries[0]), analysedOn(b, f.Entry))
	case f.Code == ledger.ResultUnlikeEarlier && len(f.Entries) == 0:
		return message.F("%s: %s %s was measured, where earlier results and the warmth since lead to expect about %s. The estimate stays until the next result says which is right. Is the sample of this honey, and is the figure right?", where, name, found, expected)
	case f.Code == ledger.ResultUnlikeEarlier && f.Found < f.Expected:
		return message.F("%s: %s was %s on %s, and %s was measured after that. HMF never falls in honey. Are both samples of this honey, and are both figures and days right?",
			where, name, expected, day(b, f.Entries[0]), found)
	case f.Code == ledger.ResultUnlikeEarlier:
		return message.F("%s: %s was %s on %s, and %s was measured after that. Diastase never rises in honey. Are both samples of this honey, and are both figures and days right?",
			where, name, expected, day(b, f.Entries[0]), found)
	case f.Code == ledger.ResultsDisagree && f.Expected == 100:
		return message.F("%s: sugars, water and the rest of one reading come to %s g in 100 g of honey. Compare each with the certificate.", where, tenth(f.Found))
	case f.Code == ledger.ResultsDisagree:
		return message.F("%s: %s %s was recorded, where the other figures of the reading go with %s. Compare each with the certificate.", where, name, found, expected)
	case f.Found < f.Expected:
		return message.F("%s: %s %s was recorded, and honey seldom has less than %s. Is the figure right, and is it in this unit?", where, name, found, expected)
	}
	return message.F("%s: %s %s was recorded, and honey seldom has more than %s. Is the figure right, and is it in this unit?", where, name, found, expected)
}

// unusualTemperature is of a log that no place with honey has.
func unusualTemperature(b *ledger.Book, f ledger.Flag) message.Text {
	what := message.Capital(onDay(b, f.Entry, message.F("the temperature log of %s", message.Verbatim(b.Name(f.On.ID)))))
	if f.Found > f.Expected {
		return message.F("%s has %s in it, which is hotter than honey is kept or warmed. Were degrees Fahrenheit written down as Celsius? HMF is estimated from this log.", what, message.Celsius(f.Found))
	}
	return message.F("%s has %s in it, which is colder than honey is kept. Are these degrees Celsius, and was the logger in its place?", what, message.Celsius(f.Found))
}

// analysedOn is the day on which the laboratory analysed a reading's sample.
func analysedOn(b *ledger.Book, reading ledger.ID) message.Day {
	if e := b.InForce(reading); e != nil {
		if r, is := e.Body.(*ledger.Reading); is {
			if on, err := time.ParseInLocation(time.DateOnly, string(r.AnalysedOn), b.Location()); err == nil {
				return message.Day(on)
			}
		}
	}
	return day(b, reading)
}

// instrumentOf is what a reading was taken with.
func instrumentOf(b *ledger.Book, reading ledger.ID) ledger.ID {
	if e := b.InForce(reading); e != nil {
		if r, is := e.Body.(*ledger.Reading); is {
			return r.InstrumentID
		}
	}
	return ledger.ID{}
}
