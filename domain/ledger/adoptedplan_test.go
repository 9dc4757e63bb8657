package ledger_test

import (
	"errors"
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// Each plan that nobody can go by is refused at the field that is wrong, and one that can be is not.
func TestAPlanThatNobodyCanGoByIsRefused(t *testing.T) {
	t.Parallel()
	h := newAgreedHouse()
	contract := h.Write(6, h.contract())
	b, err := h.Open()
	if err != nil {
		t.Fatal(err)
	}
	lot := h.Entries[len(h.Entries)-1].ID
	b.InForceOf(ledger.KindLot, func(root ledger.ID, _ *ledger.Entry) bool {
		lot = root
		return true
	})
	good := func() *ledger.AdoptedPlan {
		at := ledgertest.At(8)
		return &ledger.AdoptedPlan{Title: "warm the large tank", Of: ledger.PlanOfWarming,
			Steps: []ledger.PlanStep{
				{Does: ledger.PlanHeats, AboutID: h.Settling, At: &at, SetC: new(42)}, {Does: ledger.PlanPulls, AboutID: h.Mill, Count: 12},
				{Does: ledger.PlanMoves, AboutID: h.Ridge}, {Does: ledger.PlanDelivers, AboutID: lot, ContractID: contract, Count: 2}},
			Expects: []ledger.PlanExpected{
				{Figure: ledger.PlanTemperature, AboutID: h.Settling, At: &at, Value: 40, Low: new(38.0), High: new(42.0)},
				{Figure: ledger.PlanHMF, AboutID: h.Settling, Value: 5}, {Figure: ledger.PlanDaysLeft, Value: 20}, {Figure: ledger.PlanPerHive, AboutID: h.Mill, Value: 30},
				{Figure: ledger.PlanDelivered, AboutID: contract, Value: 600}},
		}
	}
	check := func(x *ledger.AdoptedPlan) error {
		return b.Check(&ledger.Entry{ID: ledgertest.ID(9999), Kind: ledger.KindAdoptedPlan, OccurredAt: ledgertest.At(7), Body: x}, ledgertest.At(8))
	}
	if err := check(good()); err != nil {
		t.Fatalf("a plan that can be: %v", err)
	}
	for what, c := range map[string]struct {
		change        func(*ledger.AdoptedPlan)
		pointer, says string
	}{
		"nothing":                  {func(x *ledger.AdoptedPlan) { x.Steps, x.Expects = nil, nil }, "/steps", "what to do"},
		"a yard that is heated":    {func(x *ledger.AdoptedPlan) { x.Steps[0].AboutID = h.Mill }, "/steps/0/about_id", "yard"},
		"heat without a time":      {func(x *ledger.AdoptedPlan) { x.Steps[0].At = nil }, "/steps/0/at", "From when"},
		"a pull off a tank":        {func(x *ledger.AdoptedPlan) { x.Steps[1].AboutID = h.Settling }, "/steps/1/about_id", "tank"},
		"a pull with a set point":  {func(x *ledger.AdoptedPlan) { x.Steps[1].SetC = new(40) }, "/steps/1/set_c", "leave this out"},
		"a move to a contract":     {func(x *ledger.AdoptedPlan) { x.Steps[2].ContractID = contract }, "/steps/2/contract_id", "leave this out"},
		"delivery of nothing":      {func(x *ledger.AdoptedPlan) { x.Steps[3].Count = 0 }, "/steps/3/count", "at least 1"},
		"delivery to a buyer":      {func(x *ledger.AdoptedPlan) { x.Steps[3].ContractID = h.Buyer }, "/steps/3/contract_id", "buyer"},
		"a temperature of no time": {func(x *ledger.AdoptedPlan) { x.Expects[0].At = nil }, "/expects/0/at", "When"},
		"ends turned round":        {func(x *ledger.AdoptedPlan) { x.Expects[0].Low = new(41.0) }, "/expects/0/low", "above"},
		"an upper end below":       {func(x *ledger.AdoptedPlan) { x.Expects[0].High = new(39.0) }, "/expects/0/high", "below"},
		"HMF of a yard":            {func(x *ledger.AdoptedPlan) { x.Expects[1].AboutID = h.Mill }, "/expects/1/about_id", "yard"},
		"days of a tank":           {func(x *ledger.AdoptedPlan) { x.Expects[2].AboutID = h.Sump }, "/expects/2/about_id", "whole house"},
		"honey of no yard":         {func(x *ledger.AdoptedPlan) { x.Expects[3].AboutID = ledger.ID{} }, "/expects/3/about_id", ""},
	} {
		x := good()
		c.change(x)
		var f *fault.Error
		if err := check(x); !errors.As(err, &f) || f.Fields[0].Pointer != c.pointer || !strings.Contains(f.Fields[0].Message.String(), c.says) {
			t.Errorf("%s: %v, want a word about %s", what, err, c.pointer)
		}
	}
}
