package yards

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/ledger"
)

// Next is what a yard is expected to give in the next season, in kg per hive or super. Nine seasons in ten lie
// between LowKg and HighKg: most of it is of the season, of which nobody knows ahead whether it will be a good one.
type Next struct{ Kg, LowKg, HighKg float64 }

const (
	// Seasons differ by a third from one to the next (a judgement, from memory). It counts as this many seasons
	// beside those of the book, since two or three seasons hardly say how far seasons differ.
	seasonsDiffer, seasonsBelieved = 0.35, 2
	// leastShare is the least that a yard is expected to give of what the average yard does, so that it has a logarithm.
	leastShare = 0.05
	// mostOff is the logarithm of the widest band, which says no more than that nothing is known.
	mostOff = 10
)

// next is what each yard is expected to give, with as many hives and kinds of super as when it was last seen. The season,
// the yard's own effect and what its seasons are off by all work as factors.
func (m *model) next(a *Asked) []Next {
	level, spread := logSpread(m.seasons)
	freedom := float64(len(m.seasons)-1) + seasonsBelieved
	t := distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile(bandHigh)
	z := distuv.UnitNormal.Quantile(bandHigh)
	last := make([]*Observation, len(a.Yards))
	for i := range a.Observations {
		if o := &a.Observations[i]; last[o.Yard] == nil || o.Season > last[o.Yard].Season {
			last[o.Yard] = o
		}
	}
	out := make([]Next, len(a.Yards))
	for y, o := range last {
		if o == nil {
			continue // nothing is known of it
		}
		x := m.effects[y]
		share := max(leastShare, 1+x.Mean+m.beside(o))
		effect := (x.Quantile(bandHigh) - x.Quantile(bandLow)) / (2 * z)
		own := m.within * m.within * m.usualWeight / weight(o.Units, a.Per)
		off := min(mostOff, math.Hypot(t*spread, z*math.Sqrt(effect*effect+own)/share))
		kg := math.Exp(level) * share
		out[y] = Next{kg, kg * math.Exp(-off), kg * math.Exp(off)}
	}
	return out
}

// logSpread is the mean of what seasons gave, as logarithms, and how far the next season may be off it.
func logSpread(seasons []float64) (mean, spread float64) {
	n := float64(len(seasons))
	for _, kg := range seasons {
		mean += math.Log(kg) / n
	}
	sum := seasonsBelieved * seasonsDiffer * seasonsDiffer
	for _, kg := range seasons {
		sum += (math.Log(kg) - mean) * (math.Log(kg) - mean)
	}
	return mean, math.Sqrt(sum / (n - 1 + seasonsBelieved) * (1 + 1/n))
}

// moves yields the yards that are proposed to be moved.
func (p *Plan) moves(yield func(*Proposal) bool) {
	for i := range p.Proposals {
		if p.Proposals[i].Verdict == Move && !yield(&p.Proposals[i]) {
			return
		}
	}
}

// Most of a plan that is adopted, as the contract has it.
const (
	mostMoves   = 200
	MostExpects = 400
)

// Adopted is the comparison as a plan that somebody goes by: the hives of yards that are proposed to be moved are
// moved, those that promise most first, and each other yard is expected to give so much per hive in the next season, the first
// MostExpects of them. Nil where there is nothing of either: honey per super is no figure that a plan is held against.
func (p *Plan) Adopted(title string) *ledger.AdoptedPlan {
	out := &ledger.AdoptedPlan{Title: title, Of: ledger.PlanOfYards}
	moves := slices.Collect(p.moves)
	slices.SortStableFunc(moves, func(x, y *Proposal) int { return cmp.Compare(y.Effect.GainsKg, x.Effect.GainsKg) })
	for _, y := range moves[:min(len(moves), mostMoves)] {
		out.Steps = append(out.Steps, ledger.PlanStep{Does: ledger.PlanMoves, AboutID: y.ID})
	}
	for i := range p.Proposals {
		y := &p.Proposals[i]
		if y.Next == nil || y.Verdict == Move || p.Per != PerHive || len(out.Expects) == MostExpects {
			continue
		}
		n := *y.Next
		out.Expects = append(out.Expects, ledger.PlanExpected{Figure: ledger.PlanPerHive, AboutID: y.ID, Value: n.Kg, Low: &n.LowKg, High: &n.HighKg})
	}
	if len(out.Steps) == 0 && len(out.Expects) == 0 {
		return nil
	}
	return out
}
