package demo

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// contract is what the packers take, and what they pay.
func contract(buyer ledger.ID, first string) *ledger.RuleSet {
	limit := func(parameter, unit string, c standard.Comparator, figure, clause string) standard.Limit {
		return standard.Limit{Parameter: parameter, Unit: unit, Comparator: c, Limit: figure, Clause: clause}
	}
	percent, to := standard.MustDecimal("1.5"), standard.MustDecimal("18.6")
	return &ledger.RuleSet{
		Name: "Greywater drum contract", BuyerID: buyer, Citation: "contract GP-7", InForceFrom: standard.Date(first), Form: standard.FormLimits,
		Sampling: &standard.Sampling{Steps: []standard.SamplingStep{{From: 1, To: 5, All: true}, {From: 6, RootPlus: 1}}},
		Limits: []standard.Limit{
			limit("moisture", "%", standard.AtMost, "18.6", "2.1"),
			limit("hmf", "mg/kg", standard.AtMost, "40", "2.2"),
			limit("diastase", "Gothe scale", standard.AtLeast, "8", "2.3"),
			limit("colour_pfund", "mm Pfund", standard.AtMost, "85", "2.4"),
		},
		Price: &standard.PriceTerms{Currency: "CAD", PricePerKg: standard.MustDecimal("420"), Discounts: []standard.Discount{
			{Parameter: "moisture", Unit: "%", Above: standard.MustDecimal("18.0"), UpTo: &to, Percent: &percent, Clause: "4.1"},
		}},
	}
}

// release lets the lots of some containers leave, where that was not said
// before: by a check where the laboratory's figures are well inside the
// contract, on the owner's word otherwise.
func (s *season) release(at time.Time, containers []ledger.ID) {
	lotOf := map[ledger.ID]ledger.ID{}
	for _, c := range s.h.containers {
		lotOf[c.id] = c.lot
	}
	for _, id := range containers {
		lot := lotOf[id]
		if s.h.released[lot] {
			continue
		}
		s.h.released[lot] = true
		at = at.Add(2 * time.Minute)
		status := &ledger.LotStatus{LotID: lot, Status: ledger.StatusReleased}
		if found, ok := s.h.analysed[lot]; ok && s.eventful && found.at.Before(at) && found.meets {
			rules := []ledger.RuleSetRef{{RuleSetID: s.s.contract}}
			if found.clean {
				rules = append(rules, ledger.RuleSetRef{RuleSetID: s.s.terms})
			}
			status.CheckID = s.w.add(at, 30*time.Second, owner, &ledger.Check{
				LotID: lot, RuleSets: rules, On: standard.Date(at.In(s.o.Location).Format(time.DateOnly)),
			}).ID
		} else {
			status.Override, status.Note = true, "the buyer goes by his own tests"
		}
		s.w.add(at.Add(time.Minute), 30*time.Second, owner, status)
	}
}

// analysis is what is known of a lot once the laboratory has written.
type analysis struct {
	at    time.Time
	meets bool
	clean bool // of the residue that the bakers ask for
}

// known notes a laboratory's answer, and how the containers for it were drawn.
func (s *season) known(at time.Time, lot ledger.ID, p parcel) {
	s.h.analysed[lot] = analysis{at: at, meets: p.moisturePct < 18.2 && p.hmf < 30 && p.diastase > 12 && p.pfundMM < 75}
	if s.eventful {
		s.w.add(at.AddDate(0, 0, -4), time.Minute, owner, &ledger.Sample{LotID: lot, RuleSet: ledger.RuleSetRef{RuleSetID: s.s.contract}})
	}
}

// paid is the packers' answer to a truck, three weeks later: they weigh each
// drum a little lighter.
func (s *season) paid(at time.Time, dispatch ledger.ID, containers []ledger.ID) {
	kgOfID := map[ledger.ID]float64{}
	for _, c := range s.h.containers {
		kgOfID[c.id] = c.honey.kg
	}
	x := &ledger.Settlement{DispatchID: dispatch, RuleSet: ledger.RuleSetRef{RuleSetID: s.s.contract}, Reference: "statement 1"}
	total := int64(0)
	for i, id := range containers {
		moisture := 17.2 + 0.1*float64(i%9)
		net := grams(kgOfID[id]-0.3, 0.1)
		x.Drums = append(x.Drums, ledger.BuyerFound{FillID: id, NetG: net, MoisturePct: &moisture})
		total += net
	}
	x.PaidMinor = total * 420 / 1000
	s.w.add(at.AddDate(0, 0, 21), time.Minute, owner, x)
}

// holdLast holds a lot of which nothing has left.
func (s *season) holdLast(at time.Time) {
	for i := len(s.h.containers) - 1; i >= 0; i-- {
		if lot := s.h.containers[i].lot; s.eventful && !s.h.released[lot] {
			s.w.add(at, time.Minute, owner, &ledger.LotStatus{LotID: lot, Status: ledger.StatusHeld, Why: ledger.HeldForFinding,
				Note: "the laboratory repeats the residue screen"})
			return
		}
	}
}
