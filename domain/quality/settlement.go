package quality

import (
	"math"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Settled is what a buyer found and paid beside what the outfit measured, by
// the terms that both agreed to. Money is in minor units of Currency.
type Settled struct {
	Entry    ledger.ID
	Dispatch ledger.ID
	Buyer    string
	Terms    string
	Currency string
	Drums    []SettledDrum
	// OwnNetG and BuyerNetG are of the drums that the buyer reports.
	OwnNetG, BuyerNetG int64
	// ByOwn and ByBuyer are what the terms come to on each side's figures; nil
	// where a figure that the price asks for is missing for some drum.
	ByOwn, ByBuyer *int64
	Paid           int64
	// NotReported are drums of the dispatch that the buyer says nothing of;
	// NotReportedG is their honey, and NotReportedByOwn what the terms come to for
	// them on the outfit's figures: it is in none of the sums above. It is nil where
	// there are none, or a figure is missing.
	NotReported      []string
	NotReportedG     int64
	NotReportedByOwn *int64
}

// SettledDrum is one drum on both sides.
type SettledDrum struct {
	FillID    ledger.ID
	Container string
	OwnNetG   int64
	BuyerNetG int64
	// OwnMoisturePct and OwnColour are of the drum, or of a sample of its lot.
	OwnMoisturePct, BuyerMoisturePct *float64
	OwnColour, BuyerColour           *float64
	ByOwn, ByBuyer                   *int64
	Differences                      []message.Text
}

// Tolerances under which two sides are said to agree (common practice): half a
// kilogram a drum, half a point of moisture, 3 mm Pfund.
const (
	netToleranceG        = 500
	moistureTolerancePct = 0.5
	colourToleranceMM    = 3
)

// SettlementOf sets a settlement beside the outfit's own figures. It fails
// where no such settlement stands.
func SettlementOf(b *ledger.Book, id ledger.ID) (*Settled, error) {
	e := b.InForce(id)
	if e == nil || e.Kind != ledger.KindSettlement {
		return nil, fault.New(fault.NotFound, "The book has no settlement %s.", id)
	}
	x := e.Body.(*ledger.Settlement)
	d := ledger.Named[ledger.Dispatch](b, x.DispatchID)
	terms, err := termsOf(b, x)
	if err != nil {
		return nil, err
	}
	on := standard.Date(e.OccurredAt.In(b.Location()).Format("2006-01-02"))
	s := &Settled{Entry: e.ID, Dispatch: b.Root(x.DispatchID), Buyer: b.Name(d.BuyerID), Terms: terms.Name(), Currency: terms.Price.Currency, Paid: x.PaidMinor}
	reported := map[ledger.ID]bool{}
	lots := map[ledger.ID]*Gathered{}
	for _, found := range x.Drums {
		reported[b.Root(found.FillID)] = true
		drum, err := settledDrum(b, lots, found, terms, on)
		if err != nil {
			return nil, err
		}
		s.add(drum)
	}
	for _, id := range d.Containers {
		if reported[b.Root(id)] {
			continue
		}
		drum, own, err := ownSide(b, lots, id, on)
		if err != nil {
			return nil, err
		}
		first := len(s.NotReported) == 0
		s.NotReported, s.NotReportedG = append(s.NotReported, drum.Container), s.NotReportedG+drum.OwnNetG
		s.NotReportedByOwn = sum(first, s.NotReportedByOwn, settle(terms.Price, drum.Container, drum.OwnNetG, own, &drum))
	}
	return s, nil
}

func termsOf(b *ledger.Book, x *ledger.Settlement) (*standard.RuleSet, error) {
	e, _ := b.Entry(x.TermsEntry)
	if e == nil {
		return nil, fault.New(fault.NotFound, "The terms of the settlement.")
	}
	r := e.Body.(*ledger.RuleSet)
	return r.Compile(b.Root(e.ID).String(), b.VersionOf(e), b.Name(r.BuyerID))
}

func (s *Settled) add(d SettledDrum) {
	first := len(s.Drums) == 0
	s.Drums = append(s.Drums, d)
	s.OwnNetG, s.BuyerNetG = s.OwnNetG+d.OwnNetG, s.BuyerNetG+d.BuyerNetG
	s.ByOwn, s.ByBuyer = sum(first, s.ByOwn, d.ByOwn), sum(first, s.ByBuyer, d.ByBuyer)
}

// sum adds a drum to a total; what is missing once stays missing.
func sum(first bool, total, drum *int64) *int64 {
	switch {
	case drum == nil, total == nil && !first:
		return nil
	case first:
		t := *drum
		return &t
	}
	t := *total + *drum
	return &t
}

// ownSide is a drum as the outfit has it, with its figures.
func ownSide(b *ledger.Book, lots map[ledger.ID]*Gathered, fillID ledger.ID, on standard.Date) (SettledDrum, map[string]standard.Decimal, error) {
	fill := ledger.Named[ledger.Fill](b, fillID)
	d := SettledDrum{FillID: b.Root(fillID), Container: fill.Container, OwnNetG: fill.NetG()}
	lot := b.Root(fill.LotID)
	if lots[lot] == nil {
		g, err := Gather(b, lot, on)
		if err != nil {
			return d, nil, err
		}
		lots[lot] = g
	}
	return d, lots[lot].valuesOf(fill.Container), nil
}

func settledDrum(b *ledger.Book, lots map[ledger.ID]*Gathered, found ledger.BuyerFound, terms *standard.RuleSet, on standard.Date) (SettledDrum, error) {
	d, own, err := ownSide(b, lots, found.FillID, on)
	if err != nil {
		return d, err
	}
	d.BuyerNetG, d.BuyerMoisturePct, d.BuyerColour = found.NetG, found.MoisturePct, found.ColourPfund
	d.OwnMoisturePct, d.OwnColour = floatOf(own, "moisture"), floatOf(own, "colour_pfund")
	d.ByOwn = settle(terms.Price, d.Container, d.OwnNetG, own, &d)
	buyers := map[string]standard.Decimal{}
	for parameter, v := range map[string]*float64{"moisture": found.MoisturePct, "colour_pfund": found.ColourPfund} {
		if v != nil {
			buyers[parameter] = decimalOf(*v, 2)
		}
	}
	d.ByBuyer = settle(terms.Price, d.Container, d.BuyerNetG, buyers, &d)
	d.compare()
	return d, nil
}

// settle is what one drum comes to; nil where the terms ask for a figure that
// is missing, which is noted.
func settle(terms *standard.PriceTerms, container string, netG int64, values map[string]standard.Decimal, d *SettledDrum) *int64 {
	got, err := terms.Settle(standard.Parcel{ID: container, NetGrams: netG, Values: values})
	if err != nil {
		for _, f := range standard.FieldErrors(err) {
			d.Differences = append(d.Differences, message.F("no price for it: %s", f.Said()))
		}
		return nil
	}
	return &got.Net
}

func (d *SettledDrum) compare() {
	if apart := d.BuyerNetG - d.OwnNetG; apart > netToleranceG || apart < -netToleranceG {
		kg := func(grams int64) message.Kg { return message.Kg(float64(grams) / 1000) }
		d.Differences = append(d.Differences, message.F("net: %s paid, %s weighed here, a difference of %s", kg(d.BuyerNetG), kg(d.OwnNetG), kg(apart)))
	}
	differ := func(parameter string, own, buyers *float64, unit string, tolerance float64) {
		if own != nil && buyers != nil && math.Abs(*own-*buyers) > tolerance {
			d.Differences = append(d.Differences, message.F("%s: the buyer has %s %s, here it is %s", standard.SayParameter(parameter), message.Figure(*buyers), standard.SayUnit(unit), message.Figure(*own)))
		}
	}
	differ("moisture", d.OwnMoisturePct, d.BuyerMoisturePct, "%", moistureTolerancePct)
	differ("colour_pfund", d.OwnColour, d.BuyerColour, "mm Pfund", colourToleranceMM)
}

func floatOf(values map[string]standard.Decimal, parameter string) *float64 {
	v, ok := values[parameter]
	if !ok {
		return nil
	}
	x := v.Float64()
	return &x
}

// valuesOf are the figures of a container, or of samples of its lot where the
// container was not read.
func (g *Gathered) valuesOf(container string) map[string]standard.Decimal {
	values := map[string]standard.Decimal{}
	for _, r := range g.results {
		if _, done := values[r.Parameter]; done {
			continue
		}
		for _, e := range g.Evidence.Estimates(r.Parameter) {
			if e.Composite {
				if _, own := values[r.Parameter]; !own {
					values[r.Parameter] = e.High
				}
			}
			for _, m := range e.Measured {
				if m.ContainerID == container {
					values[r.Parameter] = m.High
				}
			}
		}
	}
	return values
}
