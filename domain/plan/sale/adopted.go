package sale

import (
	"math"

	"pullbook/domain/ledger"
)

// MostSteps is how many deliveries somebody who goes by sales has as steps.
const MostSteps = 200

// Adopted is an assignment that somebody goes by: how many containers of which lot are delivered to which contract,
// those first that end first, and what is expected to be sent by each contract and paid for it. Of more than
// MostSteps the first stand in it. Nil where nothing goes.
func (a *Asked) Adopted(of *Assignment, title string) *ledger.AdoptedPlan {
	out := &ledger.AdoptedPlan{Title: title, Of: ledger.PlanOfSales}
	for i := range of.Sales {
		x := &of.Sales[i]
		c := &a.Spec.Contracts[x.Contract]
		if len(x.Takes) == 0 {
			continue
		}
		place := map[string]int{}
		for _, t := range x.Takes {
			lot := a.Spec.Stock[t.Stock].Source
			at, known := place[lot]
			if !known {
				if len(out.Steps) == MostSteps {
					continue
				}
				at = len(out.Steps)
				place[lot] = at
				out.Steps = append(out.Steps, ledger.PlanStep{Does: ledger.PlanDelivers, AboutID: a.Lots[lot], ContractID: c.ID})
			}
			out.Steps[at].Count++
		}
		out.Expects = append(out.Expects,
			ledger.PlanExpected{Figure: ledger.PlanDelivered, AboutID: c.ID, At: c.ends, Value: math.Round(1000*x.Kg) / 1000},
			ledger.PlanExpected{Figure: ledger.PlanPaid, AboutID: c.ID, At: c.ends, Value: math.Round(x.NetMinor)})
	}
	if len(out.Steps) == 0 {
		return nil
	}
	return out
}
