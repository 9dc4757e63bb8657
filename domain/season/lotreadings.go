package season

import "pullbook/domain/ledger"

// readingsOnLot gives the moisture readings on a lot and its containers by the place
// read, earliest first.
func readingsOnLot(b *ledger.Book, lot ledger.ID) map[ledger.Place][]Moisture {
	out := map[ledger.Place][]Moisture{}
	order := 0
	for _, e := range b.ReadingsOnLot(lot) {
		if m := moistureOf(b, e); m != nil {
			m.order = order
			order++
			out[m.On] = append(out[m.On], *m)
		}
	}
	return out
}
