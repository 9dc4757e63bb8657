package trace

import (
	"bytes"
	"cmp"
	"iter"
	"math"
	"slices"
	"strings"
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

// leastExpected is less than any difference of an estimate that is told: half of
// the last digit that one is shown with. Less comes about by every reading, of
// which the book learns how far samples lie apart.
const leastExpected = 0.05

// The estimates among the figures.
const (
	expectedMoisture = "moisture expected"
	expectedHMF      = "HMF expected"
	expectedDiastase = "diastase expected"
)

// least is how much a figure changes before that is told.
func (f Figure) least() float64 {
	switch f.Name {
	case expectedMoisture, expectedHMF, expectedDiastase:
		return leastExpected
	}
	return leastChange
}

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
		} else if math.Abs(to-from) > f.least() {
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
// tank, what each lot is and is made of, what was read of it, what is expected of them
// at an instant, the totals, and how much is odd.
func ofBook(b *ledger.Book, at time.Time) figures {
	f := figures{}
	s := b.State()
	honey := map[ledger.ID]float64{}
	for h := range s.Holders {
		switch h.Place.Kind {
		case ledger.PlaceRun:
			addMix(b, honey, b.Harvest(h.Place.ID).Mix, h.OutG)
		case ledger.PlaceTank:
			f.grams(h.Place, "held", h.Grams)
			if belief, known := s.BeliefAt(h.Place.ID, at); known && h.Grams > 0 {
				f.expected(h.Place, expectedOf(belief))
			}
		}
	}
	for yard, g := range honey {
		if yard == (ledger.ID{}) {
			f.grams(ledger.Place{}, "honey of no pull", int64(math.Round(g)))
			continue
		}
		f.grams(ledger.Place{Kind: ledger.PlaceYard, ID: yard}, "honey", int64(math.Round(g)))
	}
	b.InForceOf(ledger.KindLot, func(lot ledger.ID, _ *ledger.Entry) bool {
		f.lot(b, lot, at)
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

// lot notes a lot as its containers make it; what is expected is of those that
// are here.
func (f figures) lot(b *ledger.Book, lot ledger.ID, at time.Time) {
	s, of := b.State(), ledger.Place{Kind: ledger.PlaceLot, ID: lot}
	l := s.Lot(lot)
	f.grams(of, "net", l.FilledG)
	f.grams(of, "on hand", l.HeldG)
	f.grams(of, "dispatched", l.DispatchedG)
	parts := map[ledger.ID]float64{}
	addMix(b, parts, l.Mix, l.FilledG)
	f.makeUp(of, parts)
	if belief, known := s.BeliefOfLot(lot, at); known && l.HeldG > 0 {
		f.expected(of, expectedOf(belief))
	}
	all := map[ledger.ID]bool{}
	for _, id := range l.Containers {
		all[id] = true
	}
	f.read(b, of, map[ledger.ID]bool{lot: true}, all, at)
}

// ofContainers are the figures that a dispatch or check of a lot rests on: how
// much honey is in which containers, what it is made of, what was read of it up
// to an instant, and what a state of then expects of it.
func ofContainers(b *ledger.Book, s *ledger.State, of ledger.Place, containers []ledger.ID, until time.Time) figures {
	f := figures{}
	f.come(b, of, containers)
	f.readIn(b, of, containers, until)
	if belief, known := s.BeliefOfAll(containers, until); known {
		f.expected(of, expectedOf(belief))
	}
	return f
}

// come notes how much honey is in which containers, and where it came from.
func (f figures) come(b *ledger.Book, of ledger.Place, containers []ledger.ID) {
	parts, here := map[ledger.ID]float64{}, map[ledger.ID]bool{}
	var net int64
	for id, fill := range standing(b, containers) {
		h, _ := b.State().Holder(id)
		net += fill.NetG()
		addMix(b, parts, h.Mix, fill.NetG())
		here[b.Root(id)] = true
	}
	f.grams(of, "net", net)
	f[Figure{Of: of, Name: "containers", Unit: "containers"}] = float64(len(here))
	f.makeUp(of, parts)
}

// readIn notes what was read of containers and their lots up to an instant.
func (f figures) readIn(b *ledger.Book, of ledger.Place, containers []ledger.ID, until time.Time) {
	lots, here := map[ledger.ID]bool{}, map[ledger.ID]bool{}
	for id, fill := range standing(b, containers) {
		lots[b.Root(fill.LotID)], here[b.Root(id)] = true, true
	}
	f.read(b, of, lots, here, until)
}

// standing are those containers that are in force, with what was filled.
func standing(b *ledger.Book, containers []ledger.ID) iter.Seq2[ledger.ID, *ledger.Fill] {
	return func(yield func(ledger.ID, *ledger.Fill) bool) {
		for _, id := range containers {
			if fill := ledger.Named[ledger.Fill](b, id); fill != nil && b.InForce(id) != nil && !yield(id, fill) {
				return
			}
		}
	}
}

// read notes what was read of lots and of those of their containers that are here:
// all that a laboratory measured, what was looked at, and moisture as read and,
// where an instrument was found wrong, as put right for that; and how many readings
// are in doubt.
func (f figures) read(b *ledger.Book, of ledger.Place, lots, here map[ledger.ID]bool, until time.Time) {
	read := map[Figure]*readings{}
	add := func(name, unit string, r *ledger.Reading, value float64) {
		named := Figure{Of: of, Name: name, Unit: unit}
		if read[named] == nil {
			read[named] = &readings{}
		}
		read[named].add(r.On.Kind, b.Root(r.On.ID), value)
	}
	doubtful := Figure{Of: of, Name: "readings by instruments found wrong", Unit: "readings"}
	for lot := range lots {
		for _, id := range b.Basis(lot, until).Readings {
			e, _ := b.Entry(id)
			r := e.Body.(*ledger.Reading)
			if r.On.Kind == ledger.PlaceContainer && !here[b.Root(r.On.ID)] {
				continue
			}
			trust, off := b.Trust(r.InstrumentID, e.OccurredAt)
			if trust == ledger.FoundWrong {
				f[doubtful]++
			}
			if m := r.Moisture; m != nil {
				add("moisture read", "%", r, m.Pct)
				add(moisturePutRight, "%", r, m.Pct-m.PointsOff(off))
			}
			for _, m := range r.Measured {
				name, unit := m.Said()
				add(name+" read", unit, r, m.Value)
			}
			for _, o := range r.Observed {
				f[Figure{Of: of, Name: strings.ReplaceAll(o.What, "_", " ") + " seen: " + o.Word, Unit: "times"}]++
			}
		}
	}
	for named, r := range read {
		if pct, any := r.mean(b); any && (named.Name != moisturePutRight || f[doubtful] > 0) {
			f[named] = pct
		}
	}
}

const moisturePutRight = "moisture read, put right for instruments found wrong"

// readings are what was read of lots: on their containers, or else on the whole.
type readings struct {
	of   map[ledger.ID]mean
	lots mean
}

func (r *readings) add(kind ledger.PlaceKind, on ledger.ID, pct float64) {
	switch {
	case kind == ledger.PlaceLot:
		r.lots = r.lots.with(pct, 1)
	case r.of == nil:
		r.of = map[ledger.ID]mean{on: {pct, 1}}
	default:
		r.of[on] = r.of[on].with(pct, 1)
	}
}

// mean is by weight over the containers; false where nothing was read.
func (r *readings) mean(b *ledger.Book) (pct float64, any bool) {
	all := r.lots
	if len(r.of) > 0 {
		all = mean{}
	}
	for id, m := range r.of {
		all = all.with(m.sum/m.weight, float64(ledger.Named[ledger.Fill](b, id).NetG()))
	}
	return all.sum / all.weight, all.weight > 0
}

// expected notes what is expected of a place.
func (f figures) expected(of ledger.Place, e ledger.Expected) {
	f[Figure{Of: of, Name: expectedMoisture, Unit: "%"}] = e.Moisture
	f[Figure{Of: of, Name: expectedHMF, Unit: "mg/kg"}] = e.HMF
	f[Figure{Of: of, Name: expectedDiastase, Unit: "Gothe"}] = e.Diastase
}

func expectedOf(belief ledger.Belief) ledger.Expected {
	return ledger.Expected{Moisture: belief.Moisture.Mean, HMF: belief.HMF().Mean, Diastase: belief.Diastase().Mean}
}

type mean struct{ sum, weight float64 }

func (m mean) with(value, weight float64) mean { return mean{m.sum + value*weight, m.weight + weight} }
