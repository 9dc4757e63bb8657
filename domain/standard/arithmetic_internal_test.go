package standard

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
)

func carriedFrom(measured string, on Date, assumed bool) *age {
	return &age{MustDecimal(measured), on, assumed}
}

// A mean of figures that were carried is as old as the oldest, and rests on a guess where one does.
func TestAMeanIsAsOldAsItsOldestFigure(t *testing.T) {
	t.Parallel()
	old, young := carriedFrom("30", "2026-01-03", false), carriedFrom("10", "2026-03-01", true)
	for _, sum := range []*age{old.with(young), young.with(old)} {
		if sum.measured.String() != "40" || sum.on != "2026-01-03" || !sum.assumed {
			t.Errorf("%+v", sum)
		}
	}
	if got := old.with(carriedFrom("1", "2026-02-01", false)); got.assumed {
		t.Errorf("neither was guessed: %+v", got)
	}
	var fresh *age
	if old.with(fresh) != old || fresh.with(old) != old || fresh.with(nil) != nil {
		t.Error("a figure of the day itself changes how old a mean is")
	}
}

func TestThereAreNoDaysToWhatIsNoDay(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		from, to Date
		want     int
	}{{"2026-01-03", "2026-07-22", 200}, {"", "2026-07-22", 0}, {"2026-01-03", "", 0}, {"2026-01-03", "soon", 0}} {
		if got := Days(c.from, c.to); got != c.want {
			t.Errorf("from %q to %q are %d days, want %d", c.from, c.to, got, c.want)
		}
	}
}

// An outcome is worse than another whatever the margins; of one outcome the lesser margin is.
func TestTheWorseVerdictIsOfTheWorseOutcomeThenOfTheLesserMargin(t *testing.T) {
	t.Parallel()
	of := func(o Outcome, margin string) *LimitVerdict {
		return &LimitVerdict{Outcome: o, Margin: MustDecimal(margin)}
	}
	for _, c := range []struct {
		a, b  *LimitVerdict
		worse bool
	}{
		{of(Fails, "5"), of(Meets, "-1"), true}, {of(Meets, "-1"), of(Fails, "5"), false},
		{of(Meets, "1"), of(Meets, "2"), true}, {of(Meets, "2"), of(Meets, "1"), false}, {of(Meets, "1"), of(Meets, "1"), false},
	} {
		if got := worseThan(c.a, c.b); got != c.worse {
			t.Errorf("%s by %s is worse than %s by %s: %t", c.a.Outcome, c.a.Margin, c.b.Outcome, c.b.Margin, got)
		}
	}
}

// "Less than 15" is below 15 without ever being it, "more than 15" above.
func TestATestOfAResultHoldsAtItsFigureAsWritten(t *testing.T) {
	t.Parallel()
	for comparator, want := range map[string][5]bool{
		//     14    <15    15     >15    16
		"<=": {true, true, true, false, false},
		"<":  {true, true, false, false, false},
		">=": {false, false, true, true, true},
		">":  {false, false, false, true, true},
	} {
		test := &ResultTest{Comparator: comparator, Limit: MustDecimal("15")}
		for i, c := range []struct {
			value string
			open  open
		}{{"14", 0}, {"15", openBelow}, {"15", 0}, {"15", openAbove}, {"16", 0}} {
			if got := test.passes(MustDecimal(c.value), c.open); got != want[i] {
				t.Errorf("%s %s 15 (%+d): %t", c.value, comparator, c.open, got)
			}
		}
	}
}

// Below 8 is not at 8; "less than 8" is.
func TestABoundThatIsNotAllowedItselfHasItsEndOutside(t *testing.T) {
	t.Parallel()
	at := func(inclusive bool) bound { return bound{set: true, at: MustDecimal("8"), inclusive: inclusive} }
	for _, c := range []struct {
		b      bound
		side   int
		value  string
		open   open
		inside bool
	}{
		{at(true), upperSide, "8", 0, true}, {at(false), upperSide, "8", 0, false}, {at(false), upperSide, "8", openBelow, true}, {at(true), upperSide, "8.1", 0, false},
		{at(true), lowerSide, "8", 0, true}, {at(false), lowerSide, "8", 0, false}, {at(false), lowerSide, "8", openAbove, true}, {at(true), lowerSide, "7.9", 0, false},
	} {
		if got := c.b.inside(MustDecimal(c.value), c.side, c.open); got != c.inside {
			t.Errorf("%s (%+d) against %s: inside %t", c.value, c.open, c.b.said(c.side), got)
		}
		if got := c.b.admits(c.b.margin(MustDecimal(c.value), c.side), Decimal{}, c.side, c.open); got != c.inside {
			t.Errorf("%s (%+d) against %s: admitted %t", c.value, c.open, c.b.said(c.side), got)
		}
	}
}

// Without uncertainty a figure conforms surely or not at all, at the ends as they are written.
func TestAFigureThatIsKnownSurelyConformsOrDoesNot(t *testing.T) {
	t.Parallel()
	low, high := bound{set: true, at: MustDecimal("15"), inclusive: true}, bound{set: true, at: MustDecimal("18"), inclusive: false}
	for y, want := range map[float64]float64{14.9: 0, 15: 1, 17: 1, 18: 0, 19: 0} {
		if got := conformance(y, 0, low, high); got != want {
			t.Errorf("%g within 15 and below 18: %g", y, got)
		}
	}
	if conformance(99, 0, low, bound{}) != 1 || conformance(14, 0, low, bound{}) != 0 || conformance(1, 0, bound{}, high) != 1 || conformance(18.5, 0, bound{}, high) != 0 {
		t.Error("with one end alone it is not as that end says")
	}
}

// A figure at, between and beyond each threshold, each once.
func TestValuesTellThresholdsApart(t *testing.T) {
	t.Parallel()
	got := fmt.Sprint(valuesAround([]Decimal{MustDecimal("20"), MustDecimal("15"), MustDecimal("15")}))
	if got != "[14 15 17.5 20 21]" {
		t.Errorf("%s", got)
	}
}

// A mean keeps the places of its readings, and one of many digits is read with two.
func TestAMeanKeepsThePlacesOfItsReadings(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ x, y, want string }{{"18.00", "2", "9.00"}, {"19", "2", "9.5"}, {"10.0", "4", "2.5"}, {"10", "3", "3.333333333333"}} {
		if got := MustDecimal(c.x).over(MustDecimal(c.y)).String(); got != c.want {
			t.Errorf("%s over %s is %s, want %s", c.x, c.y, got, c.want)
		}
	}
	for x, want := range map[string]string{"18.1234": "18.1234", "18.12345": "18.12", "18": "18"} {
		if got := MustDecimal(x).Short().String(); got != want {
			t.Errorf("%s is read as %s, want %s", x, got, want)
		}
	}
}

// Edition after edition: one that ends on the day on which the next begins overlaps it.
func TestEditionsOverlapWhereADayIsOfBoth(t *testing.T) {
	t.Parallel()
	of := func(from, to Date) *RuleSet { return &RuleSet{InForceFrom: from, InForceTo: to} }
	for _, c := range []struct {
		a, b *RuleSet
		want bool
	}{
		{of("2001-01-01", "2010-12-31"), of("2011-01-01", ""), false},
		{of("2001-01-01", "2011-01-01"), of("2011-01-01", ""), true},
		{of("2001-01-01", ""), of("2011-01-01", ""), true},
		{of("2001-01-01", "2005-01-01"), of("2011-01-01", "2012-01-01"), false},
		{of("2001-01-01", "2020-01-01"), of("2011-01-01", "2012-01-01"), true},
	} {
		if c.a.overlaps(c.b) != c.want || c.b.overlaps(c.a) != c.want {
			t.Errorf("%s to %s and %s to %s: overlap is not %t", c.a.InForceFrom, c.a.InForceTo, c.b.InForceFrom, c.b.InForceTo, c.want)
		}
	}
}

// A set that follows another names one that stands by itself.
func TestARuleSetFollowsOneThatStandsByItself(t *testing.T) {
	t.Parallel()
	for _, sets := range [][]*RuleSet{
		{{ID: "a", Family: "a", SameAs: "nothing"}},
		{{ID: "a", Family: "a", SameAs: "b"}, {ID: "b", Family: "b", SameAs: "a"}},
	} {
		if _, err := NewLibrary(sets...); err == nil || !strings.Contains(err.Error(), "limits of its own") {
			t.Errorf("%v", err)
		}
	}
	library, err := NewLibrary(&RuleSet{ID: "a", Family: "jars"})
	if err != nil || !library.HasFamily("jars") || library.HasFamily("drums") {
		t.Errorf("it does not know its family (%v)", err)
	}
}

// An amount that no account holds is not booked, also where its bits look like a small one.
func TestAnAmountIsBookedWhereItFits(t *testing.T) {
	t.Parallel()
	if cents, ok := wholeCents(decimal.RequireFromString("12.5")); !ok || cents != 13 {
		t.Errorf("12.5 cents are %d (%t)", cents, ok)
	}
	for _, huge := range []string{"18446744073709551621", "9223372036854775807", "10000000000000"} { // 2^64 + 5
		if cents, ok := wholeCents(decimal.RequireFromString(huge)); ok {
			t.Errorf("%s cents are booked as %d", huge, cents)
		}
	}
}

// What is missing is said to be missing, what is wrong is quoted.
func TestAnErrorSaysWhatCame(t *testing.T) {
	t.Parallel()
	var p problems
	p.add("unit", "", "say it")
	p.add("unit", "lb", "say it in kilograms")
	fields := FieldErrors(p.err())
	if len(fields) != 2 || !strings.Contains(fields[0].Error(), "unit is missing") || !strings.Contains(fields[1].Error(), `lb`) || strings.Contains(fields[1].Error(), "missing") {
		t.Errorf("%v", fields)
	}
}

func TestARuleSaysItsGuardBands(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rule DecisionRule
		want string
	}{
		{DecisionRule{}, "simple acceptance"},
		{DecisionRule{AcceptR: 1}, "guarded acceptance with w = 1 U, U = 2 u"},
		{DecisionRule{RejectR: 0.5}, "guarded rejection with w = 0.5 U, U = 2 u"},
		{DecisionRule{AcceptR: 1, RejectR: 0.5, CoverageFactor: 3}, "guarded acceptance with w = 1 U and guarded rejection with w = 0.5 U, U = 3 u"},
	} {
		if got := c.rule.String(); got != c.want {
			t.Errorf("%+v: %q", c.rule, got)
		}
	}
	for most, fine := range map[float64]bool{5: true, 5.1: false, -0.1: false, 0: true} {
		var p problems
		DecisionRule{AcceptR: most}.validate("decision", &p)
		if (len(p) == 0) != fine {
			t.Errorf("a guard band of %g U: %v", most, p.err())
		}
	}
}

// A condition is said in words, with what is within another in brackets.
func TestAConditionIsSaidInWords(t *testing.T) {
	t.Parallel()
	heather, clover := Condition{Attribute: "kind", Includes: []string{"calluna_vulgaris"}}, Condition{Attribute: "kind", Only: []string{"trifolium"}}
	result := func(comparator string) Condition {
		return Condition{Result: &ResultTest{Parameter: "hmf", Unit: "mg/kg", Comparator: comparator, Limit: MustDecimal("15")}}
	}
	isHeather, isClover := heather.String(), clover.String()
	if !strings.HasSuffix(isHeather, "includes ling heather (Calluna vulgaris)") || !strings.HasSuffix(isClover, "is only clover (Trifolium)") {
		t.Errorf("%q, %q", isHeather, isClover)
	}
	for _, c := range []struct {
		condition Condition
		want      string
	}{
		{result("<="), "HMF at most 15 mg/kg"}, {result("<"), "HMF below 15 mg/kg"}, {result(">="), "HMF at least 15 mg/kg"}, {result(">"), "HMF above 15 mg/kg"},
		{Condition{Not: &heather}, "not (" + isHeather + ")"},
		{Condition{All: []Condition{heather, result("<=")}}, isHeather + " and HMF at most 15 mg/kg"},
		{Condition{Any: []Condition{heather, result("<=")}}, isHeather + " or HMF at most 15 mg/kg"},
		{Condition{All: []Condition{heather, {Any: []Condition{clover, result("<")}}}}, isHeather + " and (" + isClover + " or HMF below 15 mg/kg)"},
		{Condition{Any: []Condition{heather, {All: []Condition{clover, result("<")}}}}, isHeather + " or (" + isClover + " and HMF below 15 mg/kg)"},
	} {
		if got := c.condition.String(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	var general *Condition
	if general.String() != "" || orGeneral(general) != "the general line" || orGeneral(&heather) != isHeather {
		t.Error("the general line is not told from one with a condition")
	}
}
