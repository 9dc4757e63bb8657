package sale

import (
	"math"
	"slices"

	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// Cautions are what has to be known with every plan of sales.
func Cautions() []message.Text {
	return []message.Text{
		message.F("This is worked out from what the book knows of each honey. Where a limit decides about a sale, an accredited laboratory decides."),
		message.F("A lot has to be released before any of it leaves. The plan releases nothing."),
		message.F("A dispatch names no contract. What left for a buyer counts for the contract of this buyer that was open then and ends first, until it is filled."),
		message.F("Honey that is prepared for a dispatch or a blend stays out, and counts for no contract until it has left."),
		message.F("Prices count as the contracts state them. What honey may bring later is not foreseen: say what a kilogram is worth that stays."),
	}
}

// NextContainerMinor is about what it would bring if a contract took one container more, of the mean mass
// of those that are here (see NextKg).
func (a *Answer) NextContainerMinor(s *Spec, contract int) float64 {
	kg := 0.0
	for i := range s.Stock {
		kg += s.Stock[i].Kg
	}
	return a.NextKg[contract] * kg / float64(max(1, len(s.Stock)))
}

// Staying is honey of a lot that goes to nobody, and why.
type Staying struct {
	Source string
	// Stock are places in the stock.
	Stock []int
	Kg    float64
	Why   message.Text
	// Best is the contract that would pay the most for it, -1 where none takes it; PerKg is what a
	// kilogram brings there less discount and freight by mass and container.
	Best  int
	PerKg float64
}

// Stays says of each lot what an assignment keeps of it.
func (a *Answer) Stays(s *Spec, of *Assignment) (out []Staying) {
	place := map[string]int{}
	for _, i := range of.Held {
		source := s.Stock[i].Source
		at, known := place[source]
		if !known {
			at = len(out)
			place[source] = at
			out = append(out, a.why(s, of, i))
		}
		out[at].Stock, out[at].Kg = append(out[at].Stock, i), out[at].Kg+s.Stock[i].Kg
	}
	return out
}

// why says why a container stays.
func (a *Answer) why(s *Spec, of *Assignment, i int) Staying {
	out := Staying{Source: s.Stock[i].Source, Best: -1}
	nearest, at := -1.0, -1
	for c := range s.Contracts {
		o, f := &a.offers[i][c], &s.Contracts[c].Freight
		if !o.open() {
			if o.kept > nearest {
				nearest, at = o.kept, c
			}
			continue
		}
		if perKg := o.perKg - f.PerKg - f.PerContainer/s.Stock[i].Kg; out.Best < 0 || perKg > out.PerKg {
			out.Best, out.PerKg = c, perKg
		}
	}
	switch {
	case out.Best < 0 && at < 0:
		out.Why = message.F("no contract is open")
	case out.Best < 0:
		out.Why = message.F("no contract takes it as it is; for %s: %s", s.Contracts[at].Name, a.offers[i][at].said(&s.Stock[i], s.Probability))
	case out.PerKg <= s.KeepPerKg:
		out.Why = message.F("it is worth more kept than any contract pays after freight")
	case of.of(out.Best) != nil && of.of(out.Best).Kg+s.Stock[i].Kg > s.Contracts[out.Best].MostKg:
		out.Why = message.F("the contracts that pay enough for it are filled with honey that brings more")
	case of != &a.Assignments[0] && a.Assignments[0].sends(i):
		out.Why = message.F("the best sends it to a contract; this one says what it costs to keep it")
	default:
		out.Why = message.F("it does not pay the freight, or no whole container fits in any more")
	}
	return out
}

// said is why honey may not go, with the limit that it would keep.
func (o *offer) said(stock *plan.Stock, probability float64) message.Text {
	if o.fails != nil {
		if end, fails := o.fails.Needed(stock.Figures[o.fails.Parameter], probability); fails {
			return message.F("%s; it would keep to %s %s", o.why, message.Number{V: math.Ceil(100*end-1e-6) / 100, Places: 2}, standard.SayUnit(plan.UnitOf(o.fails.Parameter)))
		}
	}
	return o.why
}

// sends reports whether a container goes to somebody.
func (a *Assignment) sends(i int) bool { return !slices.Contains(a.Held, i) }

// Turn is from which figure on a lot's honey would no longer go to its contract, as it keeps to a
// limit less surely.
type Turn struct {
	Limit   plan.Limit
	Now, At float64
}

// Turns are those of a container under the contract that it goes to by itself.
func (s *Spec) Turns(stock, contract int) (out []Turn) {
	c := &s.Contracts[contract]
	for _, l := range c.limitsOf(&s.Stock[stock]) {
		f := s.Stock[stock].Figures[l.Parameter]
		if at, turns := l.TurnsAt(f, s.Probability); turns {
			out = append(out, Turn{l, f.Mean, at})
		}
	}
	return out
}

// MixingPays reports whether honey mixed before it is sold brings more, or more of what was promised.
func (a *Answer) MixingPays() bool {
	if a.Mixed == nil {
		return false
	}
	best := &a.Assignments[0]
	return a.Mixed.WorthMinor()-best.WorthMinor() > best.within || a.Mixed.short() < best.short()-2*aboutAGram
}

// Said says in a sentence what mixing first is worth.
func (a *Answer) Said() message.Text {
	switch {
	case len(a.Assignments) == 0:
		return message.F("The time was over before an assignment was found. Close contracts by which nothing more goes, and ask again.")
	case a.TooMany:
		return message.F("There is too much honey to choose between to say what mixing first would bring.")
	case a.Mixed == nil:
		return message.F("The time was over before it was known what mixing first would bring.")
	case !a.MixingPays() && !a.Mixed.Proved():
		return message.F("Nothing was found that would bring more if honey was mixed first, and the search was not over.")
	case !a.MixingPays():
		return message.F("Mixing honey before it is sold would bring nothing more.")
	}
	return message.F("Mixing honey for these contracts before it is sold would bring more: plan each blend, and sample it once it is mixed.")
}
