package plans_test

import (
	"math"
	"slices"
	"strconv"
	"testing"
	"time"

	"pullbook/api/locale"
	"pullbook/api/plans"
	"pullbook/domain/heat"
	"pullbook/domain/plan/warm"
)

// An outfit that reads Fahrenheit types set points in it: the sheet that reckons has them in degrees Celsius, and what comes of
// them stands in Fahrenheit again.
func TestAWorkbookOfAWarmingIsInTheOutfitsDegrees(t *testing.T) {
	t.Parallel()
	tank, err := warm.NewTank(warm.Tank{
		Tank:        heat.Tank{MassKg: 500, MoisturePct: 17.4, LossWPerK: 15, WallAllowanceK: 10, WallShare: 0.1, CrystalsPct: 15},
		LossSDWPerK: 2, HeaterW: 3000, AroundC: 18, StartC: 20,
	})
	if err != nil {
		t.Fatal(err)
	}
	asked := &warm.Asked{Name: "warmer", MassKg: 500, From: time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC), Spec: warm.Spec{
		Vessel: tank, Aim: warm.Aim{State: warm.Liquid}, Hours: 36, Probability: 0.8, HottestC: 50, HMFKWh: 20, Kinetics: heat.Default(), Begins: warm.Begins{HMFMgPerKg: 5, DiastaseDN: 18},
	}}
	answer, err := asked.Spec.Solve()
	if err != nil || len(answer.Choices) == 0 {
		t.Fatal(err, answer)
	}
	way := &answer.Choices[0]
	book, err := plans.WarmingWorkbook(locale.NewVoice(locale.English, "us", time.UTC), asked, way, 0.3)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	rows, err := book.GetRows("Warming")
	if err != nil {
		t.Fatal(err)
	}
	hours := len(rows) - len(way.Curve)
	reckons := func(sheet, cell string) float64 {
		t.Helper()
		v, err := book.CalcCellValue(sheet, cell)
		if err != nil {
			t.Fatal(cell, err)
		}
		f, err := strconv.ParseFloat(v, 64)
		if err != nil {
			t.Fatal(cell, err)
		}
		return f
	}
	first := slices.IndexFunc(way.Curve, func(m warm.Moment) bool { return m.SetC != warm.Off })
	for h, m := range way.Curve[:first+3] {
		if set := reckons("By the hour", "B"+strconv.Itoa(h+2)); math.Abs(set-float64(m.SetC)) > 0.01 {
			t.Errorf("hour %d: the set point is reckoned as %v C, it is %d", h, set, m.SetC)
		}
		if honey := reckons("Warming", "C"+strconv.Itoa(hours+1+h)); math.Abs(honey-(1.8*m.MeanC+32)) > 0.2 {
			t.Errorf("hour %d: the honey is reckoned as %v F, it is at %v C", h, honey, m.MeanC)
		}
	}
}
