package season

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Explanations says in words what may lie behind something odd: a sentence for
// each of Likely.
func Explanations(b *ledger.Book, f ledger.Flag) []message.Text {
	out := make([]message.Text, len(f.Likely))
	for i, e := range f.Likely {
		out[i] = message.F("%s", message.Capital(explanation(b, f, e)))
	}
	return out
}

func explanation(b *ledger.Book, f ledger.Flag, e ledger.Explanation) message.Text {
	switch e.Why {
	case ledger.OtherTank:
		return message.F("it would fit %s, which should have %s %%: was that tank read, or was a hose on the wrong one?", placeName(b, e.Place), tenth(e.Value))
	case ledger.OtherRun:
		return message.F("%s lacks %s frames: do some of the loads belong to it?", placeName(b, e.Place), message.Number{V: e.Value})
	case ledger.DigitSlip:
		return slipped(f.Code, e.Value)
	case ledger.Layers:
		return message.F("or the sample was not like the rest of the honey: stir, and read again.")
	case ledger.HoseElsewhere, ledger.HoseHere:
		return hose(b, f, e)
	case ledger.DrawnElsewhere:
		return message.F("%s had %s in it: was the honey drawn from there?", placeName(b, e.Place), message.Kg(e.Value))
	case ledger.Pounds:
		return message.F("%s kg would fit: is %s in the wrong unit, pounds or kilograms?", amount(e.Value), entryOrIt(b, e.Entry))
	case ledger.Twice:
		return message.F("is %s the same, entered twice?", entryOrIt(b, e.Entry))
	case ledger.TooManyBooked:
		return message.F("%s: did all %s really go in?", entryOrIt(b, e.Entry), supers(e.Value))
	case ledger.TareInNet:
		return message.F("%s would fit: was its tare counted as honey?", message.Kg(e.Value))
	case ledger.NotFull:
		return message.F("or was it not filled up, %s short of the usual?", message.Kg(e.Value))
	case ledger.NotBooked:
		return notBooked(b, f, e)
	}
	return message.F("%s.", words(string(e.Why)))
}

// hose names the movement that may have gone into another tank than it says.
func hose(b *ledger.Book, f ledger.Flag, e ledger.Explanation) message.Text {
	tank := placeName(b, f.On)
	if e.Why == ledger.HoseElsewhere {
		tank = message.F("another tank")
		if e.Place.Kind != "" {
			tank = placeName(b, e.Place)
		}
	}
	if f.Unit == "%" {
		return message.F("%s %% would be right if %s had gone into %s: was the hose on that one?", tenth(e.Value), entryName(b, e.Entry), tank)
	}
	return message.F("%s would explain it: did that honey go into %s?", entryName(b, e.Entry), tank)
}

// notBooked says what may not have been written down.
func notBooked(b *ledger.Book, f ledger.Flag, e ledger.Explanation) message.Text {
	switch {
	case e.Place.Kind == ledger.PlacePull:
		return message.F("%s of %s went into no run: were those the ones?", supers(e.Value), placeName(b, e.Place))
	case f.Code == ledger.ReadEmpty:
		return message.F("or did honey come into it that nobody wrote down? Then write down what went in, or dip it and write down a stocktake.")
	case f.Code == ledger.Overdrawn:
		return message.F("did %s or more come into it that nobody wrote down?", message.Kg(e.Value))
	case f.Code == ledger.Overfilled, f.Code == ledger.WashedFull:
		return message.F("were %s or more drawn from it that nobody wrote down?", message.Kg(e.Value))
	case f.Code == ledger.NeverExtracted:
		return message.F("%s gave %s of honey and has no supers written down: did they go there?", placeName(b, e.Place), message.Kg(e.Value))
	case f.Code == ledger.WarmWithoutLog:
		return message.F("the book reckons with %s, as usual there. If it was warmer, the honey has more HMF than the book says.", message.Celsius(e.Value))
	case e.Place.Kind == ledger.PlaceRun:
		return message.F("or did nobody write down %s of its honey?", message.Kg(e.Value))
	}
	return message.F("or were %s poured in or drawn that nobody wrote down?", message.Kg(e.Value))
}

// slipped is the figure in which digits may have been swapped.
func slipped(c ledger.Code, meant float64) message.Text {
	switch c {
	case ledger.StocktakeFarOff:
		return message.F("a depth of %s cm would fit: were two digits swapped?", tenth(meant))
	case ledger.NetUnusual:
		return message.F("a gross weight of %s kg would fit: were two digits swapped?", tenth(meant))
	}
	return message.F("%s would fit: were two digits swapped?", tenth(meant))
}

func entryOrIt(b *ledger.Book, id ledger.ID) message.Text {
	if id == (ledger.ID{}) {
		return message.F("it")
	}
	return entryName(b, id)
}
