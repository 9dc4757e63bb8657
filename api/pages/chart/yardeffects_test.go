package chart

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/plan/yards"
)

func TestNoLabelOfYardsComparedMeetsAnotherOrLeavesThePicture(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(voices).Draw(t, "voice")
		p := &yards.Plan{Asked: &yards.Asked{Per: rapid.SampledFrom([]yards.Per{yards.PerHive, yards.PerSuper}).Draw(t, "per")}}
		p.MarginKg = rapid.Float64Range(0, 100).Draw(t, "margin")
		for range rapid.IntRange(0, 60).Draw(t, "yards") {
			y := yards.Proposal{Verdict: rapid.SampledFrom([]yards.Verdict{yards.Keep, yards.Move, yards.Unsure}).Draw(t, "verdict")}
			y.Name = names(t)
			if rapid.IntRange(0, 9).Draw(t, "known") > 0 {
				kg, off := rapid.Float64Range(-200, 200).Draw(t, "effect"), rapid.Float64Range(0, 300).Draw(t, "band")
				y.Effect = &yards.Effect{Kg: kg, LowKg: kg - off, HighKg: kg + off}
			}
			p.Proposals = append(p.Proposals, y)
		}
		for name, form := range forms {
			svg, err := YardEffects(form, f, p)
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name+" yards compared", svg)
		}
	})
}

// Two bands of ten kilograms are as long as each other, and thirty kilograms apart: the poorer yard's below.
func TestYardsComparedAreDrawnToScale(t *testing.T) {
	t.Parallel()
	p := &yards.Plan{Asked: &yards.Asked{Per: yards.PerHive}, MarginKg: 5, Proposals: []yards.Proposal{
		{Yard: yards.Yard{Name: "good"}, Verdict: yards.Keep, Effect: &yards.Effect{Kg: 10, LowKg: 5, HighKg: 15}},
		{Yard: yards.Yard{Name: "poor"}, Verdict: yards.Move, Effect: &yards.Effect{Kg: -20, LowKg: -25, HighKg: -15}},
		{Yard: yards.Yard{Name: "new"}, Verdict: yards.Unsure},
	}}
	for name, form := range forms {
		svg, err := YardEffects(form, inEnglish, p)
		if err != nil {
			t.Fatal(err)
		}
		bands := shapes(paths(t, svg), "stroke-width:2.5")
		if len(bands) != 2 {
			t.Fatalf("%s: %d bands for two yards that can be told", name, len(bands))
		}
		poor, good := bands[0], bands[1]
		long := poor.right() - poor.points[0][0]
		if apart := good.points[0][0] - poor.points[0][0]; math.Abs(good.right()-good.points[0][0]-long) > 0.1 || math.Abs(apart-3*long) > 0.3 || good.points[0][1] <= poor.points[0][1] {
			t.Errorf("%s: bands of %v and %v", name, poor.points, good.points)
		}
	}
}
