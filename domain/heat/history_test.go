package heat_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

func at(hours float64) time.Time { return midsummer.Add(time.Duration(hours * float64(time.Hour))) }

func usual(c float64) *float64 { return &c }

func TestALogThatCannotBeAHistoryIsRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, says string
		points     []heat.Point
		usualC     *float64
	}{
		{"empty", "at least two readings", nil, nil},
		{"one point", "at least two readings", []heat.Point{{at(0), 20}}, nil},
		{"one point twice", "repeats a single reading", []heat.Point{{at(0), 20}, {at(0), 20}}, nil},
		{"out of order", "reading 3 (2026-07-01 07:00:00 +0000) comes before the end of reading 2", []heat.Point{{at(0), 20}, {at(2), 21}, {at(1), 22}}, nil},
		{"two figures for one instant", "reading 2 and reading 3 are both of", []heat.Point{{at(0), 20}, {at(1), 21}, {at(1), 22}}, nil},
		{"tank at 113 C", "113 F is 45.0 C", []heat.Point{{at(0), 113}, {at(1), 113}}, nil},
		{"broken sensor", "reading 2 at 2026-07-01 07:00:00 +0000: temperature -127", []heat.Point{{at(0), 20}, {at(1), -127}}, nil},
		{"not a number", "NaN", []heat.Point{{at(0), 20}, {at(1), math.NaN()}}, nil},
		{"gap and no usual temperature", "usual temperature", []heat.Point{{at(0), 20}, {at(30), 20}}, nil},
		{"usual temperature in Fahrenheit", "Fahrenheit", []heat.Point{{at(0), 20}, {at(30), 20}}, usual(104)},
		{"steam", "212 F is 100.0 C", []heat.Point{{at(0), 212}, {at(1), 20}}, nil},
		{"mistyped year", "one of the dates", []heat.Point{{at(0), 20}, {at(1e6), 20}}, usual(20)},
	} {
		if _, err := heat.FromPoints(c.points, c.usualC); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, expected words on %q", c.name, err, c.says)
		}
	}
	_, err := heat.FromPoints([]heat.Point{{at(0), 113}, {at(1), 113}}, nil)
	var outside *honey.RangeError
	if !errors.As(err, &outside) || outside.Got != 113 || outside.Max != heat.HottestC {
		t.Errorf("113 C gave %v, expected a range error with the range", err)
	}
}

func TestSetPointsThatCannotBeAreRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, says string
		sets       []heat.SetPoint
	}{
		{"none", "at least one", nil},
		{"no length", "not after its start", []heat.SetPoint{{at(1), at(1), 35}}},
		{"turned round", "set point 1 ends at", []heat.SetPoint{{at(2), at(1), 35}}},
		{"overlapping", "set point 2 (2026-07-01 10:00:00 +0000) comes before the end of set point 1", []heat.SetPoint{{at(0), at(5), 35}, {at(4), at(6), 40}}},
		{"hot", "Fahrenheit", []heat.SetPoint{{at(0), at(5), 120}}},
	} {
		if _, err := heat.FromSetPoints(c.sets, nil); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, expected words on %q", c.name, err, c.says)
		}
	}
}

func TestReadingsAreJoinedByStraightLines(t *testing.T) {
	t.Parallel()
	h := logged(t, 2*time.Hour, 20, 30, 30, 10)
	for hours, want := range map[float64]float64{-1: 20, 0: 20, 1: 25, 2: 30, 3.5: 30, 5: 20, 6: 10, 99: 10} {
		if got := h.TemperatureC(at(hours)); math.Abs(got-want) > 1e-9 {
			t.Errorf("after %g h it is %g C, expected %g", hours, got, want)
		}
	}
	if low, high := h.Extremes(); low != 10 || high != 30 || h.Hours() != 6 || !h.End().Equal(at(6)) {
		t.Errorf("from %g to %g C over %g h", low, high, h.Hours())
	}
}

func TestSetPointsStepWhereTheyTouchAndSlopeWhereTheyDoNot(t *testing.T) {
	t.Parallel()
	h, err := heat.FromSetPoints([]heat.SetPoint{{at(0), at(48), 35}, {at(48), at(50), 45}, {at(52), at(60), 20}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for hours, want := range map[float64]float64{40: 35, 47.999: 35, 48: 45, 49: 45, 51: 32.5, 55: 20} {
		if got := h.TemperatureC(at(hours)); math.Abs(got-want) > 1e-9 {
			t.Errorf("after %g h it is %g C, expected %g", hours, got, want)
		}
	}
	if len(h.Gaps()) != 0 {
		t.Errorf("a set point that lasts two days is no gap, but %v", h.Gaps())
	}
}

func TestAGapLongerThanADayTakesTheUsualTemperatureAndSaysSo(t *testing.T) {
	t.Parallel()
	h, err := heat.FromPoints([]heat.Point{{at(0), 45}, {at(1), 45}, {at(61), 45}, {at(62), 45}}, usual(18))
	if err != nil {
		t.Fatal(err)
	}
	want := []heat.Gap{{From: at(1), To: at(61), FilledWithTempC: 18}}
	if got := h.Gaps(); !slices.Equal(got, want) {
		t.Errorf("gaps %v, expected %v", got, want)
	}
	wantFlag(t, h.Flags(), heat.FlagGap)
	if got := h.TemperatureC(at(30)); got != 18 {
		t.Errorf("in the gap it is %g C", got)
	}
	k := heat.Default()
	closeTo(t, "HMF of two hours at 45 C and sixty at 18 C", k.HMF.Exposure(h), k.HMFRate(45)*2/24+k.HMFRate(18)*60/24, 1e-12)
	f, err := k.Forecast(heat.State{}, h)
	if err != nil {
		t.Fatal(err)
	}
	wantFlag(t, f.Flags, heat.FlagGap)
	if !slices.Equal(f.Gaps, want) {
		t.Errorf("the forecast keeps silent about the gap: %v", f.Gaps)
	}
}

// From 2026 to 2126 lie 36,500 days of the hundred years that a history may last, and leap days.
func TestAHistoryLastsAtMostAHundredYears(t *testing.T) {
	t.Parallel()
	for hours, taken := range map[float64]bool{876_000: true, 876_001: false} {
		if _, err := heat.FromPoints([]heat.Point{{at(0), 20}, {at(hours), 20}}, usual(20)); (err == nil) != taken {
			t.Errorf("%g h: %v", hours, err)
		}
	}
}

// What is cut out before a set point begins ends at the temperature before it.
func TestAStretchThatEndsInAStepKnowsNothingOfWhatFollows(t *testing.T) {
	t.Parallel()
	h, err := heat.FromSetPoints([]heat.SetPoint{{at(0), at(48), 35}, {at(48), at(50), 45}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	part, err := h.Between(at(1), at(48))
	if err != nil {
		t.Fatal(err)
	}
	if low, high := part.Extremes(); low != 35 || high != 35 || part.Hours() != 47 {
		t.Errorf("from %g to %g C over %g h, expected 35 C for 47 h", low, high, part.Hours())
	}
}

func TestASilenceOfADayIsBridged(t *testing.T) {
	t.Parallel()
	h, err := heat.FromPoints([]heat.Point{{at(0), 20}, {at(24), 30}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := h.TemperatureC(at(12)); got != 25 || len(h.Gaps()) != 0 {
		t.Errorf("half way it is %g C with gaps %v", got, h.Gaps())
	}
}

func TestAReadingLoggedTwiceCountsOnceAndIsFlagged(t *testing.T) {
	t.Parallel()
	h, err := heat.FromPoints([]heat.Point{{at(0), 20}, {at(1), 30}, {at(1), 30}, {at(2), 20}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	wantFlag(t, h.Flags(), heat.FlagDoubled)
	if got, want := heat.Default().HMF.Exposure(h), heat.Default().HMF.Exposure(logged(t, time.Hour, 20, 30, 20)); got != want {
		t.Errorf("exposure %g, expected %g", got, want)
	}
}

func TestADayThatLooksLikeFahrenheitIsFlaggedNotRefused(t *testing.T) {
	t.Parallel()
	wantFlag(t, logged(t, 12*time.Hour, 68, 86, 95, 90).Flags(), heat.FlagFahrenheit)
	wantFlag(t, logged(t, 12*time.Hour, 59, 59).Flags(), heat.FlagFahrenheit)
	for name, h := range map[string]heat.History{
		"an hour of pasteurising": logged(t, 30*time.Minute, 63, 65, 63),
		"a warm day":              logged(t, 12*time.Hour, 38, 45, 60, 35),
	} {
		if len(h.Flags()) != 0 {
			t.Errorf("%s is flagged: %v", name, h.Flags())
		}
	}
}

func TestBeyondTheRecordTheNearestReadingHoldsForADay(t *testing.T) {
	t.Parallel()
	h, err := heat.FromPoints([]heat.Point{{at(0), 30}, {at(2), 40}}, usual(15))
	if err != nil {
		t.Fatal(err)
	}
	near, err := h.Between(at(-10), at(20))
	if err != nil {
		t.Fatal(err)
	}
	if near.TemperatureC(at(-9)) != 30 || near.TemperatureC(at(19)) != 40 || len(near.Gaps()) != 0 || near.Hours() != 30 {
		t.Errorf("%g C before, %g C after, gaps %v", near.TemperatureC(at(-9)), near.TemperatureC(at(19)), near.Gaps())
	}
	far, err := h.Between(at(1), at(50))
	if err != nil {
		t.Fatal(err)
	}
	if far.TemperatureC(at(1)) != 35 || far.TemperatureC(at(40)) != 15 || len(far.Gaps()) != 1 {
		t.Errorf("%g C at the cut, %g C after, gaps %v", far.TemperatureC(at(1)), far.TemperatureC(at(40)), far.Gaps())
	}
	away, err := h.Between(at(100), at(200))
	if err != nil {
		t.Fatal(err)
	}
	if low, high := away.Extremes(); low != 15 || high != 15 || len(away.Gaps()) != 1 || away.Hours() != 100 {
		t.Errorf("far from the record: %g to %g C, gaps %v", low, high, away.Gaps())
	}
	if _, err := logged(t, time.Hour, 20, 20).Between(at(0), at(90)); err == nil || !strings.Contains(err.Error(), "usual temperature") {
		t.Errorf("without a usual temperature: %v", err)
	}
	if _, err := h.Between(at(2), at(1)); err == nil {
		t.Error("a stretch that ends before it begins was taken")
	}
	if _, err := (heat.History{}).Between(at(0), at(1)); err == nil {
		t.Error("an empty history was cut")
	}
}

func TestCuttingOutAGapKeepsOnlyItsPart(t *testing.T) {
	t.Parallel()
	h, err := heat.FromPoints([]heat.Point{{at(0), 40}, {at(1), 40}, {at(61), 40}, {at(62), 40}}, usual(18))
	if err != nil {
		t.Fatal(err)
	}
	part, err := h.Between(at(0), at(10))
	if err != nil {
		t.Fatal(err)
	}
	if want := []heat.Gap{{at(1), at(10), 18}}; !slices.Equal(part.Gaps(), want) {
		t.Errorf("gaps %v, expected %v", part.Gaps(), want)
	}
	clean, err := h.Between(at(61), at(62))
	if err != nil {
		t.Fatal(err)
	}
	if len(clean.Gaps())+len(clean.Flags()) != 0 || clean.TemperatureC(at(61)) != 40 {
		t.Errorf("an hour without a gap has %v %v", clean.Gaps(), clean.Flags())
	}
}
