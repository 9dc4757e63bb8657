package quality

import (
	"pullbook/domain/estimate"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Estimate is what may be expected of a lot without having been measured on it.
// It is no result, and meets no limit.
type Estimate struct {
	Parameter, Unit string
	// Low and High lie two standard deviations from Middle, Low at zero at the
	// least.
	Low, Middle, High float64
	How               message.Text
}

// Estimates are what the book expects of a lot at the end of a day, which may be
// yet to come: the ledger's own, of those of its containers that are here.
func Estimates(b *ledger.Book, g *Gathered, on standard.Date) []Estimate {
	at := endOf(on, b.Location())
	state := b.State()
	if b.Latest().After(at) {
		state = b.StateAt(at)
	}
	belief, known := state.BeliefOfLot(g.LotID, at)
	if !known {
		return nil
	}
	how := message.F("mixed by weight from its tanks, corrected by readings")
	aged := message.F("%s, aged at the temperature of where it stood", how)
	if store := b.Name(g.Lot.StoreID); store != "" {
		aged = message.F("%s, since then of the %s", aged, store)
	}
	return []Estimate{
		band("moisture", "%", how, belief.Moisture),
		band("hmf", "mg/kg", aged, belief.HMF()),
		band("diastase", "Gothe scale", aged, belief.Diastase()),
	}
}

func band(parameter, unit string, how message.Text, e estimate.Estimate) Estimate {
	off := 2 * e.StandardDeviation()
	return Estimate{parameter, unit, max(0, e.Mean-off), e.Mean, e.Mean + off, how}
}
