package ledger_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pullbook/domain/ledger/ledgertest"
)

// TestATankBlendsByMassAsPublished pours two parts into one tank and compares what
// is expected of it, and its make-up, with published worked examples.
func TestATankBlendsByMassAsPublished(t *testing.T) {
	t.Parallel()
	file, err := os.Open("../../testdata/mass-blends.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		var n [6]float64
		for i := range n {
			if n[i], err = strconv.ParseFloat(row[i+1], 64); err != nil {
				t.Fatal(err)
			}
		}
		firstKg, firstPct, secondKg, secondPct, blendPct, digits := n[0], n[1], n[2], n[3], n[4], n[5]
		o := ledgertest.NewOutfit()
		readRun(o, 30, "first", firstPct, int64(math.Round(firstKg*1000)))
		readRun(o, 50, "second", secondPct, int64(math.Round(secondKg*1000)))
		got := believed(t, o, o.Settling, 60).Moisture.Mean
		if scale := math.Pow(10, digits); math.Round(got*scale)/scale != blendPct {
			t.Errorf("%s: %g kg of %g %% and %g kg of %g %% come to %g %%, published %g %%", row[0], firstKg, firstPct, secondKg, secondPct, got, blendPct)
		}
		h, _ := open(t, o).State().Holder(o.Settling)
		if want := firstKg / (firstKg + secondKg); math.Abs(h.Mix.Parts[0].Share-want) > 1e-9 && math.Abs(h.Mix.Parts[1].Share-want) > 1e-9 {
			t.Errorf("%s: made of %+v, by hand %g of the first", row[0], h.Mix.Parts, want)
		}
	}
}
