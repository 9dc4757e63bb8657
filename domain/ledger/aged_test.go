package ledger

import (
	"math"
	"testing"
	"time"

	"pullbook/domain/estimate"
)

func known(mean, sd, rate float64) aged {
	return aged{held: estimate.Estimate{Mean: mean, Variance: sd * sd}, heldRate: rate, measured: true}
}

func as(t *testing.T, what string, e estimate.Estimate, mean, variance float64) {
	t.Helper()
	if math.Abs(e.Mean-mean) > 1e-3 || math.Abs(e.Variance-variance) > 1e-3*variance {
		t.Errorf("%s: %.4f with a variance of %.4f, worked by hand %.4f with %.4f", what, e.Mean, e.Variance, mean, variance)
	}
}

// Two tanks at 2 ± 1.5 mg/kg stood warm until each had formed 10 more, at a rate that is known
// to half of itself: 12 ± 5 for the rate, and 1.5 for the start. Both are so for one
// reason, so half of each is no better known: 1.5² + 5². As if the rates were each their
// own it would be 1.5² + 5²/2.
func TestOneRateForBothHalvesOfAMixtureDoesNotAverageOut(t *testing.T) {
	t.Parallel()
	warmed := known(2, 1.5, 0).forms(10, 0.5)
	as(t, "one of them", warmed.contested().Held, 12, 27.25)
	as(t, "both, mixed", warmed.mixed(0.5, warmed).contested().Held, 12, 27.25)
	as(t, "one with honey that stood cold", warmed.mixed(0.25, known(2, 1.5, 0)).contested().Held, 4.5, 2.25+1.25*1.25)
}

// 20 ± 2 of which heat left a twentieth is 1 ± 0.1, and not known to 0.42 of its ln 20 for the
// rate, 1.258. Half of it with half of 10 ± 8 is 5.5, by 0.05 + 4 and by half of 1.258:
// 4.05² + 0.629² = 16.798. A mean loss for all of it, as if the sure half were the
// unsure one, would come to 3.4.
func TestDiastaseMixesAsItIsAfterWhatEachPartLost(t *testing.T) {
	t.Parallel()
	heated := known(20, 2, 0).loses(math.Log(20))
	as(t, "the heated half", heated.contested().Held, 1, 0.01+1.2582*1.2582)
	as(t, "mixed", heated.mixed(0.5, known(10, 8, 0)).contested().Held, 5.5, 16.798)
}

// What heat takes in two spells it takes in one of both: 20 ± 2 goes to a half, and that to a quarter
// of it, which is 2.5 ± 0.25, known to 0.42 of its ln 8 for the rate, 2.1835.
func TestTwoSpellsOfHeatTakeWhatOneOfBothTakes(t *testing.T) {
	t.Parallel()
	apart := known(20, 2, 0).loses(math.Log(2)).loses(math.Log(4))
	as(t, "in two spells", apart.contested().Held, 2.5, 0.0625+2.1835*2.1835)
	as(t, "in one", known(20, 2, 0).loses(math.Log(8)).contested().Held, 2.5, 0.0625+2.1835*2.1835)
}

// What is known to 3 for how it began and 4 for its rate is known to 5. A result that is good
// to 5 halves the distance, and leaves half of each and half of its own error: 1.5² + 2.5²
// and 2. The rate of what forms after that is the same rate: 2 mg/kg known to half of it
// make it 3, and 8.5 + 3² in all, not 8.5 + 2² + 1².
func TestAResultLeavesHalfOfWhatTheRateWas(t *testing.T) {
	t.Parallel()
	next, verdict := known(10, 3, 4).take(16, 25, true)
	if verdict != estimate.Fits {
		t.Fatalf("the verdict is %v", verdict)
	}
	as(t, "measured", next.contested().Held, 13, 12.5)
	as(t, "and warmed", next.forms(2, 0.5).contested().Held, 15, 17.5)
}

// Honey that a laboratory found at 6 ± 1 and then at 60, which is a slip, is still at 6, not as
// sure, and warms like what it may be. The next result decides.
func TestAResultThatDoesNotFitMovesNothingUntilTheNext(t *testing.T) {
	t.Parallel()
	slip, verdict := known(6, 1, 0).take(60, 36, true)
	if verdict != estimate.Against {
		t.Fatalf("60 beside 6 ± 1: %v", verdict)
	}
	as(t, "after the slip", slip.contested().Estimate(), 6, 27*27)
	later := slip.forms(2, 0.5)
	as(t, "warmed", later.contested().Held, 8, 2)
	as(t, "and if the slip was right", later.contested().Rival, 62, 37)
	again, verdict := later.take(8, 2, true)
	if verdict != estimate.Fits || again.disputed() {
		t.Errorf("8 beside 8: %v, disputed %t", verdict, again.disputed())
	}
	as(t, "the next at 8", again.contested().Estimate(), 8, 1)
	other, verdict := later.take(62, 37, true)
	if verdict != estimate.Confirms || other.disputed() {
		t.Errorf("62 beside 62: %v, disputed %t", verdict, other.disputed())
	}
	as(t, "the next at 62", other.contested().Estimate(), 62, 18.5)
	as(t, "half of it in clean honey", slip.mixed(0.5, known(6, 1, 0)).contested().Rival, 33, 3.5*3.5)
	// If the slip was right, half of it formed 2 more and half of it 2: at one rate, known to 1.
	as(t, "and both warmed", later.mixed(0.5, known(6, 1, 0).forms(2, 0.5)).contested().Rival, 35, 3.5*3.5+1)
	as(t, "three quarters of it", later.mixed(0.75, known(6, 1, 0).forms(2, 0.5)).contested().Rival, 48.5, 4.75*4.75+1)
}

// Of honey that no laboratory measured only what honeys are in general is known: 1.5 ± 1.5. A
// first result of 20 stands instead of it. One that honey seldom has moves nothing.
func TestAFirstResultStandsInsteadOfWhatHoneysAre(t *testing.T) {
	t.Parallel()
	unread := freshHoney(0).hmf
	first, verdict := unread.take(20, 4, true)
	if verdict != estimate.Fits || !first.measured {
		t.Errorf("a first result of 20: %v, measured %t", verdict, first.measured)
	}
	as(t, "a first result of 20", first.contested().Estimate(), 20, 4)
	odd, verdict := unread.take(600, 3600, false)
	if verdict != estimate.Against || odd.held != unread.held {
		t.Errorf("a first result of 600: %v, from %+v to %+v", verdict, unread.held, odd.held)
	}
	if half := first.mixed(0.5, unread); half.measured {
		t.Error("half of it was never measured, and it counts as measured")
	}
	if same, _ := first.take(math.NaN(), 4, true); same != first {
		t.Errorf("no figure at all made %+v of %+v", same, first)
	}
}

// domain/heat: the logarithm of a rate is known to 0.525 from 40 to 60 C, and 8 kJ/mol less well
// below: at 20 C 0.525 + 8000/8.3145 (1/293.15 - 1/313.15) = 0.7346.
func TestARateIsKnownLessWellInTheCold(t *testing.T) {
	t.Parallel()
	const days = 50
	for celsius, want := range map[float64]float64{20: 0.7346, 50: 0.525} {
		if got := hmfRateSD(days*kinetics.HMFRate(celsius), days*24*int64(time.Hour/time.Microsecond)); math.Abs(got-want) > 1e-4 {
			t.Errorf("at %g C it is known to %.4f, worked by hand %.4f", celsius, got, want)
		}
	}
}
