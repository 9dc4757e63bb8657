package sale_test

import (
	"strconv"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/plan"
	"pullbook/domain/plan/sale"
)

// Drums of one lot to one contract are one step. Of 300 lots the first 200 are steps, and what is expected is of all;
// of nothing there is nothing to go by.
func TestSalesOfManyLotsAreGoneByAsFarAsAPlanHasRoom(t *testing.T) {
	t.Parallel()
	contract := ledger.ID{9}
	a := &sale.Asked{Lots: map[string]ledger.ID{}, Spec: sale.Spec{Contracts: []sale.Contract{{ID: ledger.ID{8}}, {ID: contract}}}}
	goes := sale.Sale{Contract: 1, NetMinor: 1234.56, Kg: 180_000.0004}
	for i := range 600 {
		lot := strconv.Itoa(i / 2)
		a.Lots[lot] = ledger.ID{1, byte(i / 2), byte(i / 512)}
		a.Spec.Stock = append(a.Spec.Stock, plan.Stock{Source: lot, Kg: 300})
		goes.Takes = append(goes.Takes, sale.Take{Stock: i, PerKg: 1})
	}
	got := a.Adopted(&sale.Assignment{Sales: []sale.Sale{{Contract: 0}, goes}}, "autumn")
	if got == nil || len(got.Steps) != sale.MostSteps || len(got.Expects) != 2 || got.Of != ledger.PlanOfSales || got.Title != "autumn" {
		t.Fatalf("%+v", got)
	}
	for i, s := range got.Steps {
		if s.Does != ledger.PlanDelivers || s.AboutID != a.Lots[strconv.Itoa(i)] || s.ContractID != contract || s.Count != 2 {
			t.Fatalf("step %d: %+v", i, s)
		}
	}
	if kg, paid := got.Expects[0], got.Expects[1]; kg.Figure != ledger.PlanDelivered || kg.Value != 180_000 || paid.Figure != ledger.PlanPaid || paid.Value != 1235 || kg.AboutID != contract || kg.At != nil {
		t.Errorf("expected: %+v, %+v", kg, paid)
	}
	if nothing := a.Adopted(&sale.Assignment{Sales: []sale.Sale{{Contract: 0}}}, "nothing"); nothing != nil {
		t.Errorf("of nothing: %+v", nothing)
	}
}
