package honey

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

func waterActivity(t *testing.T, pct float64, state State) float64 {
	t.Helper()
	value, err := WaterActivity(pct, 25, state)
	if err != nil {
		t.Fatal(err)
	}
	return value
}

func publishedActivities(t *testing.T) (pcts, activities []float64) {
	t.Helper()
	for _, row := range publishedTable(t, "water-activity.csv") {
		for _, end := range []string{"low", "high"} {
			if row["moisture_"+end] != "" {
				pcts = append(pcts, number(t, row, "moisture_"+end))
				activities = append(activities, number(t, row, "aw_"+end))
			}
		}
	}
	return pcts, activities
}

func TestTheWaterActivityLineIsTheFitToThePublishedPoints(t *testing.T) {
	t.Parallel()
	pcts, activities := publishedActivities(t)
	if len(pcts) != 11 {
		t.Fatalf("there are %d points, want 11", len(pcts))
	}
	intercept, slope := stat.LinearRegression(pcts, activities, nil, false)
	if math.Abs(intercept-activityIntercept) > 0.0005 || math.Abs(slope-activityPerPct) > 0.00005 {
		t.Errorf("the fit is %.5f + %.6f W", intercept, slope)
	}
	squares := 0.0
	for i, pct := range pcts {
		squares += math.Pow(activities[i]-intercept-slope*pct, 2)
	}
	if scatter := math.Sqrt(squares / 9); math.Abs(scatter-WaterActivityStdUncertainty) > 0.002 {
		t.Errorf("the scatter is %.4f, stated %.2f", scatter, WaterActivityStdUncertainty)
	}
}

// Seven of the eleven points lie within one standard uncertainty and ten
// within two; the wet end of the Greek honeys is the miss.
func TestPublishedWaterActivitiesAgainstTheLine(t *testing.T) {
	t.Parallel()
	pcts, activities := publishedActivities(t)
	one, two := 0, 0
	for i, pct := range pcts {
		off := math.Abs(activities[i] - waterActivity(t, pct, Liquid))
		if off <= WaterActivityStdUncertainty {
			one++
		}
		if off <= 2*WaterActivityStdUncertainty {
			two++
		} else if pct != 18.9 {
			t.Errorf("%.1f %% is off by %.3f", pct, off)
		}
	}
	if one != 7 || two != 10 {
		t.Errorf("%d within one and %d within two, recorded 7 and 10", one, two)
	}
}

func TestPublishedLinesLieWithinTheSpread(t *testing.T) {
	t.Parallel()
	for _, row := range publishedTable(t, "water-activity-lines.csv") {
		for pct := number(t, row, "moisture_from"); pct <= number(t, row, "moisture_to"); pct++ {
			published := number(t, row, "intercept") + number(t, row, "slope")*pct
			if off := math.Abs(published - waterActivity(t, pct, Liquid)); off > WaterActivityStdUncertainty {
				t.Errorf("%s at %.0f %%: %.3f, off by %.3f", row["source"], pct, published, off)
			}
		}
	}
}

// 0.03 to 0.04 in fifty samples measured granulated and then liquid (2014).
func TestGranulatedHoneyIsMoreOpenToYeastThanTheSameHoneyLiquid(t *testing.T) {
	t.Parallel()
	if rise := waterActivity(t, 18, Granulated) - waterActivity(t, 18, Liquid); rise < 0.03 || rise > 0.04 {
		t.Errorf("the rise is %.3f", rise)
	}
}

func TestWaterActivityRisesWithMoisture(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		dry := rapid.Float64Range(13, 20.9).Draw(rt, "dry")
		wet := rapid.Float64Range(dry+0.01, 21).Draw(rt, "wet")
		if waterActivity(t, dry, Liquid) >= waterActivity(t, wet, Liquid) {
			rt.Fatal("it does not")
		}
	})
}
