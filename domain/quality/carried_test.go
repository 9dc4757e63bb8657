package quality_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pullbook/domain/estimate"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// stands is the climate of a house whose store has a usual temperature.
func (h *house) stands(celsius float64) *quality.Climate {
	h.t.Helper()
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &celsius})
	return quality.ClimateOf(h.book)
}

func float(t *testing.T, s string) float64 {
	t.Helper()
	return standard.MustDecimal(s).Float64()
}

// A fast honey forms 0.1887 x 2.371 x 1.181 = 0.528 mg/kg a day at 30 C: 1.58 in three days.
// That is less than a fiftieth of 100 mg/kg, and more than a fiftieth of 10 and than 1 mg/kg.
func TestAFigureThatHardlyChangedCountsAsMeasured(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	c := h.stands(30)
	from := ledgertest.At(30)
	for value, carried := range map[string]bool{"100": false, "10": true} {
		got := c.OnDay(h.store, &standard.Result{Parameter: "hmf", Unit: "mg/kg", Value: value, At: from}, from.Add(72*time.Hour))
		if (got != nil) != carried {
			t.Errorf("%s mg/kg after three days: %+v", value, got)
		}
	}
}

// A day is the finest that a verdict speaks of, also where honey stands at 60 C.
func TestAFigureIsCarriedFromADayOn(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	c := h.stands(60)
	from := ledgertest.At(30)
	for hours, carried := range map[float64]bool{23: false, 24: true} {
		got := c.OnDay(h.store, &standard.Result{Parameter: "hmf", Unit: "mg/kg", Value: "10", At: from}, from.Add(time.Duration(hours*float64(time.Hour))))
		if (got != nil) != carried {
			t.Errorf("after %.0f hours: %+v", hours, got)
		}
	}
}

// Where nobody wrote how warm a store is, it is taken as 5 to 30 C: 12 mg/kg of HMF are then
// at the most 12 + 0.528 x 100 = 64.8 after 100 days, and hardly changed at the least; of 20
// diastase numbers 20 exp(-0.003467 x 2 x 100) = 10.0 are left at the least.
func TestAFigureInAnUnknownStoreIsCarriedFromColdToWarm(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store})
	c := quality.ClimateOf(h.book)
	from := ledgertest.At(30)
	later := from.Add(100 * 24 * time.Hour)
	hmf := c.OnDay(h.store, &standard.Result{Parameter: "hmf", Unit: "mg/kg", Value: "12", At: from}, later)
	if hmf == nil || !hmf.Assumed || math.Abs(float(t, hmf.High)-64.8) > 0.3 || float(t, hmf.Low) < 12 || float(t, hmf.Low) > 12.2 {
		t.Errorf("HMF is carried to %+v", hmf)
	}
	diastase := c.OnDay(h.store, &standard.Result{Parameter: "diastase", Unit: "Gothe scale", Value: "20", At: from}, later)
	if diastase == nil || !diastase.Assumed || math.Abs(float(t, diastase.Low)-10.0) > 0.1 || float(t, diastase.High) > 20 || float(t, diastase.High) < 19.5 {
		t.Errorf("diastase is carried to %+v", diastase)
	}
}

// A log speaks for the day after its last reading, and the usual temperature from there on.
func TestALogSpeaksForADay(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(42, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: h.store}, Points: []ledger.TemperaturePoint{
		{At: ledgertest.At(30), TemperatureC: 33}, {At: ledgertest.At(42), TemperatureC: 35}}})
	c := quality.ClimateOf(h.book)
	for hours, want := range map[float64]float64{29: 20, 30: 33, 41: 33, 42: 35, 42 + 24: 35, 42 + 24.1: 20} {
		if got := c.At(h.store, ledgertest.At(hours)); got == nil || *got != want {
			t.Errorf("after %.1f hours it is %v C, not %.0f", hours, got, want)
		}
	}
}

// A store of which nothing but a few readings is known is taken as it was logged last.
func TestAStoreThatWasLoggedOnceIsTakenAsItWasThen(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store})
	h.at(42, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: h.store}, Points: []ledger.TemperaturePoint{
		{At: ledgertest.At(30), TemperatureC: 33}, {At: ledgertest.At(42), TemperatureC: 27}}})
	k := h.keeps(day10, []ledger.ID{h.lot}, "eu-honey")[0]
	if k.StoreC == nil || math.Abs(*k.StoreC-27) > 1e-9 {
		t.Errorf("it is taken as %v: %s", k.StoreC, k.StoreBasis)
	}
	if got := quality.ClimateOf(h.book).At(h.store, ledgertest.At(24*20)); got != nil {
		t.Errorf("weeks after the log it is said to have %.1f C", *got)
	}
}

// Two standard deviations lie on each side of a mean, and nothing below nothing: a variance
// of 4 is a deviation of 2.
func TestAnEstimateIsTwoDeviationsWide(t *testing.T) {
	t.Parallel()
	if got := quality.Band(estimate.Estimate{Mean: 17, Variance: 4}); got.Low != 13 || got.Middle != 17 || got.High != 21 {
		t.Errorf("%+v", got)
	}
	if got := quality.Band(estimate.Estimate{Mean: 1, Variance: 4}); got.Low != 0 || got.High != 5 {
		t.Errorf("%+v", got)
	}
}

// Results learn a lot's rate only where they are figures of its HMF, each of another instant.
func TestALotLearnsFromItsOwnFiguresOfHMFAlone(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	below := ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 3, LessThan: true, Method: "HPLC"}
	h.certify(40, hmf(5), diastase(20))
	h.certify(40, hmf(6))
	h.certify(60, below, diastase(19))
	h.certify(80, hmf(7))
	got := h.gather(day10).HMFResults()
	if len(got) != 2 || got[0].HMFMgPerKg > 6 || got[1].HMFMgPerKg != 7 || !got[1].At.Equal(ledgertest.At(80)) {
		t.Errorf("it learns from %+v", got)
	}
}

// Results of one week are one sampling; an older one says nothing of today.
func TestResultsOfOneWeekAreOneSampling(t *testing.T) {
	t.Parallel()
	for days, left := range map[float64]int{6: 0, 7: 0, 8: 1} {
		h := newHouse(t, nil)
		h.certify(40, hmf(12))
		h.certify(40+24*days, hmf(14))
		if got := h.gather("2026-07-20").LeftOut; len(got) != left {
			t.Errorf("%.0f days apart: %v", days, got)
		}
	}
}

// The day ends before midnight: what was read then is of the next.
func TestAReadingAtMidnightIsOfTheNextDay(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.read(42, 0, 17.2, 0)
	if got := len(h.gather(day2).Basis.Readings); got != 0 {
		t.Errorf("of 2 July there are %d readings", got)
	}
	if got := len(h.gather("2026-07-03").Basis.Readings); got != 1 {
		t.Errorf("of 3 July there are %d readings", got)
	}
}

// What was read on others is left out where each that leaves was read itself; a sample of the
// whole lot speaks for all.
func TestWhatLeavesIsJudgedByItsOwnReadings(t *testing.T) {
	t.Parallel()
	results := func() []standard.Result {
		return []standard.Result{{Parameter: "moisture", ContainerID: "D-1"}, {Parameter: "moisture", ContainerID: "D-2"}, {Parameter: "moisture"}, {Parameter: "hmf", ContainerID: "D-2"}}
	}
	for _, c := range []struct {
		going []string
		left  int
	}{{nil, 4}, {[]string{"D-1"}, 3}, {[]string{"D-1", "D-2"}, 4}, {[]string{"D-1", "D-3"}, 4}} {
		got := quality.AboutThese(results(), c.going)
		if len(got) != c.left {
			t.Errorf("of %v: %+v", c.going, got)
		}
		for _, r := range got {
			if len(c.going) == 1 && r.Parameter == "moisture" && r.ContainerID == "D-2" {
				t.Error("D-2's moisture speaks for D-1, which was read")
			}
		}
	}
}

// A complaint that is about no result takes none out.
func TestOnlyAComplaintAboutAResultTakesItOut(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(40, hmf(12), diastase(20))
	g := h.gather(day10)
	if g.LeavesOut(standard.FieldError{Field: "declaration/kind"}) || len(g.LeftOut) != 0 {
		t.Errorf("left out: %v", g.LeftOut)
	}
	if !g.LeavesOut(standard.FieldError{Field: "declaration/kind"}, standard.FieldError{Field: "results/1/value"}, standard.FieldError{Field: "results/1/unit"}) || len(g.LeftOut) != 1 {
		t.Errorf("left out: %v", g.LeftOut)
	}
}

// How many were sampled: four of a sample of the lot, one of a drum.
func TestASampleOfTheLotSpeaksForAsManyAsWereSampled(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.read(30, 0, 17.2, 0)
	h.certify(40, hmf(12))
	r := h.found(h.checkedOn(100, ledger.RuleSetRef{Standard: "eu-honey"})).Results[0]
	if water, warmth := line(t, r, "moisture", "").Sampled, line(t, r, "hmf", "").Sampled; water != 1 || warmth != 4 {
		t.Errorf("moisture of %d, HMF of %d", water, warmth)
	}
}

// A figure in another unit than the first of its parameter: 4 mg in 100 g are 40 mg/kg.
func TestALimitIsReckonedInTheFirstUnitOfItsParameter(t *testing.T) {
	t.Parallel()
	near(t, "4 mg/100 g", quality.LimitIn(&standard.Limit{Parameter: "hmf", Unit: "mg/100 g", Limit: "4"}), 40, 1e-9)
}

// Honey came into D-1 after it was read and after a sample of the lot: neither speaks for it
// any more, and what was read on the others still speaks for them.
func TestWhatWasReadBeforeHoneyCameInSpeaksForItNoMore(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(28.4, moisture(ledger.PlaceLot, h.lot, 19.2, 0))
	h.read(28.5, 0, 22, 0)
	h.at(30, ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceContainer, h.drums[0], 10_000))
	h.read(31, 1, 17.4, 0)
	g := h.gather(day10)
	if len(g.LeftOut) != 1 || !strings.Contains(g.LeftOut[0].String(), "measured on D-1 before other honey came into it") {
		t.Errorf("left out: %v", g.LeftOut)
	}
	if e := g.Evidence.Estimates("moisture"); len(e) == 0 || len(e[0].Measured) != 1 || e[0].Measured[0].ContainerID != "D-2" {
		t.Errorf("the verdict goes by %+v, and D-2 was read", e)
	}
	f, err := quality.FermentationOf(h.book, g, quality.ClimateOf(h.book), day10)
	if err != nil {
		t.Fatal(err)
	}
	basis := map[string]quality.MoistureBasis{}
	for _, r := range f.Risks {
		basis[r.Container.ContainerID] = r.Basis
		if m := r.Container.MoisturePct; r.Container.ContainerID == "D-2" && (m == nil || m.Float64() != 17.4) {
			t.Errorf("D-2 was read at 17.4 and is taken at %v", m)
		}
	}
	for number, want := range map[string]quality.MoistureBasis{"D-2": quality.MeasuredHere, "D-3": quality.SampleOfLot} {
		if basis[number] != want {
			t.Errorf("%s is judged by what is %q, not %q", number, basis[number], want)
		}
	}
	if b := basis["D-1"]; b == quality.MeasuredHere || b == quality.SampleOfLot {
		t.Errorf("D-1 is judged by what is %q, of before honey came in", b)
	}
}

// Two deviations lie on each side: of the last reading of the tank, by the instrument's 0.2 and
// how samples differ from their tank (0.35, unless the book learnt otherwise), and of all
// that is known. Of honey that nobody read that is 17.3 ± 1.2.
func TestADrumsMoistureIsExpectedWithinTwoDeviations(t *testing.T) {
	t.Parallel()
	bounds := func(x standard.Expected, mean, sd float64) {
		t.Helper()
		near(t, "the low end", x.Low, mean-2*sd, 1e-9)
		near(t, "the high end", x.High, mean+2*sd, 1e-9)
	}
	h := newHouse(t, nil)
	unread := quality.ExpectedOf(h.book, h.drums[0])
	if len(unread) != 1 {
		t.Fatalf("of an unread drum is expected %+v", unread)
	}
	bounds(unread[0], 17.3, 1.2)
	h.readExactly(24.5, ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}, 17.2, 0.2)
	read := quality.ExpectedOf(h.book, h.drums[0])
	if len(read) != 2 {
		t.Fatalf("of a drum whose tank was read is expected %+v", read)
	}
	bounds(read[0], 17.2, math.Hypot(0.2, h.book.State().SampleSD(h.Settling)))
	holder, _ := h.book.State().Holder(h.drums[0])
	bounds(read[1], holder.Belief.Moisture.Mean, holder.Belief.Moisture.StandardDeviation())
}
