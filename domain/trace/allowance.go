package trace

import (
	"math"

	"pullbook/domain/balance"
	"pullbook/domain/ledger"
)

// allowed is how many standard deviations of a mass or share the bounds allow for, as
// the book does before it calls a reading odd: of good sums one in 700 is off further on
// the side that matters (Gauss).
const allowed = 3

// allowance says how far masses and shares may be off, by the figures of the
// reconciliation, times so many standard deviations.
type allowance struct {
	weights *balance.Weights
	times   float64
}

// off2 is the square of how far a flow's grams may be off. Of a stocktake and a wash,
// which set what a tank has, it is how far that may be off: a washed tank is empty.
func (a allowance) off2(f ledger.Flow) (off2 float64, sets bool) {
	sd := a.weights.FlowSD(f)
	switch body := f.Entry.Body.(type) {
	case *ledger.Stocktake:
		sd, sets = a.weights.StocktakeSD(body), true
	case *ledger.Wash:
		sets = true
	}
	off := a.times * sd * 1000
	return off * off, sets
}

// faintest is less than any share that the ledger keeps of a run.
const faintest = 1e-12

// partOf is what some parts of a run's make-up are of it. How full boxes are errs by a
// factor: so does the ratio of these parts to the others, and neither is ever more than
// all.
func (a allowance) partOf(r *run, of []ledger.Part) portion {
	share, squares := a.shareOf(r, of)
	all, most := float64(r.grams), float64(r.grams)+math.Sqrt(r.off2)
	if len(of) == len(r.mix.Parts) {
		return portion{grams: all, least: all, top: most}
	}
	sum, allSquares := a.shareOf(r, r.mix.Parts)
	rest := max(faintest, sum-share)
	factor := math.Exp(a.times * math.Sqrt(squares/(share*share)+max(0, allSquares-squares)/(rest*rest)))
	low, high := share/(share+rest*factor), share*factor/(share*factor+rest)
	return portion{grams: share * all, least: max(0, all-(1-low)*most), top: high * most}
}

// shareOf is the share of some parts, and the variance of the honey that was in their
// boxes, in shares squared.
func (a allowance) shareOf(r *run, of []ledger.Part) (share, variance float64) {
	for _, p := range of {
		share += p.Share
		sd := p.Share * a.weights.BoxesSD(p.Origin, r.boxes[p.Origin], r.how != ledger.SharedOut)
		variance += sd * sd
	}
	return share, variance
}

// level is how much honey is in a vessel by the book.
type level struct {
	grams int64
	// off2 is the square of how far that may be off.
	off2 float64
}

// lose takes out what a move takes. Who takes all that the book has says so that there
// was no more, a heel apart; who takes more does not.
func (l *level) lose(m move) {
	l.grams -= m.grams - m.short
	l.off2 += m.off2
	switch {
	case m.sets:
		l.off2 = m.off2
	case l.grams == 0 && m.short == 0:
		l.off2 = 0
	}
}

// gain puts in what a move brings.
func (l *level) gain(m move) {
	l.grams += m.grams
	if l.off2 += m.off2; m.sets {
		l.off2 = m.off2
	}
}

// off is how far a move's grams may be off; what a stocktake finds is not a move.
func (m move) off() float64 {
	if m.sets {
		return 0
	}
	return math.Sqrt(m.off2)
}
