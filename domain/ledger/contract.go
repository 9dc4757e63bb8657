package ledger

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Contract is what a buyer agreed to take: of which quality and at which price, how much, by
// when, and what it costs to bring it there. It moves no honey.
type Contract struct {
	BuyerID ID `json:"buyer_id"`
	// RuleSet is the outfit's own rule set with the limits, the price and its steps.
	RuleSet RuleSetRef `json:"rule_set"`
	// Grade is the one that was agreed, where the rule set tells grades or classes.
	Grade string `json:"grade,omitempty"`
	// PromisedG is what was promised, MostG what the buyer takes at the most.
	PromisedG int64 `json:"promised_g,omitempty"`
	MostG     int64 `json:"most_g"`
	// LastDay is the last day on which the honey may leave, by the outfit's clock; empty where none
	// was agreed.
	LastDay Date `json:"last_day,omitempty"`
	// Freight that the outfit pays is in minor units of the currency of the price: for each
	// kilogram, each container, and each load of up to LoadG.
	FreightPerKgMinor        float64 `json:"freight_per_kg_minor,omitempty"`
	FreightPerContainerMinor int64   `json:"freight_per_container_minor,omitempty"`
	FreightPerLoadMinor      int64   `json:"freight_per_load_minor,omitempty"`
	LoadG                    int64   `json:"load_g,omitempty"`
	// Closed says that nothing more goes by it.
	Closed    bool   `json:"closed,omitempty"`
	Reference string `json:"reference,omitempty"`
	Note      string `json:"note,omitempty"`
}

func (*Contract) Kind() Kind { return KindContract }

// contract refuses what no buyer can have agreed to, and a rule set that names no price.
func (c *checker) contract(x *Contract) {
	c.names("/buyer_id", x.BuyerID, KindBuyer)
	if set, ok := c.reference("/rule_set", x.RuleSet, c.day()); ok {
		c.agreed(x, set)
	}
	if x.PromisedG > x.MostG {
		c.wrong("/promised_kg", kg(x.PromisedG), "More is promised than the buyer takes at the most, %s.", message.Kg(kg(x.MostG)))
	}
	if day := Date(c.day()); x.LastDay != "" && x.LastDay < day {
		c.wrong("/last_day", string(x.LastDay), "The last day cannot be before the day on which it was agreed, %s. Was another date meant?", string(day))
	}
	switch {
	case x.FreightPerLoadMinor > 0 && x.LoadG == 0:
		c.wrong("/load_kg", nil, "Freight is by the load: say how much honey a load takes.")
	case x.LoadG > 0 && x.FreightPerLoadMinor == 0:
		c.wrong("/freight_per_load_minor", nil, "A load is given, and not what it costs: say the freight of a load, or leave load_kg out.")
	}
}

// agreed holds a contract against the rule set that it goes by.
func (c *checker) agreed(x *Contract, set Resolved) {
	if set.Price == nil {
		c.wrong("/rule_set", nil, "%s has no price, so it does not say what this contract pays. Name limits of the outfit's own that have a price, or add one to them first.", set.SaidTitle())
	}
	if own := body[RuleSet](c.book, x.RuleSet.RuleSetID); own != nil && own.BuyerID != (ID{}) && c.book.rootID(own.BuyerID) != c.book.rootID(x.BuyerID) {
		c.wrong("/rule_set/rule_set_id", x.RuleSet.RuleSetID, "These are the limits of %s. Name limits of this buyer, or limits without a buyer.", c.book.Name(own.BuyerID))
	}
	switch told := set.Form != standard.FormLimits; {
	case told && !slices.Contains(set.Grades, x.Grade):
		c.wrong("/grade", x.Grade, "%s tells grades: say which of them was agreed.", set.SaidTitle())
	case !told && x.Grade != "":
		c.wrong("/grade", x.Grade, "%s tells no grades: leave this out.", set.SaidTitle())
	}
}

// OpenContract is a contract by which honey may still leave.
type OpenContract struct {
	*Contract
	Root  ID
	Entry *Entry
	// SentG is what left by it so far (see OpenContracts), By the same by dispatch.
	SentG int64
	By    map[ID]int64
}

// LeftG is what the buyer still takes.
func (o *OpenContract) LeftG() int64 { return max(0, o.MostG-o.SentG) }

// OpenContracts lists the contracts by which honey may leave at an instant, those that end first
// in front. A dispatch names no contract: what left for a buyer counts for the contracts of this
// buyer that were open then, for the one that ends first until it is filled. A contract that was
// closed was open until the entry that closed it was recorded.
func (b *Book) OpenContracts(at time.Time) []OpenContract {
	return slices.DeleteFunc(b.FilledContracts(at), func(o OpenContract) bool { return o.Closed || !o.openAt(b, at) || o.LeftG() == 0 })
}

// FilledContracts are all contracts, open or not, with what left by each until an instant, those that end first in front.
func (b *Book) FilledContracts(at time.Time) []OpenContract {
	var all []OpenContract
	b.InForceOf(KindContract, func(root ID, e *Entry) bool {
		if !e.OccurredAt.After(at) {
			all = append(all, OpenContract{Contract: e.Body.(*Contract), Root: root, Entry: e})
		}
		return true
	})
	slices.SortStableFunc(all, func(x, y OpenContract) int {
		return cmp.Or(cmp.Compare(x.ends(), y.ends()), x.Entry.OccurredAt.Compare(y.Entry.OccurredAt), cmp.Compare(x.Entry.Number, y.Entry.Number))
	})
	b.fillContracts(all, at)
	return all
}

// ends is its last day, after all days where there is none.
func (o *OpenContract) ends() Date { return cmp.Or(o.LastDay, "9999-12-31") }

func (o *OpenContract) openAt(b *Book, at time.Time) bool {
	return !o.Entry.OccurredAt.After(at) && Date(b.dayOf(at)) <= o.ends() && (!o.Closed || !at.After(o.Entry.RecordedAt))
}

// fillContracts adds up what left by each contract until an instant.
func (b *Book) fillContracts(all []OpenContract, until time.Time) {
	if len(all) == 0 {
		return
	}
	type dispatch struct {
		root ID
		*Entry
	}
	var sent []dispatch
	b.InForceOf(KindDispatch, func(root ID, e *Entry) bool {
		if !e.OccurredAt.After(until) {
			sent = append(sent, dispatch{root, e})
		}
		return true
	})
	slices.SortStableFunc(sent, func(x, y dispatch) int { return x.OccurredAt.Compare(y.OccurredAt) })
	for _, e := range sent {
		d := e.Body.(*Dispatch)
		left := b.DispatchedG(d)
		for i := range all {
			if o := &all[i]; left > 0 && b.rootID(o.BuyerID) == b.rootID(d.BuyerID) && o.openAt(b, e.OccurredAt) {
				takes := min(left, o.LeftG())
				o.sent(e.root, takes)
				left -= takes
			}
		}
	}
}

func (o *OpenContract) sent(dispatch ID, grams int64) {
	if grams == 0 {
		return
	}
	if o.By == nil {
		o.By = map[ID]int64{}
	}
	o.SentG, o.By[dispatch] = o.SentG+grams, o.By[dispatch]+grams
}

// DispatchedG is the honey of a dispatch by the weights of its containers' fills.
func (b *Book) DispatchedG(d *Dispatch) (grams int64) {
	for _, id := range d.Containers {
		if f := body[Fill](b, id); f != nil {
			grams += f.NetG()
		}
	}
	return grams
}
