package sale

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// Spec is the honey on hand and the contracts that it may go to. All money is in minor units of one
// currency.
type Spec struct {
	Contracts []Contract
	// Stock are containers, which go whole. A figure that is not known keeps honey from a contract
	// that asks for it.
	Stock []plan.Stock
	// Probability is that with which each limit is to be met by itself, 0.5 to 0.999.
	Probability float64
	// KeepPerKg is what a kilogram is worth that goes to nobody.
	KeepPerKg float64
	// Within is by how much, in minor units, the best may be better than what is called the best; 0 is
	// a kilogram of the dearest honey.
	Within float64
}

// Contract is what a buyer takes and pays.
type Contract struct {
	ID      ledger.ID
	Name    string
	BuyerID ledger.ID
	Buyer   string
	// PromisedKg is what is still promised, MostKg what is still taken, SentKg what went by it.
	PromisedKg, MostKg, SentKg float64
	// LastDay is empty where there is none, and ends, its last minute, nil.
	LastDay ledger.Date
	ends    *time.Time
	Terms   *standard.PriceTerms
	Freight Freight
	// Limits bind honey that declares nothing, and so a mix. Declared has those of honey that
	// declares something, by declaring; what is not in it has Limits.
	Limits   []plan.Limit
	Declared map[string][]plan.Limit
	// Looks are limits that the plan cannot keep: of what is seen, and of what was measured on no
	// honey here.
	Looks []plan.Limit
	// Refuses says of lots, by their code, why they may not go whatever they are mixed with.
	Refuses map[string]message.Text
}

// Freight is what it costs to bring honey to a buyer: for each kilogram, each container and each
// load of up to LoadKg.
type Freight struct{ PerKg, PerContainer, PerLoad, LoadKg float64 }

// limitsOf are the limits that bind a container.
func (c *Contract) limitsOf(s *plan.Stock) []plan.Limit {
	if limits, known := c.Declared[declaring(s.Declares)]; known {
		return limits
	}
	return c.Limits
}

// Assignment is which container goes to which contract.
type Assignment struct {
	// Sales has an entry for each contract that takes something or is promised something.
	Sales []Sale
	// Held are the places of the stock that goes to nobody.
	Held []int
	// EarnedMinor is what the sales bring less freight, KeptMinor what the rest is said to be worth.
	EarnedMinor, KeptMinor float64
	// BoundMinor is what no assignment comes to more than, of both.
	BoundMinor float64
	// within is by how much the best may be better for this to be called the best.
	within  float64
	stopped bool
}

// WorthMinor is what is earned and what is kept.
func (a *Assignment) WorthMinor() float64 { return a.EarnedMinor + a.KeptMinor }

// Proved reports whether the search was over: no assignment comes to more by more than
// Spec.Within.
func (a *Assignment) Proved() bool { return !a.stopped && a.BoundMinor-a.WorthMinor() <= a.within }

// Sale is what goes to one contract.
type Sale struct {
	Contract int
	Takes    []Take
	Kg       float64
	// NetMinor is the price less discount.
	NetMinor     float64
	FreightMinor float64
	Loads        int
	// ShortKg is what is promised and does not go.
	ShortKg float64
	// Mixed says that the honey keeps the limits and has its price as a mix; else each container by
	// itself. Means are the mix's properties then.
	Mixed bool
	Means []Mean
}

// Take is one container, by its place in the stock, and what a kilogram of it brings less discount.
type Take struct {
	Stock int
	PerKg float64
}

// Mean is what is expected of one property of a mix.
type Mean struct {
	Parameter string
	Mean      float64
}
