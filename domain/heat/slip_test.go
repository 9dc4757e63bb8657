package heat_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
	"pullbook/domain/heat"
)

// inSteps are results of a place between each of which the middle honey forms 6 mg/kg, each
// good to a tenth.
func inSteps(t *testing.T, mg ...float64) ([]heat.LabResult, *heat.Outlook) {
	t.Helper()
	k := heat.Default()
	o, err := k.HMF.Outlook(nil, heat.Year{MeanC: 20})
	if err != nil {
		t.Fatal(err)
	}
	step := time.Duration(6 / k.HMFRate(20) * float64(24*time.Hour))
	var out []heat.LabResult
	for i, v := range mg {
		out = append(out, heat.LabResult{At: at(0).Add(time.Duration(i) * step), HMFMgPerKg: v, SDMgPerKg: v / 10})
	}
	return out, o
}

// By hand: 60 after 4 is 9.3 times the middle's 6, ln 9.3 = 2.23 or 4.2 of the 0.525 that honeys
// scatter by, so that the two do not go together (17 squared deviations at best, at 8.6 times);
// with 16 after them 4 and 16 do. 12 after 4 is 1.3 times. Honey does not fall from 40 to 5.
// Honey at six times the middle is 3.4 deviations away, which two results do not show and
// three that agree do.
func TestOneResultThatDoesNotGoWithTheRestIsLeftOut(t *testing.T) {
	t.Parallel()
	for _, row := range []struct{ results, kept []float64 }{
		{[]float64{4}, []float64{4}},
		{[]float64{4, 12}, []float64{4, 12}},
		{[]float64{4, 60, 16}, []float64{4, 16}},
		{[]float64{60, 10, 16}, []float64{10, 16}},
		{[]float64{4, 10, 1.6}, []float64{4, 10}},
		{[]float64{4, 10, 16, 2.2, 28, 340}, []float64{4, 10, 16, 28}},
		{[]float64{4, 40, 76}, []float64{4, 40, 76}},
	} {
		results, o := inSteps(t, row.results...)
		kept, err := heat.Default().WithoutSlips(results, o)
		if err != nil {
			t.Fatal(err)
		}
		var got []float64
		for _, r := range kept {
			got = append(got, r.HMFMgPerKg)
		}
		if !slices.Equal(got, row.kept) {
			t.Errorf("of %v there were kept %v, not %v", row.results, got, row.kept)
		}
	}
	for _, pair := range [][]float64{{4, 60}, {40, 5}, {4, 40}} {
		results, o := inSteps(t, pair...)
		if kept, err := heat.Default().WithoutSlips(results, o); err != nil || len(kept) != 1 {
			t.Errorf("of %v, which do not go together, %d are kept (%v)", pair, len(kept), err)
		}
	}
	results, o := inSteps(t, 4, -1)
	if _, err := heat.Default().WithoutSlips(results, o); err == nil {
		t.Error("an HMF below nothing was taken")
	}
}

// Results of one honey, each within two deviations of its course at a rate that nine honeys in
// ten have, all count; with one of them ten times as high, that one alone is left out.
func TestASlipAmongResultsOfOneHoneyIsFound(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		factor := rapid.Float64Range(0.5, 2).Draw(rt, "factor")
		off := rapid.SliceOfN(rapid.Float64Range(-1.5, 1.5), 4, 6).Draw(rt, "off")
		var mg []float64
		for i, d := range off {
			mg = append(mg, (5+6*factor*float64(i))*(1+0.1*d))
		}
		results, o := inSteps(t, mg...)
		if kept, err := heat.Default().WithoutSlips(results, o); err != nil || len(kept) != len(results) {
			rt.Fatalf("of %v only %v are kept (%v)", results, kept, err)
		}
		slip := rapid.IntRange(0, len(results)-1).Draw(rt, "slip")
		results[slip].HMFMgPerKg *= 10
		results[slip].SDMgPerKg = 0
		kept, err := heat.Default().WithoutSlips(results, o)
		if err != nil || len(kept) != len(results)-1 || slices.Contains(kept, results[slip]) {
			rt.Fatalf("of %v with a slip at %d there are kept %v (%v)", results, slip, kept, err)
		}
	})
}
