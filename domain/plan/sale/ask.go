package sale

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// Question is how the sales are to be planned.
type Question struct {
	On          standard.Date
	Probability float64
	// KeepPerKg is in minor units of the currency.
	KeepPerKg float64
	// Currency is that of the contracts that count; empty where all open ones have the same.
	Currency string
}

// MostContracts is how many open contracts are planned for.
const MostContracts = 100

const mostKeepPerKg = 1e6

// Asked is a question with what the book has for it.
type Asked struct {
	Spec     Spec
	Currency string
	// Lots are the entries of lots by their codes.
	Lots    map[string]ledger.ID
	LeftOut []plan.LeftOut
	// Refused are open contracts that cannot be planned for.
	Refused []Refused
	// Says is what somebody has to do or to know.
	Says []message.Text
}

// Refused is an open contract that cannot be planned for, with what would do.
type Refused struct {
	ID          ledger.ID
	Name, Buyer string
	Why         message.Text
}

// Ask takes from the book what a question is about. The error is a fault.Error that names parameters
// of the question.
func Ask(b *ledger.Book, q Question, at time.Time) (*Asked, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	out := &Asked{Spec: Spec{Probability: q.Probability, KeepPerKg: q.KeepPerKg}}
	open := b.OpenContracts(at)
	if len(open) > MostContracts {
		return nil, fault.New(fault.TooLarge, "Sales are planned for at most %s open contracts, and %s are open. Close those by which nothing more goes.", MostContracts, len(open))
	}
	sets := out.take(b, open, q.On)
	if err := out.inOneCurrency(q.Currency, &sets); err != nil {
		return nil, err
	}
	hand, err := plan.Containers(b, out.Spec.parameters(), sets, q.On, at)
	if err != nil {
		return nil, err
	}
	if len(hand.Stock) > plan.MostStock {
		return nil, fault.New(fault.TooLarge, "Sales are planned from at most %s containers, and %s are here.", plan.MostStock, len(hand.Stock))
	}
	out.Spec.Stock, out.LeftOut, out.Lots = hand.Stock, hand.LeftOut, map[string]ledger.ID{}
	b.InForceOf(ledger.KindLot, func(root ledger.ID, e *ledger.Entry) bool {
		out.Lots[e.Body.(*ledger.Lot).Code] = root
		return true
	})
	for c := range out.Spec.Contracts {
		x := &out.Spec.Contracts[c]
		x.Refuses = hand.Fails[c]
		if err := x.declare(sets[c], open, out.Spec.Stock); err != nil {
			return nil, err
		}
	}
	out.lookFor()
	out.sayWhatIsMissing(len(open))
	return out, nil
}

func (q *Question) check() error {
	var out []fault.Field
	if !(q.Probability >= 0.5 && q.Probability <= 0.999) {
		out = append(out, fault.Field{Pointer: "query:probability", Sent: q.Probability, Message: message.F("from 0.5, which is as likely as not, to 0.999")})
	}
	if !(q.KeepPerKg >= 0 && q.KeepPerKg <= mostKeepPerKg) {
		out = append(out, fault.Field{Pointer: "query:keep_minor_per_kg", Sent: q.KeepPerKg, Message: message.F("what a kilogram is worth that stays, in minor units (cents): from 0 to %s", message.Figure(mostKeepPerKg))})
	}
	if len(out) > 0 {
		return &fault.Error{Code: fault.Invalid, Message: message.F("These sales cannot be planned."), Fields: out}
	}
	return nil
}

// take turns the open contracts into those of the plan, with the rule set of each; what cannot be
// planned for is refused.
func (a *Asked) take(b *ledger.Book, open []ledger.OpenContract, on standard.Date) (sets []ledger.Resolved) {
	for i := range open {
		o := &open[i]
		x := Contract{
			ID: o.Root, BuyerID: b.Root(o.BuyerID), Buyer: b.Name(o.BuyerID), Name: cmp.Or(o.Reference, b.Name(o.RuleSet.RuleSetID)), LastDay: o.LastDay, ends: endOf(o.LastDay, b.Location()),
			PromisedKg: inKg(max(0, o.PromisedG-o.SentG)), MostKg: inKg(o.LeftG()), SentKg: inKg(o.SentG),
			Freight: Freight{o.FreightPerKgMinor, float64(o.FreightPerContainerMinor), float64(o.FreightPerLoadMinor), inKg(o.LoadG)},
		}
		refuse := func(why message.Text) { a.Refused = append(a.Refused, Refused{x.ID, x.Name, x.Buyer, why}) }
		set, err := b.RuleSet(o.RuleSet, on)
		switch {
		case err != nil:
			refuse(message.F("%s.", message.Capital(message.Of(err))))
			continue
		case set.Price == nil:
			refuse(message.F("%s has no price. Add the price to these limits, and ask again.", set.SaidTitle()))
			continue
		}
		x.Terms = set.Price
		if x.Limits, x.Looks, err = plan.LimitsOf(set, nil, o.Grade); err != nil {
			refuse(message.F("%s.", message.Capital(message.Of(err))))
			continue
		}
		if why := plan.Contradiction(x.Limits); !why.IsEmpty() {
			refuse(message.F("No honey can keep to %s: %s. Correct these limits, and ask again.", set.SaidTitle(), why))
			continue
		}
		a.Spec.Contracts, sets = append(a.Spec.Contracts, x), append(sets, set)
	}
	return sets
}

// endOf is the last minute of a day; nil where there is none.
func endOf(day ledger.Date, in *time.Location) *time.Time {
	at, err := time.ParseInLocation(time.DateOnly, string(day), in)
	if err != nil {
		return nil
	}
	return new(at.AddDate(0, 0, 1).Add(-time.Minute))
}

func inKg(grams int64) float64 { return float64(grams) / 1000 }

// inOneCurrency leaves the contracts of one currency. Amounts of several cannot be compared.
func (a *Asked) inOneCurrency(asked string, sets *[]ledger.Resolved) error {
	var there []string
	for i := range a.Spec.Contracts {
		if code := a.Spec.Contracts[i].Terms.Currency; !slices.Contains(there, code) {
			there = append(there, code)
		}
	}
	bad := func(says message.Text) error {
		return &fault.Error{Code: fault.Invalid, Message: message.F("These sales cannot be planned."), Fields: []fault.Field{{Pointer: "query:currency", Sent: asked, Message: says}}}
	}
	var names message.Either
	for _, code := range there {
		names = append(names, message.Verbatim(code))
	}
	switch {
	case asked == "" && len(there) > 1:
		return bad(message.F("the open contracts do not pay in one currency: say which counts, %s", names))
	case asked != "" && len(there) > 0 && !slices.Contains(there, asked):
		return bad(message.F("no open contract pays in that: leave this out, or name %s", names))
	case asked == "" && len(there) == 1:
		asked = there[0]
	}
	a.Currency = asked
	var contracts []Contract
	var kept []ledger.Resolved
	for i, c := range a.Spec.Contracts {
		if c.Terms.Currency == asked {
			contracts, kept = append(contracts, c), append(kept, (*sets)[i])
			continue
		}
		a.Refused = append(a.Refused, Refused{c.ID, c.Name, c.Buyer, message.F("It pays in %s, and this plan counts in %s.", c.Terms.Currency, asked)})
	}
	a.Spec.Contracts, *sets = contracts, kept
	return nil
}

// parameters are those that a figure is needed of.
func (s *Spec) parameters() (out []string) {
	add := func(parameter string) {
		if !slices.Contains(out, parameter) {
			out = append(out, parameter)
		}
	}
	for i := range s.Contracts {
		for _, l := range s.Contracts[i].Limits {
			add(l.Parameter)
		}
		for _, d := range s.Contracts[i].Terms.Discounts {
			add(d.Parameter)
		}
	}
	return out
}

// declare works out which limits bind the honey that is here, by what it declares.
func (c *Contract) declare(set ledger.Resolved, open []ledger.OpenContract, stock []plan.Stock) error {
	grade := ""
	for i := range open {
		if open[i].Root == c.ID {
			grade = open[i].Grade
		}
	}
	c.Declared = map[string][]plan.Limit{}
	for i := range stock {
		key := declaring(stock[i].Declares)
		if _, known := c.Declared[key]; known || key == "" {
			continue
		}
		limits, _, err := plan.LimitsOf(set, standard.Declaration(stock[i].Declares), grade)
		if err != nil {
			return err
		}
		c.Declared[key] = limits
	}
	return nil
}

// lookFor takes the limits out of the plan of which no honey here has a figure.
func (a *Asked) lookFor() {
	measured := map[string]bool{}
	for i := range a.Spec.Stock {
		for parameter := range a.Spec.Stock[i].Figures {
			measured[parameter] = true
		}
	}
	for i := range a.Spec.Contracts {
		c := &a.Spec.Contracts[i]
		for _, l := range c.Limits {
			if !measured[l.Parameter] && len(a.Spec.Stock) > 0 {
				c.Looks = append(c.Looks, l)
				a.Says = append(a.Says, message.F("%s limits %s, and no honey here was measured for it. The plan does not keep that limit: have what goes there measured first.", c.Name, standard.SayParameter(l.Parameter)))
			}
		}
		kept := func(limits []plan.Limit) []plan.Limit {
			return slices.DeleteFunc(slices.Clone(limits), func(l plan.Limit) bool { return !measured[l.Parameter] })
		}
		c.Limits = kept(c.Limits)
		for key, limits := range c.Declared {
			c.Declared[key] = kept(limits)
		}
	}
}

func (a *Asked) sayWhatIsMissing(open int) {
	switch {
	case open == 0:
		a.Says = append(a.Says, message.F("No contract is open on this day. Record what a buyer agreed to take as a contract, by limits that have a price, and ask again."))
	case len(a.Spec.Contracts) == 0:
		a.Says = append(a.Says, message.F("Of the open contracts none can be planned for: each says below what it lacks."))
	case len(a.Spec.Stock) == 0:
		a.Says = append(a.Says, message.F("No honey is here in containers that could go."))
	}
}
