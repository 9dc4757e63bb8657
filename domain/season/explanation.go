package season

import (
	"fmt"
	"strings"

	"pullbook/domain/ledger"
)

// Explanations says in words what may lie behind something odd: a sentence for
// each of Likely.
func Explanations(b *ledger.Book, f ledger.Flag) []string {
	out := make([]string, len(f.Likely))
	for i, e := range f.Likely {
		out[i] = capital(explanation(b, f, e))
	}
	return out
}

func explanation(b *ledger.Book, f ledger.Flag, e ledger.Explanation) string {
	switch e.Why {
	case ledger.OtherTank:
		return fmt.Sprintf("it fits %s, where %.1f is expected: is this that tank, or was a hose on the wrong one?", placeName(b, e.Place), e.Value)
	case ledger.DigitSlip:
		return fmt.Sprintf("%s%.1f would fit: were two digits swapped?", slipped(f.Code), e.Value)
	case ledger.Layers:
		return "or the sample was not like the rest: stir and read again."
	case ledger.HoseElsewhere, ledger.HoseHere:
		return hose(b, f, e)
	case ledger.Pounds:
		return fmt.Sprintf("%s kg would fit: is %s in the wrong unit, pounds or kilograms?", amount(e.Value), entryOr(b, e.Entry, "it"))
	case ledger.Twice:
		return fmt.Sprintf("is %s the same, entered twice?", entryOr(b, e.Entry, "it"))
	case ledger.TooManyBooked:
		return fmt.Sprintf("did the %s of %s really go in?", count(e.Value, "super"), entryOr(b, e.Entry, "it"))
	case ledger.TareInNet:
		return fmt.Sprintf("%s kg would fit: was its tare counted as honey?", amount(e.Value))
	case ledger.NotFull:
		return fmt.Sprintf("or was it filled %s kg short?", amount(e.Value))
	case ledger.NotBooked:
		return notBooked(b, f, e)
	}
	return strings.ReplaceAll(string(e.Why), "_", " ") + "."
}

// hose names the movement that may have gone into another tank than it says.
func hose(b *ledger.Book, f ledger.Flag, e ledger.Explanation) string {
	tank := placeName(b, f.On)
	if e.Why == ledger.HoseElsewhere {
		tank = "another tank"
		if e.Place.Kind != "" {
			tank = placeName(b, e.Place)
		}
	}
	if f.Unit == "%" {
		return fmt.Sprintf("%.1f would be expected if %s went into %s: was the hose on that?", e.Value, entryName(b, e.Entry), tank)
	}
	return fmt.Sprintf("%s would account for it: did it go into %s?", entryName(b, e.Entry), tank)
}

// notBooked says what may not have been written down.
func notBooked(b *ledger.Book, f ledger.Flag, e ledger.Explanation) string {
	switch {
	case e.Place.Kind == ledger.PlacePull:
		return fmt.Sprintf("%s of %s went into no run: were they these?", count(e.Value, "super"), placeName(b, e.Place))
	case f.Code == ledger.NeverExtracted:
		return fmt.Sprintf("%s gave %s kg and has no supers: were they these?", placeName(b, e.Place), amount(e.Value))
	case f.Code == ledger.WarmWithoutLog:
		return fmt.Sprintf("the book takes it for %s °C, as it usually is: if it was warmer, it has more HMF than expected.", amount(e.Value))
	case e.Place.Kind == ledger.PlaceRun:
		return fmt.Sprintf("or are %s kg of its honey not written down?", amount(e.Value))
	}
	return fmt.Sprintf("or was something poured or drawn and not written down, %s kg?", amount(e.Value))
}

// slipped is the figure in which digits may have been swapped.
func slipped(c ledger.Code) string {
	switch c {
	case ledger.StocktakeFarOff:
		return "a depth in cm of "
	case ledger.NetUnusual:
		return "a gross in kg of "
	}
	return ""
}

func entryOr(b *ledger.Book, id ledger.ID, otherwise string) string {
	if id == (ledger.ID{}) {
		return otherwise
	}
	return entryName(b, id)
}

// byChance says how unlikely it is, where that was reckoned.
func byChance(f ledger.Flag) string {
	switch {
	case f.Unlikely <= 0:
		return ""
	case f.Unlikely < 1e-6:
		return " By chance less than once in a million."
	}
	return fmt.Sprintf(" By chance once in %.0f.", 1/f.Unlikely)
}
