package season

import (
	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

// Explanations says in words what may lie behind something odd: a sentence for
// each of Likely.
func Explanations(b *ledger.Book, f ledger.Flag) []say.Text {
	out := make([]say.Text, len(f.Likely))
	for i, e := range f.Likely {
		out[i] = say.F("%s", say.Capital(explanation(b, f, e)))
	}
	return out
}

func explanation(b *ledger.Book, f ledger.Flag, e ledger.Explanation) say.Text {
	switch e.Why {
	case ledger.OtherTank:
		return say.F("it fits %s, where %s is expected: is this that tank, or was a hose on the wrong one?", placeName(b, e.Place), tenth(e.Value))
	case ledger.DigitSlip:
		return slipped(f.Code, e.Value)
	case ledger.Layers:
		return say.F("or the sample was not like the rest: stir and read again.")
	case ledger.HoseElsewhere, ledger.HoseHere:
		return hose(b, f, e)
	case ledger.DrawnElsewhere:
		return say.F("%s had %s: was it drawn from that?", placeName(b, e.Place), say.Kg(e.Value))
	case ledger.Pounds:
		return say.F("%s kg would fit: is %s in the wrong unit, pounds or kilograms?", amount(e.Value), entryOrIt(b, e.Entry))
	case ledger.Twice:
		return say.F("is %s the same, entered twice?", entryOrIt(b, e.Entry))
	case ledger.TooManyBooked:
		return say.F("did the %s of %s really go in?", supers(e.Value), entryOrIt(b, e.Entry))
	case ledger.TareInNet:
		return say.F("%s would fit: was its tare counted as honey?", say.Kg(e.Value))
	case ledger.NotFull:
		return say.F("or was it filled %s short?", say.Kg(e.Value))
	case ledger.NotBooked:
		return notBooked(b, f, e)
	}
	return say.F("%s.", words(string(e.Why)))
}

// hose names the movement that may have gone into another tank than it says.
func hose(b *ledger.Book, f ledger.Flag, e ledger.Explanation) say.Text {
	tank := placeName(b, f.On)
	if e.Why == ledger.HoseElsewhere {
		tank = say.F("another tank")
		if e.Place.Kind != "" {
			tank = placeName(b, e.Place)
		}
	}
	if f.Unit == "%" {
		return say.F("%s would be expected if %s went into %s: was the hose on that?", tenth(e.Value), entryName(b, e.Entry), tank)
	}
	return say.F("%s would account for it: did it go into %s?", entryName(b, e.Entry), tank)
}

// notBooked says what may not have been written down.
func notBooked(b *ledger.Book, f ledger.Flag, e ledger.Explanation) say.Text {
	switch {
	case e.Place.Kind == ledger.PlacePull:
		return say.F("%s of %s went into no run: were they these?", supers(e.Value), placeName(b, e.Place))
	case f.Code == ledger.Overdrawn:
		return say.F("is honey that came into it not written down, %s or more?", say.Kg(e.Value))
	case f.Code == ledger.Overfilled, f.Code == ledger.WashedFull:
		return say.F("is honey that was drawn from it not written down, %s or more?", say.Kg(e.Value))
	case f.Code == ledger.NeverExtracted:
		return say.F("%s gave %s and has no supers: were they these?", placeName(b, e.Place), say.Kg(e.Value))
	case f.Code == ledger.WarmWithoutLog:
		return say.F("the book takes it for %s, as it usually is: if it was warmer, it has more HMF than expected.", say.Celsius(e.Value))
	case e.Place.Kind == ledger.PlaceRun:
		return say.F("or are %s of its honey not written down?", say.Kg(e.Value))
	}
	return say.F("or was something poured or drawn and not written down, %s?", say.Kg(e.Value))
}

// slipped is the figure in which digits may have been swapped.
func slipped(c ledger.Code, meant float64) say.Text {
	switch c {
	case ledger.StocktakeFarOff:
		return say.F("a depth in cm of %s would fit: were two digits swapped?", tenth(meant))
	case ledger.NetUnusual:
		return say.F("a gross in kg of %s would fit: were two digits swapped?", tenth(meant))
	}
	return say.F("%s would fit: were two digits swapped?", tenth(meant))
}

func entryOrIt(b *ledger.Book, id ledger.ID) say.Text {
	if id == (ledger.ID{}) {
		return say.F("it")
	}
	return entryName(b, id)
}

// withChance adds how unlikely it is, where that was reckoned.
func withChance(f ledger.Flag, text say.Text) say.Text {
	switch {
	case f.Unlikely <= 0:
		return text
	case f.Unlikely < 1e-6:
		return say.Join(text, say.F("By chance less than once in a million."))
	}
	return say.Join(text, say.F("By chance once in %s.", say.Number{V: 1 / f.Unlikely}))
}
