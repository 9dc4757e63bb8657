package quality

import (
	"time"

	"pullbook/domain/estimate"
	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// What tests ask for by itself.
var (
	AboutThese     = aboutThese
	BindsLot       = bindsLot
	EditionOf      = editionOf
	LimitIn        = limitIn
	WorstIsHighest = worstIsHighest
)

func Band(e estimate.Estimate) Estimate { return band("moisture", "%", message.Text{}, e) }

func MostYeast(counts map[string]ledger.Measured) *ledger.Measured {
	return observed{yeast: counts}.mostYeast()
}

func (c *Climate) At(store ledger.ID, at time.Time) *float64 { return c.at(store, at) }

func (c *Climate) OnDay(store ledger.ID, r *standard.Result, at time.Time) *standard.OnDay {
	return c.onDay(heat.Default(), store, r, at)
}

func (g *Gathered) HMFResults() []heat.LabResult { return g.hmf }

func (g *Gathered) LeavesOut(errs ...standard.FieldError) bool { return g.leaveOut(errs) }

// ExpectedOf is where the moisture of a container is to be expected.
func ExpectedOf(b *ledger.Book, fill ledger.ID) []standard.Expected { return expectedMoisture(b, fill) }

// KeepSome keeps an answer by so many rule sets, and returns how many all that is kept is by.
func (j *Judged) KeepSome(number byte, sets int) int {
	j.keep(lookedAt{number}, number, sets)
	return j.sets
}

// Has reports whether an answer is kept.
func (j *Judged) Has(number byte) bool {
	_, has := j.get(lookedAt{number})
	return has
}

const MostJudged = mostJudged
