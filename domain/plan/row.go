package plan

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Row is one end of a limit over some stock, for a plan that mixes honey for several buyers.
type Row struct{ row mixRow }

// Rows are the ends of those limits that a mix keeps to by its mean. The stock has a figure of each
// of their parameters.
func Rows(limits []Limit, probability float64, stock []Stock) []Row {
	s := Spec{Limits: limits, Probability: probability}
	var out []Row
	for _, r := range s.rowsOf(stock) {
		out = append(out, Row{r})
	}
	return out
}

// Mean is by how much a kilogram of each stock is beyond the end, on the scale on which the
// parameter mixes.
func (r *Row) Mean() []float64 { return r.row.mean }

// Breaks reports whether a mix, by the mass of each stock, breaks the end.
func (r *Row) Breaks(kg []float64) bool {
	return r.row.beyond(kg) > slack*sum(kg)*max(1, math.Abs(r.row.at))
}

// Tangent is what a kilogram of each stock adds to the end as it is about a mix: a linear row that
// bounds it from below.
func (r *Row) Tangent(kg []float64) []float64 { return r.row.tangent(kg) }

// off is how far a figure may be off by all its errors, on the scale.
func (s scale) off(f Figure) (off float64) {
	for _, e := range f.Errors {
		off = math.Hypot(off, e.SD*s.stretch(f.Mean))
	}
	return off
}

// Mixes reports whether a mix has the mean by mass of a parameter.
func Mixes(parameter string) bool {
	_, mixes := scales[parameter]
	return mixes
}

// Kept is the probability with which honey of a figure keeps to a limit by itself.
func (l *Limit) Kept(f Figure) float64 {
	sc := scales[l.Parameter]
	off := sc.off(f)
	kept := 1.0
	for _, end := range []struct {
		at   *float64
		sign float64
	}{{l.Low, -1}, {l.High, 1}} {
		switch {
		case end.at == nil || end.sign < 0 && *end.at <= 0: // nothing has less than nothing
		case off > 0:
			kept += distuv.UnitNormal.CDF(end.sign*(sc.on(*end.at)-sc.on(f.Mean))/off) - 1
		case end.sign*(sc.on(f.Mean)-sc.on(*end.at)) > slack*max(1, math.Abs(sc.on(*end.at))):
			return 0
		}
	}
	return max(0, kept)
}

// MeanOf is a parameter of a mix, by the mass of each stock.
func MeanOf(parameter string, stock []Stock, kg []float64) float64 {
	sc, mean := scales[parameter], 0.0
	for i := range stock {
		mean += kg[i] * sc.on(stock[i].Figures[parameter].Mean)
	}
	return sc.back(mean / sum(kg))
}

// TurnsAt is the figure from which on honey that is as well known would not keep to a limit with a
// probability any more: of two ends the nearer. False where the limit is open.
func (l *Limit) TurnsAt(f Figure, probability float64) (at float64, turns bool) {
	sc := scales[l.Parameter]
	room := distuv.UnitNormal.Quantile(probability) * sc.off(f)
	if l.High != nil {
		at, turns = sc.back(max(0, sc.on(*l.High)-room)), true
	}
	if l.Low != nil && *l.Low > 0 {
		if low := sc.back(sc.on(*l.Low) + room); !turns || f.Mean-low < at-f.Mean {
			at, turns = low, true
		}
	}
	return at, turns
}

// Needed is the upper end, in the parameter's first unit, at which a figure would keep to a limit with a probability; false
// where the upper end is not what it fails.
func (l *Limit) Needed(f Figure, probability float64) (end float64, fails bool) {
	if l.High == nil {
		return 0, false
	}
	sc := scales[l.Parameter]
	end = sc.back(sc.on(f.Mean) + distuv.UnitNormal.Quantile(probability)*sc.off(f))
	return end, end > *l.High
}
