package plan

import (
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Stock is honey on hand that may go into a blend: a container, which goes whole, or what a
// tank holds, of which any part may go.
type Stock struct {
	ID ledger.ID
	// Name is the container's number or the tank's name. Source is the lot's code or the
	// tank's name: how wide a recall of the blend would be goes by its sources.
	Name, Source string
	Kg           float64
	Part         bool
	// Since is when its honey came into it; zero where that is not known.
	Since time.Time
	// Figures are by parameter, in the parameter's first unit.
	Figures map[string]Figure
	// Declares is what the outfit declares about it.
	Declares map[string][]string
	// Origins are the yards that its honey is of, the most first. They come to less than 1 where
	// the book does not know of all of it.
	Origins []Origin
}

// Origin is the share of some honey that comes from a yard, 0 to 1. Country is the yard's; empty where it says none.
type Origin struct {
	Yard          ledger.ID
	Name, Country string
	Share         float64
}

// from is the share of the stock's honey that comes from some yards.
func (s *Stock) from(yards []ledger.ID) (share float64) {
	for _, o := range s.Origins {
		if slices.Contains(yards, o.Yard) {
			share += o.Share
		}
	}
	return share
}

// fromCountries is the share of the stock's honey that comes from some countries: what certainly does, and with what may,
// since its yard says no country or the book does not know its yard.
func (s *Stock) fromCountries(codes []string) (surely, perhaps float64) {
	other := 0.0
	for _, o := range s.Origins {
		switch {
		case slices.Contains(codes, o.Country):
			surely += o.Share
		case o.Country != "":
			other += o.Share
		}
	}
	return surely, max(surely, 1-other)
}

// Figure is what is known of one property of a stock.
type Figure struct {
	Mean   float64
	Errors []Spread
	// Measured says that it was read or analysed; the rest is what the book expects.
	Measured bool
}

// Spread is one thing by which a figure may be off, as a standard deviation in the figure's
// unit. What has the same key is off alike in all stock: drums of a lot that was sampled
// once, honeys read with one refractometer. Spreads of different keys are independent.
type Spread struct {
	Key string
	SD  float64
}

func (f *Figure) add(key string, sd float64) {
	if sd > 0 {
		f.Errors = append(f.Errors, Spread{key, sd})
	}
}
