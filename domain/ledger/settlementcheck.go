package ledger

import (
	"fmt"
	"math"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// settles refuses a settlement that cannot be of the honey that was dispatched: paid for
// before it left, with more in a container than it holds, or above what the terms come to.
func (c *checker) settles(x *Settlement, dispatch *fact, terms *standard.PriceTerms) {
	left := dispatch.last.OccurredAt
	if c.day() < c.book.dayOf(left) {
		c.wrong("/occurred_at", c.entry.OccurredAt.Format(time.RFC3339), "That honey left on %s, so it cannot have been settled before. Was another dispatch or another day meant?", message.Day(left.In(c.book.loc)))
	}
	for i, d := range x.Drums {
		at := fmt.Sprintf("/drums/%d", i)
		if fill := body[Fill](c.book, d.FillID); fill != nil {
			if kind := body[ContainerKind](c.book, fill.ContainerKindID); kind != nil {
				c.fits(at+"/net_kg", kind, d.NetG, d.NetG)
			}
		}
		if m := d.MoisturePct; m != nil && (*m < driestPossible || *m > wettestPossible) {
			f := moistureFault(&MoistureReading{Scale: ScaleMoisture, AsRead: *m}, nil)
			f.Pointer = at + "/moisture_pct"
			c.fields = append(c.fields, f)
		}
	}
	if terms != nil {
		c.paid(x, dispatch, terms)
	}
}

// paid refuses more than all the honey of the dispatch comes to at the full price.
func (c *checker) paid(x *Settlement, dispatch *fact, terms *standard.PriceTerms) {
	d := body[Dispatch](c.book, dispatch.ID)
	if d == nil {
		return
	}
	nets := map[ID]int64{}
	for _, id := range d.Containers {
		if fill := body[Fill](c.book, id); fill != nil {
			nets[c.book.rootID(id)] = fill.NetG()
		}
	}
	for _, drum := range x.Drums {
		root := c.book.rootID(drum.FillID)
		nets[root] = max(nets[root], drum.NetG)
	}
	var most, grams int64
	full := standard.PriceTerms{Currency: terms.Currency, PricePerKg: terms.PricePerKg}
	for _, netG := range nets {
		got, err := full.Settle(standard.Parcel{NetGrams: netG})
		if err != nil {
			return // the terms give no amount to hold it against
		}
		most, grams = most+got.Net, grams+netG
	}
	if x.PaidMinor <= most {
		return
	}
	f := fault.Field{Pointer: "/paid_minor", Sent: x.PaidMinor, Message: message.F(
		"All %s of that dispatch come to %s minor units (cents) at the full price of these terms, and this is more. Only what was paid for the honey belongs here, without tax and freight; a better price needs terms of its own.",
		message.Kg(kg(grams)), most)}
	if hundredth := x.PaidMinor / 100; 10*hundredth > most/2 && hundredth <= most {
		f.DidYouMean = hundredth
	}
	c.fields = append(c.fields, f)
}

// How far a buyer's figures may be from the outfit's own before they are odd (common
// practice): of a net 2 %, and at least 2 kg; of moisture a point, some twice what two
// laboratories differ by; of what was paid 1 % of what the terms come to. A year is long
// to wait for money.
const (
	netApart      = 0.02
	netApartG     = 2000
	moistureApart = 1.0
	paidApart     = 0.01
	settledWithin = 366 * 24 * time.Hour
)

// What a flag of a settlement is about, as Flag.Quantity.
const (
	SettledNet      = "net_kg"
	SettledMoisture = "moisture_pct"
	SettledPaid     = "paid_minor"
	SettledLate     = "occurred_at"
)

// oddSettlement flags what of a settlement is far from what was dispatched: of the nets
// and of the moistures the one that is furthest off.
func (s *State) oddSettlement(f *fact, x *Settlement) {
	dispatch := s.book.at(x.DispatchID)
	if !before(dispatch, f) {
		return
	}
	left := dispatch.last.OccurredAt
	net, moist := Flag{}, Flag{}
	for _, d := range x.Drums {
		fill := body[Fill](s.book, d.FillID)
		if fill == nil || !before(s.book.at(d.FillID), f) {
			continue
		}
		on := Place{PlaceContainer, s.book.rootID(d.FillID)}
		if off := abs(d.NetG - fill.NetG()); off > max(netApartG, int64(netApart*float64(fill.NetG()))) && off > net.MassG {
			net = Flag{On: on, Quantity: SettledNet, Unit: "kg", Expected: kg(fill.NetG()), Found: kg(d.NetG), MassG: off}
		}
		own := s.book.LastMoisture(d.FillID, left)
		if own == nil {
			own = s.book.LastMoisture(fill.LotID, left)
		}
		if own == nil || d.MoisturePct == nil {
			continue
		}
		if off := math.Abs(*d.MoisturePct - own.Pct); off > moistureApart && off > math.Abs(moist.Found-moist.Expected) {
			moist = Flag{On: on, Quantity: SettledMoisture, Unit: "%", Expected: own.Pct, Found: *d.MoisturePct, MassG: fill.NetG()}
		}
	}
	buyer := ID{}
	if d := body[Dispatch](s.book, x.DispatchID); d != nil {
		buyer = s.book.rootID(d.BuyerID)
	}
	of := Place{PlaceBuyer, buyer}
	flags := []Flag{net, moist}
	if off, ok := s.paidOff(x); ok && math.Abs(off) > paidApart {
		flags = append(flags, Flag{On: of, Quantity: SettledPaid, Unit: "%", Expected: 100, Found: 100 + 100*off})
	}
	if waited := time.Duration(f.at-dispatch.last.at) * time.Microsecond; waited > settledWithin {
		flags = append(flags, Flag{On: of, Quantity: SettledLate, Unit: "d", Expected: settledWithin.Hours() / 24, Found: math.Floor(waited.Hours() / 24)})
	}
	for _, flag := range flags {
		if flag.Quantity != "" {
			flag.Code, flag.Entry = SettlementOdd, f.root.ID
			s.flag(flag)
		}
	}
}

// before reports whether something stands in the line before a fact. What stands after
// it says nothing of it, so that a later change there leaves the flags as they are.
func before(what, f *fact) bool {
	return what != nil && !what.withdrawn() && what.last.precedes(f)
}

// paidOff is by which part what was paid is off what the terms come to on the buyer's own
// figures; false where a figure that the terms ask for is missing, or drums are: what was
// paid may be for those too.
func (s *State) paidOff(x *Settlement) (off float64, known bool) {
	terms, _ := s.book.Entry(x.TermsEntry)
	d := body[Dispatch](s.book, x.DispatchID)
	if terms == nil || d == nil || len(x.Drums) < len(d.Containers) {
		return 0, false
	}
	set, is := terms.Body.(*RuleSet)
	if !is || set.Price == nil {
		return 0, false
	}
	var due int64
	for _, drum := range x.Drums {
		values := map[string]standard.Decimal{}
		for parameter, v := range map[string]*float64{"moisture": drum.MoisturePct, "colour_pfund": drum.ColourPfund} {
			if v == nil {
				continue
			}
			value, err := standard.ParseDecimal(figure(*v))
			if err != nil {
				return 0, false
			}
			values[parameter] = value
		}
		got, err := set.Price.Settle(standard.Parcel{NetGrams: drum.NetG, Values: values})
		if err != nil {
			return 0, false
		}
		due += got.Net
	}
	if due <= 0 {
		return 0, false
	}
	return float64(x.PaidMinor-due) / float64(due), true
}
