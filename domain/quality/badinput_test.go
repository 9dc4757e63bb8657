package quality_test

import (
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

func TestARuleSetThatCannotBeIsRefusedWhole(t *testing.T) {
	t.Parallel()
	limit := func(change func(*standard.Limit)) func(*ledger.RuleSet) {
		return func(r *ledger.RuleSet) { change(&r.Limits[0]) }
	}
	for _, c := range []struct {
		what    string
		spoil   func(*ledger.RuleSet)
		pointer string
		says    string
	}{
		{"a unit that does not fit", limit(func(l *standard.Limit) { l.Unit = "mg/kg" }), "/limits/0/unit", "moisture is stated in %"},
		{"a colour in the other scale", limit(func(l *standard.Limit) { l.Parameter, l.Unit = "colour_pfund", "OD at 560 nm" }), "/limits/0/unit", "scale of colour optical density"},
		{"no clause", limit(func(l *standard.Limit) { l.Clause = "" }), "/limits/0/clause", "Name the clause"},
		{"a limit that is no number", limit(func(l *standard.Limit) { l.Limit = "18,5" }), "/limits/0/limit", "plain decimal number"},
		{"a moisture over 100", limit(func(l *standard.Limit) { l.Limit = "178" }), "/limits/0/limit", "cannot be above 100"},
		{"a parameter that nobody measures", limit(func(l *standard.Limit) { l.Parameter = "taste" }), "/limits/0/parameter", "No such parameter"},
		{"an attribute that nobody declares", limit(func(l *standard.Limit) {
			l.When = &standard.Condition{Attribute: "weather", Includes: []string{"fine"}}
		}), "/limits/0/when/attribute", "can ask for"},
		{"a condition that no lot meets", limit(func(l *standard.Limit) {
			is := standard.Condition{Attribute: "use", Only: []string{"bakers"}}
			l.When = &standard.Condition{All: []standard.Condition{is, {Not: &is}}}
		}), "/limits/0/when", "no lot can ever meet"},
		{"two lines for the same lots", func(r *ledger.RuleSet) {
			again := r.Limits[0]
			again.Limit = "17.0"
			r.Limits = append(r.Limits, again)
		}, "/limits/2/when", "neither condition is the more specific"},
		{"conditions that overlap", func(r *ledger.RuleSet) {
			lime, pressed := r.Limits[0], r.Limits[0]
			lime.When = &standard.Condition{Attribute: "kind", Includes: []string{"tilia"}}
			pressed.When = &standard.Condition{Attribute: "processing", Includes: []string{"pressed"}}
			r.Limits = append(r.Limits, lime, pressed)
		}, "/limits/3/when", "neither condition is the more specific"},
		{"an end before its beginning", func(r *ledger.RuleSet) { r.InForceFrom, r.InForceTo = "2026-06-01", "2026-05-01" }, "/in_force_to", "lies before"},
		{"discounts that overlap", func(r *ledger.RuleSet) { r.Price.Discounts = append(r.Price.Discounts, r.Price.Discounts[0]) }, "/price/discounts/1", "overlaps"},
		{"a buyer that is none", func(r *ledger.RuleSet) { r.BuyerID = ledger.ID{7} }, "/buyer_id", "no buyer"},
	} {
		t.Run(c.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse(t, nil)
			rule := contract(h.Buyer, "18.0")
			c.spoil(rule)
			h.refused(c.what, fault.Invalid, 10, rule, c.pointer, lowerOrUpper(c.says))
		})
	}
}

// lowerOrUpper leaves off the first letter, which begins a sentence or not.
func lowerOrUpper(s string) string { return s[1:] }

func TestAReadingThatNoRuleSetCouldReadIsRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what     string
		measured []ledger.Measured
		observed []ledger.Observed
		pointer  string
		says     string
	}{
		{"HMF without its method", []ledger.Measured{{Quantity: "hmf_mg_per_kg", Value: 8}}, nil, "/measured/0/method", "needs its method"},
		{"Pfund millimetres as optical density", []ledger.Measured{{Quantity: "colour_od_560nm", Value: 34}}, nil, "/measured/0/value", "looks like mm Pfund"},
		{"a Pfund reading past the wedge", []ledger.Measured{{Quantity: "colour_mm_pfund", Value: 340}}, nil, "/measured/0/value", "ends at 140"},
		{"microsiemens as millisiemens", []ledger.Measured{{Quantity: "conductivity_ms_per_cm", Value: 350}}, nil, "/measured/0/value", "looks like µS/cm"},
		{"a pH of 17", []ledger.Measured{{Quantity: "ph", Value: 17}}, nil, "/measured/0/value", "from 0 to 14"},
		{"a water activity in percent", []ledger.Measured{{Quantity: "water_activity", Value: 59}}, nil, "/measured/0/value", "looks like percent"},
		{"a water activity of nothing", []ledger.Measured{{Quantity: "water_activity", Value: 0}}, nil, "/measured/0/value", "above 0"},
		{"a density in kilograms a cubic metre", []ledger.Measured{{Quantity: "density_kg_per_l", Value: 1420}}, nil, "/measured/0/value", "looks like kg/m3"},
		{"a density below nothing", []ledger.Measured{{Quantity: "density_kg_per_l", Value: -40}}, nil, "/measured/0/value", "from 1 to 2"},
		{"sucrose of 178", []ledger.Measured{{Quantity: "sucrose_g_per_100g", Value: 178}}, nil, "/measured/0/value", "cannot be above 100"},
		{"a word that answers nothing", nil, []ledger.Observed{{What: "fermentation", Word: "perhaps"}}, "/observed/0/word", "absent, present"},
		{"something that nobody looks at", nil, []ledger.Observed{{What: "mood", Word: "good"}}, "/observed/0/what", "no such parameter"},
	} {
		h := newHouse(t, nil)
		h.refused(c.what, fault.Invalid, 30, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Laboratory: "Fern Valley",
			Measured: c.measured, Observed: c.observed}, c.pointer, lowerOrUpper(c.says))
	}
}

func TestALotDeclaresOnlyWhatStandardsKnow(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.refused("a kind that is none", fault.Invalid, 30, &ledger.Lot{Code: "26-020", Declares: standard.Declaration{"kind": {"wishful"}}}, "/declares/kind", "o such value")
	h.refused("an attribute that is none", fault.Invalid, 30, &ledger.Lot{Code: "26-020", Declares: standard.Declaration{"mood": {"good"}}}, "/declares/mood", "can declare")
	h.refused("two uses", fault.Invalid, 30, &ledger.Lot{Code: "26-020", Declares: standard.Declaration{"use": {"table", "bakers"}}}, "/declares/use", "nly one value")
}

func TestACheckNamesRuleSetsThatAreInForce(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	future := contract(h.Buyer, "18.0")
	future.InForceFrom = "2027-01-01"
	id := h.at(10, future)
	check := func(on standard.Date, refs ...ledger.RuleSetRef) *ledger.Check {
		return &ledger.Check{LotID: h.lot, RuleSets: refs, On: on}
	}
	for _, c := range []struct {
		what    string
		check   *ledger.Check
		pointer string
		says    string
	}{
		{"an edition long superseded", check("2026-07-09", ledger.RuleSetRef{Standard: "codex-1987"}), "/rule_sets/0/standard", "on that day use codex-cxs-12-1981"},
		{"a contract not yet in force", check("2026-07-09", own(id)), "/rule_sets/0/rule_set_id", "not yet in force"},
		{"a published rule set that is none", check("2026-07-09", ledger.RuleSetRef{Standard: "eu-milk"}), "/rule_sets/0/standard", "o published rule set"},
		{"a version that is none", check("2026-07-09", ledger.RuleSetRef{RuleSetID: id, Version: 3}), "/rule_sets/0/rule_set_id", "no version 3"},
		{"neither one nor the other", check("2026-07-09", ledger.RuleSetRef{}), "/rule_sets/0", "either a published rule set"},
		{"the same twice", check("2026-07-09", ledger.RuleSetRef{Standard: "eu-honey"}, ledger.RuleSetRef{Standard: "eu-2001-110"}), "/rule_sets/1", "listed twice"},
		{"a day to come", check("2026-08-09", ledger.RuleSetRef{Standard: "eu-honey"}), "/on", "up to today only"},
	} {
		h.refused(c.what, fault.Invalid, 200, c.check, c.pointer, c.says)
	}
	h.refused("a day before the first drum", fault.Conflict, 200, check("2026-07-01", ledger.RuleSetRef{Standard: "eu-honey"}), "/lot_id", "no container by 2026-07-01")
}

func TestASettlementIsOfWhatLeft(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, contract(h.Buyer, "18.0"))
	plain := contract(h.Buyer, "18.0")
	plain.Name, plain.Price = "no price", nil
	unpriced := h.at(10, plain)
	h.at(100, h.overridden())
	sent := h.at(101, h.anyway(h.truck(0, 1)))
	say := func(ref ledger.RuleSetRef, drums ...int) *ledger.Settlement {
		x := &ledger.Settlement{DispatchID: sent, RuleSet: ref}
		for _, i := range drums {
			x.Drums = append(x.Drums, ledger.BuyerFound{FillID: h.drums[i], NetG: 290_000})
		}
		return x
	}
	h.refused("a drum that stayed here", fault.Invalid, 200, say(own(set), 0, 3), "/drums/1/fill_id", "did not leave")
	h.refused("a drum twice", fault.Invalid, 200, say(own(set), 0, 0), "/drums/1/fill_id", "listed twice")
	h.refused("terms without a price", fault.Invalid, 200, say(own(unpriced), 0), "/rule_set", "no price")
	h.refused("a standard as terms", fault.Invalid, 200, say(ledger.RuleSetRef{Standard: "eu-honey"}, 0), "/rule_set", "no price")
	first := h.at(200, say(own(set), 0, 1))
	h.refused("settled twice", fault.Conflict, 201, say(own(set), 0, 1), "/dispatch_id", "settled already")
	h.instead(first, 200, say(own(set), 0))
}
