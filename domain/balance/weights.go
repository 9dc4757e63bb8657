package balance

import (
	"math"

	"pullbook/domain/ledger"
)

// Weights says how far single masses of a book may be off, as standard deviations
// by the figures of the reconciliation. It holds for as long as nothing is appended.
type Weights struct{ house }

// WeightsOf reads which balances the book has.
func WeightsOf(b *ledger.Book) *Weights {
	w := &Weights{house{book: b}}
	w.finest, w.coarsest = balances(b)
	return w
}

// FlowSD is of the mass of a flow, in kilograms: of a container by its scale and its
// tare, into or out of a tank by two dips, of the smaller tank where there are two,
// else by a bucket on a scale. A stocktake and a wash move nothing by themselves.
func (w *Weights) FlowSD(f ledger.Flow) float64 {
	switch body := f.Entry.Body.(type) {
	case *ledger.Fill:
		return math.Hypot(w.containerSD(body), containerCommonShare*kg(f.Grams))
	case *ledger.Movement:
		return w.movementSD(f)
	}
	return 0
}

func (w *Weights) movementSD(f ledger.Flow) float64 {
	if fill := ledger.Named[ledger.Fill](w.book, f.From.ID); fill != nil {
		return max(containerKg, w.containerSD(fill))
	}
	sd := math.Inf(1)
	for _, place := range []ledger.Place{f.From, f.To} {
		if t := ledger.Named[ledger.Tank](w.book, place.ID); t != nil {
			sd = min(sd, riseKg(t))
		}
	}
	if f.To.Kind == ledger.PlaceWaste || math.IsInf(sd, 1) {
		sd = math.Hypot(wasteShare*kg(f.Grams), wasteKg)
	}
	return sd
}

// StocktakeSD is of what a stocktake found in its tank, in kilograms.
func (w *Weights) StocktakeSD(s *ledger.Stocktake) float64 {
	t := ledger.Named[ledger.Tank](w.book, s.TankID)
	if t == nil {
		t = &ledger.Tank{}
	}
	return levelKg(t, s)
}

// BoxesSD is of the honey in some boxes of a pull beside that in the other boxes of
// their run, as a share of it: by their gross on the hoist, less their tares, where
// all boxes of the run were weighed; else as boxes differ that were counted. Boxes of
// one pull are not equally full, where some went into another run.
func (w *Weights) BoxesSD(pull ledger.ID, boxes int, weighed bool) float64 {
	p := ledger.Named[ledger.Pull](w.book, pull)
	if p == nil || boxes == 0 {
		return countShare
	}
	netKg, all := kg(p.GrossG), 0
	for _, c := range p.Supers {
		if k := ledger.Named[ledger.SuperKind](w.book, c.SuperKindID); k != nil {
			netKg -= float64(c.Supers) * kg(k.TareG)
		}
		all += c.Supers
	}
	own := countShare
	if weighed && netKg > 0 {
		hoist := math.Hypot(hoistShare*kg(p.GrossG), w.coarsest)
		tare := boxTareKg * math.Sqrt(float64(all))
		own = math.Hypot(hoist, tare) / netKg
	}
	split := boxFullnessShare * math.Sqrt(max(0, 1/float64(boxes)-1/float64(max(boxes, all))))
	return math.Sqrt(own*own + split*split + lossOwnPct*lossOwnPct/1e4)
}
