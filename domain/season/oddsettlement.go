package season

import (
	"math"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// oddSettlement is of a buyer's figures beside the outfit's own, and of what was paid
// beside the terms.
func oddSettlement(b *ledger.Book, where message.Capital, f ledger.Flag) message.Text {
	buyer := message.Verbatim(b.Name(f.On.ID))
	switch f.Quantity {
	case ledger.SettledNet:
		return message.F("%s: the buyer pays for %s, where %s were weighed here: %s %s. Ask for the buyer's weighing slip.", where, message.Kg(f.Found), message.Kg(f.Expected), inQuestion(f), moreOrLess(f))
	case ledger.SettledMoisture:
		return message.F("%s: the buyer found %s %% moisture, where %s %% was read here. Ask how it was measured, and have a sample that was kept back measured again.", where, tenth(f.Found), tenth(f.Expected))
	case ledger.SettledPaid:
		off := message.Number{V: math.Abs(f.Found - f.Expected), Places: 1}
		if f.Found > f.Expected {
			return message.F("%s paid %s %% more than the terms come to on the buyer's own figures. Is the amount right, and is tax or freight in it?", buyer, off)
		}
		return message.F("%s paid %s %% less than the terms come to on the buyer's own figures. Is the amount right, and what was taken off?", buyer, off)
	}
	return message.F("%s settled this %s after it left. Are both days right?", buyer, message.Plural{N: f.Found, One: "%s day", Other: "%s days"})
}
