package plan_test

import (
	"math"
	"strings"
	"testing"

	"pullbook/domain/plan"
)

// Honey of 18.0 % that may be off by 0.2 keeps to at most 18.2 % with 0.84, to at least 17.8 % with as much, and to
// both with 0.68; where nothing is off it does or it does not.
func TestHoneyKeepsToALimitAsSurelyAsItIsKnown(t *testing.T) {
	t.Parallel()
	off := plan.Figure{Mean: 18, Errors: []plan.Spread{{Key: "lot", SD: 0.16}, {Key: "instrument", SD: 0.12}}}
	for _, c := range []struct {
		limit plan.Limit
		of    plan.Figure
		want  float64
	}{
		{plan.Limit{Parameter: "moisture", High: new(18.2)}, off, 0.8413},
		{plan.Limit{Parameter: "moisture", Low: new(17.8)}, off, 0.8413},
		{plan.Limit{Parameter: "moisture", Low: new(17.8), High: new(18.2)}, off, 0.6827},
		{plan.Limit{Parameter: "moisture", Low: new(0.0)}, off, 1},
		{plan.Limit{Parameter: "moisture", High: new(18.0)}, plan.Figure{Mean: 18}, 1},
		{plan.Limit{Parameter: "moisture", High: new(17.99)}, plan.Figure{Mean: 18}, 0},
		{plan.Limit{Parameter: "colour_pfund", High: new(50.0)}, plan.Figure{Mean: 50, Errors: []plan.Spread{{Key: "lot", SD: 3}}}, 0.5},
	} {
		if got := c.limit.Kept(c.of); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("%v: %.4f, want %.4f", c.limit, got, c.want)
		}
	}
}

// With 95 % that honey would keep to 18.2 % up to 18.2 - 1.6449 x 0.2 = 17.871 %.
func TestALimitTurnsWhereTheProbabilityIsLost(t *testing.T) {
	t.Parallel()
	off := plan.Figure{Mean: 17.5, Errors: []plan.Spread{{Key: "lot", SD: 0.2}}}
	limit := plan.Limit{Parameter: "moisture", High: new(18.2)}
	if at, turns := limit.TurnsAt(off, 0.95); !turns || math.Abs(at-17.871) > 1e-3 {
		t.Errorf("it turns (%v) at %.4f, want 17.871", turns, at)
	}
	both := plan.Limit{Parameter: "moisture", Low: new(17.0), High: new(18.2)}
	if at, turns := both.TurnsAt(off, 0.95); !turns || math.Abs(at-17.329) > 1e-3 {
		t.Errorf("of two ends the nearer is at %.4f (%v), want 17.329", at, turns)
	}
	if _, turns := (&plan.Limit{Parameter: "moisture"}).TurnsAt(off, 0.95); turns {
		t.Error("an open limit turns")
	}
}

// The same honey would keep to 17.5 + 1.6449 x 0.2 = 17.829 %, which is what a limit of 17.6 % would have to be.
func TestALimitThatIsFailedHasAnEndThatWouldBeKept(t *testing.T) {
	t.Parallel()
	off := plan.Figure{Mean: 17.5, Errors: []plan.Spread{{Key: "lot", SD: 0.2}}}
	for _, c := range []struct {
		limit plan.Limit
		fails bool
	}{{plan.Limit{Parameter: "moisture", High: new(17.6)}, true}, {plan.Limit{Parameter: "moisture", High: new(18.2)}, false}, {plan.Limit{Parameter: "moisture", Low: new(17.6)}, false}} {
		if end, fails := c.limit.Needed(off, 0.95); fails != c.fails || fails && math.Abs(end-17.829) > 1e-3 {
			t.Errorf("%+v: %.4f (%v), want 17.829 (%v)", c.limit, end, fails, c.fails)
		}
	}
}

// A guard on both sides can leave nothing between two ends that the rule set itself has in order.
func TestLimitsThatLeaveNothingBetweenThemAreTold(t *testing.T) {
	t.Parallel()
	if why := plan.Contradiction([]plan.Limit{{Parameter: "moisture", High: new(17.0)}, {Parameter: "moisture", Low: new(17.2)}}).String(); !strings.Contains(why, "moisture") || !strings.Contains(why, "17.2") {
		t.Errorf("said is %q", why)
	}
	if why := plan.Contradiction([]plan.Limit{{Parameter: "moisture", High: new(17.0)}, {Parameter: "hmf", Low: new(17.2)}}); !why.IsEmpty() {
		t.Errorf("limits of two things contradict: %s", why)
	}
}
