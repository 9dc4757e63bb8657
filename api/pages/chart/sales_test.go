package chart

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/plan/sale"
)

func TestNoLabelOfSalesMeetsAnotherOrLeavesThePicture(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(voices).Draw(t, "voice")
		s, a := &sale.Spec{}, &sale.Assignment{}
		for c := range rapid.IntRange(0, 60).Draw(t, "contracts") {
			most := rapid.Float64Range(0.001, 1e6).Draw(t, "most")
			s.Contracts = append(s.Contracts, sale.Contract{Name: names(t), MostKg: most, PromisedKg: most * rapid.Float64Range(0, 1).Draw(t, "promised")})
			if rapid.Bool().Draw(t, "goes") {
				a.Sales = append(a.Sales, sale.Sale{Contract: c, Kg: most * rapid.Float64Range(0, 1).Draw(t, "kg")})
			}
		}
		for name, form := range forms {
			svg, err := Sales(form, f, s, a)
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name+" sales", svg)
		}
	})
}

// A contract that takes 900 kg gets 600, and one of 300 kg gets all: the bars are as two to one, and the first
// frame is half as long again as its bar.
func TestSalesAreDrawnToScale(t *testing.T) {
	t.Parallel()
	s := &sale.Spec{Contracts: []sale.Contract{{Name: "order 14", MostKg: 900, PromisedKg: 500}, {Name: "order 15", MostKg: 300}}}
	a := &sale.Assignment{Sales: []sale.Sale{{Contract: 0, Kg: 600}, {Contract: 1, Kg: 300}}}
	for name, form := range forms {
		svg, err := Sales(form, inEnglish, s, a)
		if err != nil {
			t.Fatal(err)
		}
		all := paths(t, svg)
		bars, frames, marks := shapes(all, ofBars), shapes(all, "stroke-width:0.75"), shapes(all, "stroke-width:2")
		if len(bars) != 2 || len(frames) != 2 || len(marks) != 1 {
			t.Fatalf("%s: %d bars, %d frames, %d marks", name, len(bars), len(frames), len(marks))
		}
		if black := slices.DeleteFunc(slices.Clone(all), func(p drawnPath) bool { return strings.Contains(p.style, "fill:") }); len(black) > 0 {
			t.Errorf("%s: %d shapes are filled with black, and hide the bars", name, len(black))
		}
		first, second := bars[1], bars[0] // drawn from the last on
		long := func(x drawnPath) float64 { return x.right() - x.points[0][0] }
		for _, pair := range [][2]float64{{long(first), 2 * long(second)}, {long(frames[1]), 1.5 * long(first)}, {marks[0].points[0][0] - first.points[0][0], long(first) * 5 / 6}} {
			if math.Abs(pair[0]-pair[1]) > 0.5 {
				t.Errorf("%s: %.2f beside %.2f", name, pair[0], pair[1])
			}
		}
	}
}
