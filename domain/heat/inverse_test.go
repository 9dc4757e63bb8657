package heat_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"
	"pullbook/domain/heat"
)

func TestHoursUntilALimitEndAtTheLimit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		k := heat.Default()
		c := rapid.Float64Range(5, 85).Draw(rt, "C")
		start := rapid.Float64Range(0, 20).Draw(rt, "HMF")
		hours, err := k.HoursUntilHMF(start, 40, c)
		if err != nil {
			rt.Fatal(err)
		}
		if end := start + k.HMFRate(c)*hours.Middle/24; math.Abs(end-40) > 1e-9 {
			rt.Fatalf("HMF ends at %g", end)
		}
		if !(hours.Low < hours.Middle && hours.Middle < hours.High) {
			rt.Fatalf("%+v is no band", hours)
		}
		hours, err = k.HoursUntilDiastase(20, 8, c)
		if err != nil {
			rt.Fatal(err)
		}
		if end := 20 * math.Exp(-k.DiastaseRate(c)*hours.Middle/24); math.Abs(end-8) > 1e-9 {
			rt.Fatalf("diastase ends at %g", end)
		}
	})
}

func TestHighestTemperatureKeepsTheLimitForAFastHoneyToo(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		k := heat.Default()
		hours := rapid.Float64Range(1, 24*200).Draw(rt, "hours")
		highest, err := k.HighestTemperatureForHMF(hours, 5, 15)
		if err != nil {
			rt.Fatal(err)
		}
		if !(highest.Low <= highest.Middle && highest.Middle <= highest.High && highest.High <= heat.HottestC) {
			rt.Fatalf("%+v", highest)
		}
		until, err := k.HoursUntilHMF(5, 15, highest.Low)
		if err != nil {
			rt.Fatal(err)
		}
		if highest.Low < heat.HottestC && math.Abs(until.Low/hours-1) > 1e-9 {
			rt.Fatalf("at %g C a fast honey lasts %g h, the job takes %g", highest.Low, until.Low, hours)
		}
		enzyme, err := k.HighestTemperatureForDiastase(hours, 20, 10)
		if err != nil {
			rt.Fatal(err)
		}
		left, err := k.HoursUntilDiastase(20, 10, enzyme.Low)
		if err != nil {
			rt.Fatal(err)
		}
		if enzyme.Low < heat.HottestC && math.Abs(left.Low/hours-1) > 1e-9 {
			rt.Fatalf("at %g C diastase of a fast honey lasts %g h, the job takes %g", enzyme.Low, left.Low, hours)
		}
	})
}

// The middle honey forms 5.1467704 mg/kg in a day at 50 C (the fit of the published times): so much
// in a day allows 50 C. A job shorter than any reaction at any heat is let have the hottest that is asked about.
func TestAJobOfADayAllowsTheTemperatureOfItsRate(t *testing.T) {
	t.Parallel()
	highest, err := heat.Default().HighestTemperatureForHMF(24, 0, 5.1467704)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "highest temperature", highest.Middle, 50, 1e-9)
	if _, err := heat.Default().HighestTemperatureForHMF(87_660, 0, 40); err != nil {
		t.Errorf("ten years, the longest job: %v", err)
	}
	highest, err = heat.Default().HighestTemperatureForHMF(1e-25, 0, 1000)
	if err != nil || highest != (heat.Band{Low: 100, Middle: 100, High: 100}) {
		t.Errorf("no time at all allows %+v, %v", highest, err)
	}
}

func TestALimitAlreadyPassedTakesNoTimeAndAllowsNoHeat(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	if hours, err := k.HoursUntilHMF(45, 40, 20); err != nil || hours != (heat.Band{}) {
		t.Errorf("%v, %v", hours, err)
	}
	if hours, err := k.HoursUntilDiastase(6, 8, 20); err != nil || hours != (heat.Band{}) {
		t.Errorf("%v, %v", hours, err)
	}
	if highest, err := k.HighestTemperatureForHMF(10, 40, 40); err == nil {
		t.Errorf("%v for a limit already reached", highest)
	}
	if highest, err := k.HighestTemperatureForDiastase(10, 8, 8); err == nil {
		t.Errorf("%v for a limit already reached", highest)
	}
}

func TestInverseQuestionsRefuseNonsense(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	nan := math.NaN()
	for name, err := range map[string]error{
		"HMF below nothing":      second(k.HoursUntilHMF(-1, 40, 20)),
		"limit below nothing":    second(k.HoursUntilHMF(1, -40, 20)),
		"113 C":                  second(k.HoursUntilHMF(1, 40, 113)),
		"NaN":                    second(k.HoursUntilHMF(nan, 40, 20)),
		"no diastase at all":     second(k.HoursUntilDiastase(0, 8, 20)),
		"limit of no diastase":   second(k.HoursUntilDiastase(20, 0, 20)),
		"diastase at 113 C":      second(k.HoursUntilDiastase(20, 8, 113)),
		"a job of no length":     second(k.HighestTemperatureForHMF(0, 1, 40)),
		"a job of a century":     second(k.HighestTemperatureForHMF(876_600, 1, 40)),
		"a job of NaN":           second(k.HighestTemperatureForDiastase(nan, 20, 8)),
		"a reference in F":       second(k.HMF.EquivalentHours(kept(t, 40, 1), 104)),
		"highest, HMF below 0":   second(k.HighestTemperatureForHMF(5, -1, 40)),
		"highest, diastase of 0": second(k.HighestTemperatureForDiastase(5, 0, 8)),
	} {
		if err == nil || err.Error() == "" {
			t.Errorf("%s was taken", name)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func TestEquivalentTimeGivesTheSameHMF(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	h := logged(t, 6*3600e9, 20, 45, 63, 45, 20)
	hours, err := k.HMF.EquivalentHours(h, 40)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "HMF of the equivalent time at 40 C", k.HMFRate(40)*hours/24, k.HMF.Exposure(h), 1e-12)
	same, err := k.Diastase.EquivalentHours(kept(t, 45, 12), 45)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "twelve hours at 45 C as hours at 45 C", same, 12, 1e-12)
}
