package chart

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/plan/rest"
)

func TestNoLabelOfThePictureOfDaysLeftMeetsAnotherOrLeavesIt(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(voices).Draw(t, "voice")
		from := time.Date(2026, 1, rapid.IntRange(1, 366).Draw(t, "day"), 0, 0, 0, 0, time.UTC)
		var ends []rest.EndDay
		for n, day := range rapid.SliceOfNDistinct(rapid.IntRange(0, rapid.SampledFrom([]int{1, 30, 365}).Draw(t, "far")), 1, -1, rapid.ID).Draw(t, "days") {
			ends = append(ends, rest.EndDay{On: ledger.Date(from.AddDate(0, 0, day).Format(time.DateOnly)), Share: rapid.Float64Range(0.001, 1/float64(n+1)).Draw(t, "share")})
		}
		for name, form := range forms {
			svg, err := DaysLeft(form, f, ends)
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name, svg)
		}
	})
}
