package trace

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Figure names a figure of the book.
type Figure struct {
	// Of is the yard, tank, lot or container that it is of; the zero Place where
	// it is of the whole book.
	Of ledger.Place
	// Name says which figure it is: "honey", "held", "net".
	Name string
	// Part is the yard whose share it is, where it is a share.
	Part ledger.ID
	Unit string
}

// Change is a figure that is not what it was.
type Change struct {
	Figure
	OfName, PartName string
	// From and To are in the figure's unit; nil where there was none.
	From, To *float64
}

// figures are what a book has of each.
type figures map[Figure]float64

// grams notes a mass, in kilograms.
func (f figures) grams(of ledger.Place, name string, g int64) {
	f[Figure{Of: of, Name: name, Unit: "kg"}] = float64(g) / 1000
}

// makeUp notes what of so many grams came from each yard, or of no yard.
func (f figures) makeUp(of ledger.Place, parts map[ledger.ID]float64) {
	for yard, g := range parts {
		f[Figure{Of: of, Name: "made of", Part: yard, Unit: "kg"}] = math.Round(g) / 1000
	}
}

// addMix adds grams of a make-up to the yards that they came from.
func addMix(b *ledger.Book, to map[ledger.ID]float64, mix *ledger.Mix, grams int64) {
	if mix == nil {
		return
	}
	for _, p := range mix.Parts {
		yard := ledger.ID{}
		if pull := ledger.Named[ledger.Pull](b, p.Origin); pull != nil {
			yard = b.Root(pull.YardID)
		}
		to[yard] += p.Share * float64(grams)
	}
}

// leastChange is less than any difference that is told: a tenth of a gram, or of
// a hundredth of a point of moisture.
const leastChange = 1e-4

// differences lists the figures that two books have otherwise.
func differences(b *ledger.Book, was, is figures) []Change {
	var out []Change
	note := func(f Figure, from, to *float64) {
		c := Change{Figure: f, From: from, To: to}
		if f.Of.Kind != "" {
			c.OfName = placeName(b, f.Of)
		}
		switch {
		case f.Part != ledger.ID{}:
			c.PartName = placeName(b, ledger.Place{Kind: ledger.PlaceYard, ID: f.Part})
		case f.Name == "made of":
			c.PartName = "no yard"
		}
		out = append(out, c)
	}
	for f, from := range was {
		if to, still := is[f]; !still {
			note(f, &from, nil)
		} else if math.Abs(to-from) > leastChange {
			note(f, &from, &to)
		}
	}
	for f, to := range is {
		if _, had := was[f]; !had {
			note(f, nil, &to)
		}
	}
	slices.SortFunc(out, func(x, y Change) int {
		return cmp.Or(cmp.Compare(x.Of.Kind, y.Of.Kind), cmp.Compare(x.OfName, y.OfName), bytes.Compare(x.Of.ID[:], y.Of.ID[:]),
			cmp.Compare(x.Name, y.Name), cmp.Compare(x.PartName, y.PartName), bytes.Compare(x.Part[:], y.Part[:]))
	})
	return out
}

// ofBook are the figures of a whole book: what each yard gave, what is in each
// tank, what each lot is and is made of, the totals, and how much is odd.
func ofBook(b *ledger.Book) figures {
	f := figures{}
	s := b.State()
	honey := map[ledger.ID]float64{}
	for h := range s.Holders {
		switch h.Place.Kind {
		case ledger.PlaceRun:
			addMix(b, honey, b.Harvest(h.Place.ID).Mix, h.OutG)
		case ledger.PlaceTank:
			f.grams(h.Place, "held", h.Grams)
		}
	}
	for yard, g := range honey {
		if yard == (ledger.ID{}) {
			f.grams(ledger.Place{}, "honey of no pull", int64(math.Round(g)))
			continue
		}
		f.grams(ledger.Place{Kind: ledger.PlaceYard, ID: yard}, "honey", int64(math.Round(g)))
	}
	b.Of(ledger.KindLot, func(lot ledger.ID, _ *ledger.Entry) bool {
		of := ledger.Place{Kind: ledger.PlaceLot, ID: lot}
		l := s.Lot(lot)
		f.grams(of, "net", l.FilledG)
		f.grams(of, "on hand", l.HeldG)
		f.grams(of, "dispatched", l.DispatchedG)
		parts := map[ledger.ID]float64{}
		addMix(b, parts, l.Mix, l.FilledG)
		f.makeUp(of, parts)
		return true
	})
	t := s.Totals()
	for name, g := range map[string]int64{
		"harvested": t.Harvested, "unexplained": t.Unexplained, "gained": t.Gained, "lost": t.Lost, "in tanks": t.InTanks,
		"in containers": t.Held - t.InTanks, "dispatched": t.Dispatched, "wasted": t.Wasted,
	} {
		f.grams(ledger.Place{}, name, g)
	}
	for _, flag := range s.Flags() {
		if flag.Accepted == nil {
			f[Figure{Name: "open flags: " + string(flag.Code), Unit: "flags"}]++
		}
	}
	return f
}

// ofContainers are the figures that a dispatch or check of a lot rests on: how
// much honey is in which containers, what it is made of, and what was read of
// it, up to an instant.
func ofContainers(b *ledger.Book, of ledger.Place, containers []ledger.ID, until time.Time) figures {
	f := figures{}
	parts := map[ledger.ID]float64{}
	lots := map[ledger.ID]bool{}
	read := map[ledger.ID]mean{}
	var net int64
	for _, id := range containers {
		fill := ledger.Named[ledger.Fill](b, id)
		if fill == nil || b.Standing(id) == nil {
			continue
		}
		h, _ := b.State().Holder(id)
		net += fill.NetG()
		addMix(b, parts, h.Mix, fill.NetG())
		lots[b.Root(fill.LotID)] = true
		read[b.Root(id)] = mean{}
	}
	f.grams(of, "net", net)
	f[Figure{Of: of, Name: "containers", Unit: "containers"}] = float64(len(read))
	f.makeUp(of, parts)
	var ofLots mean
	for lot := range lots {
		for _, id := range b.Basis(lot, until).Readings {
			e, _ := b.Entry(id)
			r := e.Body.(*ledger.Reading)
			if r.Moisture == nil {
				continue
			}
			on := b.Root(r.On.ID)
			if m, mine := read[on]; mine {
				read[on] = m.with(r.Moisture.Pct, 1)
			} else if r.On.Kind == ledger.PlaceLot {
				ofLots = ofLots.with(r.Moisture.Pct, 1)
			}
		}
	}
	var all mean
	for id, m := range read {
		if m.weight > 0 {
			all = all.with(m.sum/m.weight, float64(ledger.Named[ledger.Fill](b, id).NetG()))
		}
	}
	if all.weight == 0 {
		all = ofLots
	}
	if all.weight > 0 {
		f[Figure{Of: of, Name: "moisture read", Unit: "%"}] = all.sum / all.weight
	}
	return f
}

type mean struct{ sum, weight float64 }

func (m mean) with(value, weight float64) mean { return mean{m.sum + value*weight, m.weight + weight} }
