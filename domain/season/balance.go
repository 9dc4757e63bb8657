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
	out.flows(g, y.season)
	out.UnaccountedG = out.UnexplainedG + out.StocktakeGainedG - out.StocktakeLostG - out.WashedG
	percent := func(part int64) *float64 { return ratio(100*kg(part), kg(out.HarvestedG)) }
	out.UnexplainedPct, out.UnaccountedPct, out.WaxPct =
		percent(out.UnexplainedG), percent(out.UnaccountedG), percent(out.WaxG)
	return out
}

// flows reads what the book's totals did over the season, and who took what.
func (out *Balance) flows(g *gathered, s *ledger.Season) {
	from, to := dates(s, g.book.Location())
	state := g.book.State()
	before, after := state.TotalsBefore(from), state.TotalsBefore(to)
	out.InTanksBeforeG, out.InContainersBeforeG = before.InTanks, before.Held-before.InTanks
	out.InTanksG, out.InContainersG = after.InTanks, after.Held-after.InTanks
	out.HarvestedG = after.Harvested - before.Harvested
	out.UnexplainedG = after.Unexplained - before.Unexplained
	out.StocktakeGainedG = after.Gained - before.Gained
	out.WashedG = after.Washed - before.Washed
	out.StocktakeLostG = after.Lost - before.Lost - out.WashedG
	out.DispatchedG = after.Dispatched - before.Dispatched
	out.WastedG = after.Wasted - before.Wasted
	for _, f := range g.fills {
		if !f.at.Before(from) && f.at.Before(to) {
			out.FilledG += f.netG
		}
	}
	out.byBuyer(g, from, to)
}

func (out *Balance) byBuyer(g *gathered, from, to time.Time) {
	buyers := map[ledger.ID]*BuyerLine{}
	for _, d := range g.dispatches {
		if d.at.Before(from) || !d.at.Before(to) {
			continue
		}
		id := g.book.Root(d.BuyerID)
		l := buyers[id]
		if l == nil {
			l = &BuyerLine{BuyerID: id, Name: buyerName(g.book, id)}
			buyers[id] = l
		}
		l.Grams += g.book.State().DispatchedBy(d.id)
		l.Containers += len(d.Containers)
	}
	for _, l := range buyers {
		out.Buyers = append(out.Buyers, *l)
	}
	sortBuyers(out.Buyers)
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
