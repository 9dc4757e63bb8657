package demo

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// The bakers name a parameter of their own, which no published text limits in honey for
// everybody: a residue. Its limit and its figures are invented.
const (
	residue           = "glyphosate"
	residueUnit       = "µg/kg"
	residueLimit      = "50"
	residueUsual      = 9.0 // µg/kg, of the middle lot
	residueLogSD      = 0.7
	residueShareSD    = 0.1 // of a figure: a laboratory's standard uncertainty
	residueLeast      = 5.0 // µg/kg: the least that the laboratory measures
	residueWellInside = 35.0
)

// bakersTerms is what the bakers ask of what they buy.
func bakersTerms(buyer ledger.ID, first string) *ledger.RuleSet {
	return &ledger.RuleSet{
		Name: "Millstone terms", BuyerID: buyer, Citation: "terms of purchase MB-2", InForceFrom: standard.Date(first), Form: standard.FormLimits,
		Parameters: []standard.OwnParameter{{Name: residue, Label: "Glyphosate", Unit: residueUnit, Maximum: "100000"}},
		Limits:     []standard.Limit{{Parameter: residue, Unit: residueUnit, Comparator: standard.AtMost, Limit: residueLimit, Clause: "3"}},
	}
}

// asksForResidue reports whether the season's lots are analysed for it.
func (s *season) asksForResidue() bool { return s.eventful && s.s.terms != ledger.ID{} }

// residueOf is what the laboratory says of the residue in a lot, and what is truly in it.
// It has a generator of its own, so that nothing else of the season hangs on it.
func (s *season) residueOf() (m ledger.Measured, trueUgPerKg float64) {
	rng := rand.New(rand.NewPCG(s.o.Seed, uint64(len(s.h.analysed))<<16|uint64(s.year)))
	trueUgPerKg = residueUsual * math.Exp(residueLogSD*rng.NormFloat64())
	m = ledger.Measured{Quantity: ledger.OwnQuantity, Parameter: residue, Unit: residueUnit, LimitOfQuantification: new(residueLeast), Method: "LC-MS/MS"}
	found := trueUgPerKg * (1 + residueShareSD*rng.NormFloat64())
	if found < residueLeast {
		m.Value, m.LessThan = residueLeast, true
		return m, trueUgPerKg
	}
	m.Value, m.StdUncertainty = rounded(found, 1), new(rounded(residueShareSD*found, 1))
	return m, trueUgPerKg
}

// clean reports whether the lots of all containers were found well inside the bakers' terms
// before a truck left.
func (s *season) clean(at time.Time, containers []ledger.ID) bool {
	for _, c := range s.h.containers {
		if found := s.h.analysed[c.lot]; slices.Contains(containers, c.id) && !(found.clean && found.at.Before(at)) {
			return false
		}
	}
	return true
}
