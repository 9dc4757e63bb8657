package week

import (
	"errors"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan/held"
	"pullbook/domain/plan/rest"
	"pullbook/domain/plan/yards"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// How far is looked ahead for what falls due, and how many of each sort are told.
const (
	aheadDays  = 60
	mostEach   = 8
	mostLots   = 500
	daysOfWeek = 7
)

// Question is when and by which rules somebody asks.
type Question struct {
	On  standard.Date
	Now time.Time
	// Sets are the rule sets by which the outfit sells: how long a lot keeps goes by them.
	Sets []ledger.Resolved
}

// Asked is what a book has for the week. Its plan is worked out once the book is free.
type Asked struct {
	On    standard.Date
	items []Item
	days  *rest.Asked
	yards *yards.Asked
	notes []message.Text
}

// Plan is what to do, in order.
type Plan struct {
	On    standard.Date
	Items []Item
	// Notes say which other plans had nothing to go by, and what to enter.
	Notes []message.Text
}

// Ask takes from a book what should be done.
func Ask(b *ledger.Book, q Question) (*Asked, error) {
	a := &Asked{On: q.On}
	a.prepared(b)
	a.adopted(b, q.Now)
	if err := a.keeping(b, q); err != nil {
		return nil, err
	}
	a.contracts(b, q)
	a.findings(b)
	a.instruments(b, q)
	var err error
	if a.days, err = rest.Ask(b, rest.Question{Now: q.Now}); err != nil && !a.noted(err) {
		return nil, err
	}
	if a.yards, err = yards.Ask(b, yards.Question{Probability: yards.DefaultProbability}, q.Now); err != nil && !a.noted(err) {
		return nil, err
	}
	return a, nil
}

// noted keeps why another plan had nothing to go by; false where that is no such fault.
func (a *Asked) noted(err error) bool {
	var f *fault.Error
	if !errors.As(err, &f) || f.Code == fault.Internal {
		return false
	}
	if len(f.Fields) > 0 {
		a.notes = append(a.notes, f.Fields[0].Message)
		return true
	}
	a.notes = append(a.notes, f.Message)
	return true
}

// Plan puts everything in order. seed begins what the rest of the season leaves to chance.
func (a *Asked) Plan(seed uint64) *Plan {
	out := &Plan{On: a.On, Items: append([]Item(nil), a.items...), Notes: a.notes}
	if a.days != nil {
		p := a.days.House.Plan(seed)
		out.Items = append(out.Items, ofDays(a.days, &p, a.On)...)
	}
	if a.yards != nil {
		out.Items = append(out.Items, ofYards(a.yards.Plan())...)
	}
	inOrder(out.Items)
	return out
}

func (a *Asked) add(items ...Item) { a.items = append(a.items, items...) }

// prepared are the dispatches to load and the blends to pour.
func (a *Asked) prepared(b *ledger.Book) {
	for i, e := range b.Prepared() {
		if i == mostEach {
			break
		}
		p := e.Body.(*ledger.PreparedDispatch)
		item := Item{Sort: Load, Of: b.Root(e.ID), By: standard.Date(p.LeavesOn), Do: message.F("Load the dispatch to %s.", b.Name(p.BuyerID)),
			Why: message.F("It is prepared, to leave on %s.", message.Date(p.LeavesOn)), Waits: message.F("The buyer waits for it.")}
		for _, id := range p.Containers {
			h, _ := b.State().Holder(b.Root(id))
			item.Kg += float64(h.Grams) / 1000
		}
		if p.LeavesOn < ledger.Date(a.On) {
			item.Waits = message.F("It should have left already: the buyer waits.")
		}
		a.add(item)
	}
	for i, e := range b.PreparedBlends() {
		if i == mostEach {
			break
		}
		p := e.Body.(*ledger.PreparedBlend)
		left, kg := 0, 0.0
		for _, t := range b.Taken(e) {
			if t.Done() {
				continue
			}
			grams := t.MassG
			if h, _ := b.State().Holder(b.Root(t.From.ID)); grams == 0 {
				grams = h.Grams // it goes whole
			}
			left, kg = left+1, kg+float64(grams)/1000
		}
		a.add(Item{Sort: Pour, Of: b.Root(e.ID), Kg: kg, Do: message.F("Pour the blend %s into %s.", message.Quoted(p.Title), b.Name(p.TankID)),
			Why:   message.F("A manager prepared it, and %s left to pour.", message.Plural{N: float64(left), One: "%s is", Other: "%s are"}),
			Waits: message.F("What is meant for it goes nowhere else meanwhile.")})
	}
}

// adopted are the next steps of the plans that somebody goes by, with the day on which each begins.
func (a *Asked) adopted(b *ledger.Book, now time.Time) {
	for i, e := range b.AdoptedPlans() {
		if i == mostEach {
			break
		}
		if held.Lapsed(e.Body.(*ledger.AdoptedPlan), e.OccurredAt, now) {
			continue
		}
		for _, s := range held.Steps(b, e, now) {
			if s.Done || s.Lapsed {
				continue
			}
			item := Item{Sort: Do, Of: b.Root(e.ID), Do: message.F("%s.", s.Said()), Why: message.F("The plan %s asks for it.", message.Quoted(e.Body.(*ledger.AdoptedPlan).Title)),
				Waits: message.F("What the plan expects does not come then.")}
			item.By = standard.Date(s.LastDay)
			if s.At != nil {
				item.By = standard.Date(s.At.In(b.Location()).Format(time.DateOnly))
			}
			a.add(item)
			break
		}
	}
}

// keeping are the lots that have to go first.
func (a *Asked) keeping(b *ledger.Book, q Question) error {
	var lots []ledger.ID
	b.InForceOf(ledger.KindLot, func(root ledger.ID, _ *ledger.Entry) bool {
		if b.State().LotMass(root).HeldG > 0 && b.State().LotStatus(root).Status != ledger.StatusHeld {
			lots = append(lots, root)
		}
		return len(lots) < mostLots
	})
	kept, err := quality.Keeping(b, lots, q.Sets, q.On)
	if err != nil {
		return err
	}
	n := 0
	for _, k := range kept {
		if item, due := ofLot(&k, q.On); due && n < mostEach {
			a.add(item)
			n++
		}
	}
	return nil
}

// ofLot is what a lot asks for; false where it keeps on.
func ofLot(k *quality.Keeps, on standard.Date) (Item, bool) {
	item := Item{Sort: Send, Of: k.LotID, Kg: float64(k.HeldG) / 1000, Why: message.F("%s.", message.Capital(k.Why))}
	switch {
	case k.SeenFermenting:
		item.By, item.Do = on, message.F("Keep lot %s apart and decide what becomes of it.", k.Code)
		item.Why, item.Waits = message.F("Somebody saw it ferment."), message.F("What ferments foams over, and spoils what it is mixed with.")
	case k.Risk == standard.RiskHigh:
		item.By, item.Do = on, message.F("Send lot %s off before the others, or blend it with drier honey.", k.Code)
		item.Why, item.Waits = message.F("It is wet enough to ferment."), message.F("Each week makes it likelier that it ferments.")
	case k.GoBy != "" && k.GoBy <= after(on, aheadDays):
		item.By, item.Do = k.GoBy, message.F("Send lot %s off.", k.Code)
		item.Waits = message.F("After that day it may be past a limit.")
	default:
		return item, false
	}
	return item, true
}

// after is so many days after a day.
func after(on standard.Date, days int) standard.Date {
	t, err := time.Parse(time.DateOnly, string(on))
	if err != nil {
		return on
	}
	return standard.Date(t.AddDate(0, 0, days).Format(time.DateOnly))
}

// contracts are what was promised and is not sent yet, with a day before long.
func (a *Asked) contracts(b *ledger.Book, q Question) {
	n := 0
	for _, o := range b.OpenContracts(q.Now) {
		left := o.PromisedG - o.SentG
		if left <= 0 || o.LastDay == "" || standard.Date(o.LastDay) > after(q.On, aheadDays) || n == mostEach {
			continue
		}
		n++
		kg := float64(left) / 1000
		a.add(Item{Sort: Fulfil, Of: o.Root, By: standard.Date(o.LastDay), Kg: kg, Do: message.F("Send %s more to %s.", message.Kg(kg), b.Name(o.BuyerID)),
			Why: message.F("It was promised until %s.", message.Date(o.LastDay)), Waits: message.F("After that day the buyer need not take it.")})
	}
}

// findings are the dearest of what does not add up.
func (a *Asked) findings(b *ledger.Book) {
	open := season.Evening(b).Open
	for _, flag := range open[:min(len(open), mostEach)] {
		odd := season.OddOf(b, flag)
		item := Item{Sort: Look, Of: flag.Entry, Code: flag.Code, Kg: float64(flag.MassG) / 1000, Do: message.F("Look into what does not add up: %s", odd.Sentence)}
		item.Waits = message.F("The longer ago it was, the less anybody remembers.")
		if item.Kg > 0 {
			item.Waits = message.F("%s are in question, and reports that rest on them.", message.Kg(item.Kg))
		}
		item.Why = message.F("It stands among the findings.")
		if !odd.Chance.IsEmpty() {
			item.Why = message.F("%s.", message.Capital(odd.Chance))
		}
		a.add(item)
	}
}

// instruments are those whose check is due within a week.
func (a *Asked) instruments(b *ledger.Book, q Question) {
	end := q.Now.AddDate(0, 0, daysOfWeek)
	n := 0
	b.InForceOf(ledger.KindInstrument, func(root ledger.ID, e *ledger.Entry) bool {
		due, asked := b.CheckDue(root)
		if !asked || due.After(end) || n == mostEach {
			return true
		}
		n++
		a.add(Item{Sort: Check, Of: root, By: standard.Date(due.In(b.Location()).Format(time.DateOnly)), Do: message.F("Check %s against what it should show.", e.Body.(*ledger.Instrument).Name),
			Why: message.F("Its check is due on %s.", message.Day(due)), Waits: message.F("What it reads counts for less until then.")})
		return true
	})
}

// ofDays is what the rest of the season asks for.
func ofDays(asked *rest.Asked, p *rest.Plan, on standard.Date) (out []Item) {
	ends := message.F("The season ends about %s.", message.Day(asked.House.At(p.Ends.Middle)))
	if len(asked.Yards) > 0 {
		y := &asked.Yards[0]
		out = append(out, Item{Sort: Pull, Of: y.ID, By: after(on, daysOfWeek-1), Do: message.F("Pull %s next.", y.Name), Why: y.Said(), Waits: ends})
	}
	if p.ToOrder != nil && p.ToOrder.High > 0 {
		out = append(out, Item{Sort: Order, By: after(on, daysOfWeek-1), Do: message.F("Order drums."), Why: asked.SaidDrums(p), Waits: message.F("Tanks stay full once the drums are out, and the line stands.")})
	}
	if len(p.Binds) > 0 {
		out = append(out, Item{Sort: Clear, Do: message.F("See to what holds up the work first."), Why: p.Binds[0].Said(&asked.House), Waits: savedBy(p, ends)})
	}
	return out
}

// savedBy says what one thing more would save, or when the season ends where nothing would.
func savedBy(p *rest.Plan, ends message.Text) message.Text {
	if len(p.More) > 0 && p.More[0].Mean > 0 {
		return p.More[0].Said()
	}
	return ends
}

// ofYards are the yards to move.
func ofYards(p *yards.Plan) (out []Item) {
	for i := range p.Proposals {
		y := &p.Proposals[i]
		if y.Verdict == yards.Move && y.Effect != nil && len(out) < mostEach {
			out = append(out, Item{Sort: Move, Of: y.ID, Do: message.F("Move the hives of %s to a better place, once the season is over.", y.Name), Why: y.Why,
				Waits: message.F("Each season there costs about %s of honey.", message.Kg(y.Effect.GainsKg)), Kg: max(0, y.Effect.GainsKg)})
		}
	}
	return out
}
