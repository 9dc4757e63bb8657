package season

import (
	"slices"

	"pullbook/domain/ledger"
)

// lotReadings are the readings on lots and their containers, in order of the lots'
// IDs and of each lot's earliest first. It holds entries, not what a report shows of
// them: a book may have very many.
type lotReadings []lotReading

type lotReading struct {
	lot, root ledger.ID
	*ledger.Entry
}

func readingsOnLots(b *ledger.Book) (out lotReadings) {
	for root, e := range b.Happened {
		r, ok := e.Body.(*ledger.Reading)
		if !ok || r.Moisture == nil {
			continue
		}
		switch r.On.Kind {
		case ledger.PlaceLot:
			out = append(out, lotReading{b.Root(r.On.ID), root, e})
		case ledger.PlaceContainer:
			if fill := ledger.Named[ledger.Fill](b, r.On.ID); fill != nil {
				out = append(out, lotReading{b.Root(fill.LotID), root, e})
			}
		}
	}
	slices.SortStableFunc(out, func(a, c lotReading) int { return compareIDs(a.lot, c.lot) })
	return out
}

// of gives the moisture readings on a lot and its containers by the place read,
// earliest first.
func (l lotReadings) of(b *ledger.Book, lot ledger.ID) map[ledger.Place][]Moisture {
	from, _ := slices.BinarySearchFunc(l, lot, func(r lotReading, id ledger.ID) int { return compareIDs(r.lot, id) })
	out := map[ledger.Place][]Moisture{}
	for i, r := range l[from:] {
		if r.lot != lot {
			break
		}
		m := moistureOf(b, r.root, r.Entry)
		m.order = i
		out[m.On] = append(out[m.On], *m)
	}
	return out
}

func compareIDs(a, b ledger.ID) int { return slices.Compare(a[:], b[:]) }
