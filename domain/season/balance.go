package season

import (
	"bytes"
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Balance follows a season from supers to honey to tanks to lots to buyers.
// Honey is counted on the dates when it moved, and every gram is in it:
//
//	HeldBefore + Harvested + Unexplained + Gained = Held + Dispatched + Wasted + Washed + Lost
type Balance struct {
	// SupersPulled in the season = SupersExtracted of them + SupersLeft.
	SupersPulled, SupersExtracted, SupersLeft int
	// SupersFromOthers went into the season's runs from pulls of other dates,
	// or from pulls that were withdrawn.
	SupersFromOthers int

	// InTanksBeforeG and InContainersBeforeG were carried over.
	InTanksBeforeG, InContainersBeforeG int64
	// HarvestedG came out of runs.
	HarvestedG int64
	// UnexplainedG was drawn from holders that the book had at less.
	UnexplainedG int64
	// StocktakeGainedG and StocktakeLostG are what dips and scales found.
	StocktakeGainedG, StocktakeLostG int64

	// InTanksG and InContainersG are held at the season's end, or now.
	InTanksG, InContainersG int64
	// FilledG went into containers of lots, including what was reworked since.
	FilledG     int64
	DispatchedG int64
	Buyers      []BuyerLine
	WastedG     int64
	// WashedG was washed out of tanks.
	WashedG int64

	WaxG int64

	// UnaccountedG is what came from nowhere less what went nowhere:
	// unexplained + gained - lost - washed.
	UnaccountedG int64
	// The percentages are of HarvestedG; nil where nothing was harvested.
	UnexplainedPct, UnaccountedPct, WaxPct *float64
}

// HeldBeforeG is what was in tanks and containers as the season began.
func (b Balance) HeldBeforeG() int64 { return b.InTanksBeforeG + b.InContainersBeforeG }

// HeldG is what was in tanks and containers as it ended, or is now.
func (b Balance) HeldG() int64 { return b.InTanksG + b.InContainersG }

// Balanced reports whether every gram is accounted for.
func (b Balance) Balanced() bool {
	in := b.HeldBeforeG() + b.HarvestedG + b.UnexplainedG + b.StocktakeGainedG
	out := b.HeldG() + b.DispatchedG + b.WastedG + b.WashedG + b.StocktakeLostG
	return in == out
}

// BuyerLine is what one buyer took in a season.
type BuyerLine struct {
	BuyerID    ledger.ID
	Name       string
	Grams      int64
	Containers int
}

func balance(g *gathered, y *yields) Balance {
	var out Balance
	for _, p := range y.pulls {
		if !p.counts() {
			out.SupersFromOthers += p.extracted
			continue
		}
		for _, c := range p.pull.Supers {
			out.SupersPulled += c.Supers
		}
		out.SupersExtracted += p.used.total()
	}
	out.SupersLeft = out.SupersPulled - out.SupersExtracted
	for _, r := range y.runs {
		out.WaxG += r.waxG
	}
	out.flows(g.book, y.season)
	out.UnaccountedG = out.UnexplainedG + out.StocktakeGainedG - out.StocktakeLostG - out.WashedG
	percent := func(part int64) *float64 { return ratio(100*kg(part), kg(out.HarvestedG)) }
	out.UnexplainedPct, out.UnaccountedPct, out.WaxPct =
		percent(out.UnexplainedG), percent(out.UnaccountedG), percent(out.WaxG)
	return out
}

// flows walks the book and keeps what each entry of the season did.
func (out *Balance) flows(b *ledger.Book, s *ledger.Season) {
	from, to := dates(s, b.Location())
	buyers := map[ledger.ID]*BuyerLine{}
	var was, before ledger.Totals
	b.Walk(func(_ ledger.ID, e *ledger.Entry, after *ledger.State) bool {
		if !e.OccurredAt.Before(to) {
			return false
		}
		now := after.Totals()
		if e.OccurredAt.Before(from) {
			before = now
		} else {
			out.step(b, e, was, now, buyers)
		}
		was = now
		return true
	})
	out.InTanksBeforeG, out.InContainersBeforeG = before.InTanks, before.Held-before.InTanks
	out.InTanksG, out.InContainersG = was.InTanks, was.Held-was.InTanks
	out.HarvestedG = was.Harvested - before.Harvested
	out.UnexplainedG = was.Unexplained - before.Unexplained
	out.StocktakeGainedG = was.Gained - before.Gained
	out.StocktakeLostG = was.Lost - before.Lost - out.WashedG
	out.DispatchedG = was.Dispatched - before.Dispatched
	out.WastedG = was.Wasted - before.Wasted
	for _, l := range buyers {
		out.Buyers = append(out.Buyers, *l)
	}
	sortBuyers(out.Buyers)
}

// step adds what the book's totals do not tell apart.
func (out *Balance) step(b *ledger.Book, e *ledger.Entry, was, now ledger.Totals, buyers map[ledger.ID]*BuyerLine) {
	switch body := e.Body.(type) {
	case *ledger.Wash:
		out.WashedG += now.Lost - was.Lost
	case *ledger.Fill:
		out.FilledG += body.NetG()
	case *ledger.Dispatch:
		id := b.Root(body.BuyerID)
		l := buyers[id]
		if l == nil {
			l = &BuyerLine{BuyerID: id, Name: buyerName(b, id)}
			buyers[id] = l
		}
		l.Grams += now.Dispatched - was.Dispatched
		l.Containers += len(body.Containers)
	}
}

func buyerName(b *ledger.Book, id ledger.ID) string {
	if y := ledger.Named[ledger.Buyer](b, id); y != nil {
		return y.Name
	}
	return "a buyer who is not in the book"
}

// dates are the first instant of a season and the first after it.
func dates(s *ledger.Season, loc *time.Location) (from, to time.Time) {
	from, _ = s.First.On(loc)
	last, _ := s.Last.On(loc)
	return from, last.AddDate(0, 0, 1)
}

func sortBuyers(in []BuyerLine) {
	slices.SortFunc(in, func(a, b BuyerLine) int {
		return cmp.Or(cmp.Compare(b.Grams, a.Grams), cmp.Compare(a.Name, b.Name), bytes.Compare(a.BuyerID[:], b.BuyerID[:]))
	})
}
