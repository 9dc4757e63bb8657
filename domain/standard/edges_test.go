package standard_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"pullbook/domain/standard"
)

// only is a rule set of some lines of a buyer.
func only(t testing.TB, limits ...any) *standard.RuleSet {
	t.Helper()
	return parsed(t, buyersSet(limitsOf(limits...)))
}

func wetAt(pcts ...string) standard.Lot {
	lot := standard.Lot{Containers: drums(len(pcts))}
	for i, pct := range pcts {
		lot.Results = append(lot.Results, moistureOf(lot.Containers[i], pct, "", ""))
	}
	return lot
}

// Wherever among the drums those outside stand, each is named, and no other.
func TestEachDrumOutsideIsNamed(t *testing.T) {
	t.Parallel()
	between := only(t, with(buyersLimit("moisture", "%", "between", "16"), map[string]any{"limit_to": "18", "ends": "[]"}))
	atLeast := only(t, buyersLimit("moisture", "%", ">=", "16"))
	atMost := only(t, buyersLimit("moisture", "%", "<=", "18"))
	for _, c := range []struct {
		set  *standard.RuleSet
		pcts []string
		want string
	}{
		{between, []string{"17", "15.5", "17.2"}, "[D002]"}, {between, []string{"15.5", "17", "17.2"}, "[D001]"}, {between, []string{"17", "17.2", "15.5"}, "[D003]"},
		{between, []string{"18.5", "17", "17.2"}, "[D001]"}, {between, []string{"17", "18.5", "17.2"}, "[D002]"}, {between, []string{"17", "15", "19", "16"}, "[D002 D003]"},
		{between, []string{"17", "16", "18"}, "[]"}, {atLeast, []string{"19", "15", "17"}, "[D002]"}, {atMost, []string{"17", "18.2", "15"}, "[D002]"},
		{atMost, []string{"18.2"}, "[]"}, // the lot is the drum
	} {
		v := check(t, c.set, wetAt(c.pcts...)).Verdicts[0]
		if got := fmt.Sprint(v.ContainersOutside); got != c.want {
			t.Errorf("%v against %s: outside are %s, want %s", c.pcts, v.Limit.Said(), got, c.want)
		}
		if v.Outcome == standard.Meets != (c.want == "[]" && c.pcts[0] != "18.2") {
			t.Errorf("%v against %s: %s", c.pcts, v.Limit.Said(), v.Outcome)
		}
	}
}

// A drum of "less than" a figure is outside only where all that it may hold is.
func TestLessThanIsOutsideWhereAllOfItIs(t *testing.T) {
	t.Parallel()
	below := func(drum, value string) standard.Result {
		r := measured("diastase", value)
		r.LessThan, r.ContainerID = true, drum
		return r
	}
	other := measured("diastase", "12")
	other.ContainerID = "D2"
	for _, c := range []struct {
		comparator, value string
		outside           int
	}{{">=", "8", 1}, {">=", "11", 0}, {"<=", "20", 0}} {
		set := only(t, buyersLimit("diastase", "Schade units", c.comparator, "10"))
		v := check(t, set, standard.Lot{Results: []standard.Result{below("D1", c.value), other}}).Verdicts[0]
		got := 0
		for _, id := range v.ContainersOutside {
			if id == "D1" {
				got++
			}
		}
		if got != c.outside {
			t.Errorf("less than %s against %s 10: outside are %v", c.value, c.comparator, v.ContainersOutside)
		}
	}
}

// By hand: the pairs scatter with a variance of 0.02 each; the drums' means 17.1 and 18.5 have a
// variance of 0.98, so that their mean has 0.49; one instrument of 0.1 makes 0.50 of it.
func TestTheUncertaintyOfAMeanOfPairs(t *testing.T) {
	t.Parallel()
	e := estimateOf(t, standard.Lot{Results: []standard.Result{
		moistureOf("D1", "17.0", "0.1", "r"), moistureOf("D1", "17.2", "0.1", "r"),
		moistureOf("D2", "18.4", "0.1", "r"), moistureOf("D2", "18.6", "0.1", "r"),
	}}, "moisture")
	if !near(e.InstrumentU, 0.1, 1e-12) || !near(e.StdUncertainty, math.Sqrt(0.50), 1e-9) {
		t.Errorf("instrument %g, in all %g", e.InstrumentU, e.StdUncertainty)
	}
	twice := estimateOf(t, standard.Lot{Results: []standard.Result{moistureOf("", "17.0", "0.1", "r"), moistureOf("", "17.2", "0.1", "r")}}, "moisture")
	if !near(twice.InstrumentU, 0.1, 1e-12) {
		t.Errorf("a sample read twice by one instrument: %g", twice.InstrumentU)
	}
}

// The wetter of two unmeasured drums is expected at Blom's score of 1.625/2.25 = 0.7222, which
// is 0.5895 deviations above the mean; a single one at the mean.
func TestTheWettestUnmeasuredDrumByBlomsScore(t *testing.T) {
	t.Parallel()
	two := wetAt("17.0", "18.0", "17.5", "17.5")
	two.Results = two.Results[:2]
	if e := estimateOf(t, two, "moisture"); !e.HighestUnmeasuredKnown || !near(e.HighestUnmeasured, 17.5+0.5895*math.Sqrt(0.5), 1e-4) {
		t.Errorf("of two: %g", e.HighestUnmeasured)
	}
	one := wetAt("17.0", "18.0", "17.5", "17.5")
	one.Results = one.Results[:3]
	if e := estimateOf(t, one, "moisture"); !e.HighestUnmeasuredKnown || !near(e.HighestUnmeasured, 17.5, 1e-9) {
		t.Errorf("of one: %g (%t)", e.HighestUnmeasured, e.HighestUnmeasuredKnown)
	}
}

func hmfTest(comparator, limit string) map[string]any {
	return map[string]any{"result": map[string]any{"parameter": "hmf", "unit": "mg/kg", "comparator": comparator, "limit": limit}}
}

// A line that hangs on a result that nobody has decides nothing, unless it would not bind anyway.
func TestALineThatHangsOnAMissingResultIsOpen(t *testing.T) {
	t.Parallel()
	when := map[string]any{"when": hmfTest("<=", "15")}
	v := check(t, only(t, with(buyersLimit("moisture", "%", "<=", "18"), when)), wetAt("17", "17")).Verdicts[0]
	if v.Outcome != standard.NotMeasured || v.Reason != standard.ReasonRestsOnUnmeasured {
		t.Errorf("%s", v.Sentence())
	}
	exempt := map[string]any{"parameter": "moisture", "comparator": "exempt", "clause": "annex 2", "source": map[string]any{"seen_at": "contract on file"}, "when": hmfTest("<=", "15")}
	if v := check(t, only(t, exempt), wetAt("17", "17")).Verdicts[0]; v.Outcome != standard.DoesNotApply {
		t.Errorf("%s", v.Sentence())
	}
}

func look(drum, word string) standard.Result {
	return standard.Result{Parameter: "fermentation", Value: word, ContainerID: drum}
}

// What is seen counts for each drum that leaves, and for the lot as a whole.
func TestWhatIsSeenCountsForWhatLeaves(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		only    []string
		looks   []standard.Result
		want    standard.Outcome
		outside string
	}{
		{nil, []standard.Result{look("D1", "absent"), look("D2", "present")}, standard.Fails, "[D2]"},
		{[]string{"D1"}, []standard.Result{look("D1", "absent"), look("D2", "present")}, standard.Meets, "[]"},
		{[]string{"D2"}, []standard.Result{look("D1", "absent"), look("D2", "present")}, standard.Fails, "[D2]"},
		{[]string{"D1"}, []standard.Result{look("D2", "absent"), look("", "present")}, standard.Fails, "[]"},
	} {
		got := check(t, ruleSet(t, "codex-cxs-12-1981"), standard.Lot{Results: c.looks, Only: c.only})
		place, outcome := verdictFor(got, "fermentation", "")
		if outside := fmt.Sprint(got.Verdicts[place].ContainersOutside); outcome != c.want || outside != c.outside {
			t.Errorf("%v of %v: %s, outside %s", c.only, c.looks, outcome, outside)
		}
	}
}

// A grade that makes a claim which the lot does not make is out of play; the next is looked at.
func TestAGradeThatIsNotClaimedIsPassedOver(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(s map[string]any) {
		s["form"], s["grades"] = "grades", []string{"heather", "plain"}
		s["limits"] = []any{
			with(buyersLimit("moisture", "%", "<=", "23"), map[string]any{"grade": "heather", "when": map[string]any{"attribute": "kind", "includes": []string{"calluna_vulgaris"}}}),
			with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"grade": "plain"})}
	}))
	if c := check(t, set, wetAt("17", "17")); c.Outcome != standard.Meets || c.Grade != "plain" {
		t.Errorf("%s, grade %q", c.Outcome, c.Grade)
	}
}

// Where the grader and the optical density disagree, the darker class stands.
func TestTheDarkerOfTwoScalesStands(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ pfund, density, want string }{{"32", "0.5", "Extra Light Amber"}, {"45", "0.3", "Extra Light Amber"}, {"32", "0.3", "White"}, {"100", "0.05", "Amber"}} {
		lot := standard.Lot{Results: []standard.Result{measured("colour_pfund", c.pfund), measured("colour_optical_density", c.density)}}
		if got := check(t, ruleSet(t, "us-usda-colour"), lot); got.Grade != c.want || got.Outcome != standard.Meets {
			t.Errorf("%s mm and %s: %s, %q", c.pfund, c.density, got.Outcome, got.Grade)
		}
	}
	below := measured("colour_pfund", "30")
	below.LessThan = true
	if got := check(t, ruleSet(t, "us-usda-colour"), standard.Lot{Results: []standard.Result{below}}); got.Grade != "" || got.Outcome != standard.NotMeasured {
		t.Errorf("less than 30 mm: %s, %q", got.Outcome, got.Grade)
	}
}

// An uncertainty is in the unit of its result: 5 mg/kg are 0.5 mg/100 g.
func TestAnUncertaintyIsTurnedIntoTheUnitOfTheLimit(t *testing.T) {
	t.Parallel()
	r := measured("hmf", "30")
	r.StdUncertainty = "5"
	if v := verdictOf(t, only(t, buyersLimit("hmf", "mg/100 g", "<=", "4")), standard.SimpleAcceptance(), r); v.High.String() != "3" || !near(v.StdUncertainty, 0.5, 1e-12) || !near(v.Probability, 0.97725, 1e-5) {
		t.Errorf("%s with %g: %g", v.High, v.StdUncertainty, v.Probability)
	}
	r.StdUncertainty = "0"
	if v := verdictOf(t, only(t, buyersLimit("hmf", "mg/kg", "<=", "40")), standard.DecisionRule{AcceptR: 1}, r); v.Outcome != standard.Meets || !v.UncertaintyKnown || v.Probability != 1 {
		t.Errorf("of an uncertainty of zero: %s", v.Sentence())
	}
}

// A line's own guard is laid on the value as measured: 19.94 is within 0.1 of 20.0, and 19.9,
// which it would be rounded to, is not.
func TestALinesGuardComesBeforeRounding(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(s map[string]any) {
		limitsOf(with(buyersLimit("moisture", "%", "<=", "20.0"), map[string]any{"guard": "0.1"}))(s)
		s["rounding"] = map[string]any{"method": "half_up", "source": map[string]any{"from_memory": true}}
	}))
	if v := verdictOf(t, set, standard.SimpleAcceptance(), measured("moisture", "19.94")); v.Outcome != standard.TooClose {
		t.Errorf("19.94: %s", v.Sentence())
	}
}

// A range is held against its nearer end, and an interval against its worse one.
func TestAMarginIsTakenFromTheNearerEnd(t *testing.T) {
	t.Parallel()
	between := only(t, with(buyersLimit("moisture", "%", "between", "15"), map[string]any{"limit_to": "18", "ends": "[]"}))
	for value, want := range map[string]string{"17.5": "0.5", "15.2": "0.2", "18.3": "-0.3"} {
		if v := verdictOf(t, between, standard.SimpleAcceptance(), measured("moisture", value)); v.Margin.String() != want {
			t.Errorf("%s: margin %s, want %s", value, v.Margin, want)
		}
	}
	carried := func(parameter, low, high string) standard.Result {
		r := measured(parameter, "10")
		r.StdUncertainty, r.On, r.OnDay = "1", "2026-01-03", &standard.OnDay{Low: low, High: high}
		return r
	}
	// P(true <= 40) of 39 with 1, and P(true >= 8) of 9 with 1, are both 0.8413.
	for _, c := range []struct {
		set  *standard.RuleSet
		r    standard.Result
		want string
	}{{only(t, buyersLimit("hmf", "mg/kg", "<=", "40")), carried("hmf", "31", "39"), "1"}, {only(t, buyersLimit("diastase", "Schade units", ">=", "8")), carried("diastase", "9", "12"), "1"}} {
		v := verdictOf(t, c.set, standard.SimpleAcceptance(), c.r)
		if v.Outcome != standard.Meets || v.Margin.String() != c.want || !v.ProbabilityKnown || !near(v.Probability, 0.8413, 1e-4) || !strings.Contains(v.Sentence().String(), "conforms at least 0.841") {
			t.Errorf("%s", v.Sentence())
		}
	}
	over := verdictOf(t, only(t, buyersLimit("hmf", "mg/kg", "<=", "40")), standard.SimpleAcceptance(), carried("hmf", "41", "45"))
	if over.Outcome != standard.Fails || !near(over.Probability, 1-0.8413, 1e-4) || !strings.Contains(over.Sentence().String(), "conforms at most 0.159") {
		t.Errorf("%s", over.Sentence())
	}
}

// Where nothing is known of the uncertainty, or of the outcome, no probability is told.
func TestAProbabilityIsToldWhereThereIsOne(t *testing.T) {
	t.Parallel()
	set := only(t, buyersLimit("hmf", "mg/kg", "<=", "40"))
	if v := verdictOf(t, set, standard.SimpleAcceptance(), measured("hmf", "30")); v.ProbabilityKnown {
		t.Errorf("%s", v.Sentence())
	}
	below := measured("hmf", "50")
	below.LessThan, below.StdUncertainty = true, "1"
	v := verdictOf(t, set, standard.SimpleAcceptance(), below)
	if v.ProbabilityKnown || v.Outcome != standard.NotMeasured || v.Reason != standard.ReasonLessThanUndecided || !strings.Contains(v.Sentence().String(), "less than 50 +/- 2") {
		t.Errorf("%s", v.Sentence())
	}
	// 18.24, 18.25 and 18.25 are 18.24666... on the mean: told to a place more than the limit has.
	if v := check(t, only(t, buyersLimit("moisture", "%", "<=", "20.00")), wetAt("18.24", "18.25", "18.25")).Verdicts[0]; v.Value().String() != "18.247 %" {
		t.Errorf("%s", v.Value())
	}
}

// What was measured is said as it was reported.
func TestAValueIsSaidAsItWasReported(t *testing.T) {
	t.Parallel()
	below := measured("moisture", "17")
	below.LessThan = true
	if v := verdictOf(t, only(t, buyersLimit("moisture", "%", "<=", "18")), standard.SimpleAcceptance(), below); v.Value().String() != "less than 17 %" || strings.Contains(v.Sentence().String(), "rounded") {
		t.Errorf("%s", v.Sentence())
	}
	if v := verdictOf(t, only(t, buyersLimit("soluble_solids", "%", ">=", "80")), standard.SimpleAcceptance(), below); v.Value().String() != "more than 83 %" {
		t.Errorf("%s", v.Sentence())
	}
	rounded := parsed(t, buyersSet(func(s map[string]any) {
		limitsOf(buyersLimit("moisture", "%", "<=", "20.0"))(s)
		s["rounding"] = map[string]any{"method": "half_up", "source": map[string]any{"from_memory": true}}
	}))
	for value, says := range map[string]bool{"19.84": true, "19.8": false} {
		if v := verdictOf(t, rounded, standard.SimpleAcceptance(), measured("moisture", value)); strings.Contains(v.Sentence().String(), "rounded to 19.8") != says {
			t.Errorf("%s", v.Sentence())
		}
	}
}

// A verdict without a value says its limit, where it applies.
func TestAVerdictNamesItsDrumAndItsLimit(t *testing.T) {
	t.Parallel()
	set := ruleSet(t, "eu-2001-110")
	c := check(t, set, standard.Lot{})
	said := map[string]bool{}
	for i := range c.Verdicts {
		s := c.Verdicts[i].Sentence().String()
		if says := strings.Contains(s, "the limit is"); says == (c.Verdicts[i].Outcome == standard.DoesNotApply) {
			t.Errorf("%s", s)
		}
		said[c.Verdicts[i].Outcome.String()] = true
	}
	if len(said) != 2 {
		t.Errorf("outcomes %v", said)
	}
	every := only(t, with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"every_container": true}))
	names := func(rule standard.DecisionRule, pcts ...string) string {
		lot := standard.Lot{Containers: drums(len(pcts))}
		for i, pct := range pcts {
			lot.Results = append(lot.Results, moistureOf(lot.Containers[i], pct, "0.1", ""))
		}
		c, err := every.Check(evidence(t, lot), "2026-07-01", rule)
		if err != nil {
			t.Fatal(err)
		}
		return c.Verdicts[0].Sentence().String()
	}
	guarded := standard.DecisionRule{AcceptR: 1}
	for _, c := range []struct {
		sentence            string
		isDrum, takeThemOut bool
	}{
		{names(guarded, "17", "17.9"), true, false}, {names(guarded, "17", "17.2"), false, false}, {names(guarded, "17", "18.9"), false, true},
		{names(standard.SimpleAcceptance(), "18.9"), true, false},
		{check(t, only(t, with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"by_mean": true})), wetAt("17", "18.2")).Verdicts[0].Sentence().String(), false, false},
	} {
		if strings.Contains(c.sentence, "this is container D") != c.isDrum || strings.Contains(c.sentence, "take them out of the lot") != c.takeThemOut {
			t.Errorf("%s", c.sentence)
		}
	}
	// A sample of the whole lot that is too wet names no drum.
	if s := check(t, only(t, buyersLimit("moisture", "%", "<=", "18")), standard.Lot{Results: []standard.Result{measured("moisture", "19")}}).Verdicts[0].Sentence().String(); strings.Contains(s, "outside:") {
		t.Errorf("%s", s)
	}
}

// What a reader has to know besides: sampling, rounding, age of the text.
func TestNoticesSayWhatACheckRestsOn(t *testing.T) {
	t.Parallel()
	moisture := only(t, buyersLimit("moisture", "%", "<=", "18"))
	rounds := func(method string) *standard.RuleSet {
		return parsed(t, buyersSet(func(s map[string]any) {
			s["rounding"] = map[string]any{"method": method, "source": map[string]any{"from_memory": true}}
		}))
	}
	few := wetAt("17", "17", "17", "19")
	few.Results = append(few.Results[:2], few.Results[3])
	for _, c := range []struct {
		what string
		set  *standard.RuleSet
		lot  standard.Lot
		says string
		not  string
	}{
		{"three of four", moisture, few, "Moisture rests on 3 sampled containers of the 4 asked for.", "number of containers in the lot is not known"},
		{"outside", moisture, few, "Taken one by one, these containers are outside at most 18 % for moisture: D004.", "from memory"},
		{"four of four", moisture, wetAt("17", "17", "17", "17"), "The lot has 4 containers, of which 4 are to be sampled", "rests on"},
		{"none outside", moisture, wetAt("17", "17", "17", "17"), "Every digit", "Taken one by one"},
		{"nothing measured", moisture, standard.Lot{Containers: drums(4)}, "The lot has 4 containers", "rests on"},
		{"a lot of a size that is not known", moisture, standard.Lot{Results: []standard.Result{measured("moisture", "17")}}, "The number of containers in the lot is not known", "rests on"},
		{"no rounding", rounds("absolute"), few, "Every digit of a result counts", "are rounded"},
		{"half to even", rounds("half_even"), few, "a half to the even digit", "Every digit"},
		{"half up", rounds("half_up"), few, "a half away from zero", "Every digit"},
		{"undated", moisture, few, "The text carries no date", "years"},
		{"dated", ruleSet(t, "eu-2001-110"), few, "Checked against", "carries no date"},
	} {
		got := notices(check(t, c.set, c.lot))
		if !strings.Contains(got, c.says) || strings.Contains(got, c.not) {
			t.Errorf("%s: want %q and not %q in\n%s", c.what, c.says, c.not, got)
		}
	}
	// A line from memory that does not apply decides nothing.
	unseen := map[string]any{"source": map[string]any{"from_memory": true}, "when": map[string]any{"attribute": "kind", "includes": []string{"calluna_vulgaris"}}}
	set := only(t, buyersLimit("moisture", "%", "<=", "18"), with(buyersLimit("moisture", "%", "<=", "23"), unseen))
	if c := check(t, set, few); c.RestsOnMemory() {
		t.Error("a line for heather is said to have decided on another honey")
	}
	heather := few
	heather.Declaration = standard.Declaration{"kind": {"calluna_vulgaris"}}
	if c := check(t, set, heather); !c.RestsOnMemory() {
		t.Error("the line for heather, which is from memory, is not said to be")
	}
}

func TestABindingPlanSaysWhatItAsksFor(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(s map[string]any) { s["sampling"] = map[string]any{"plan": "root-plus-one", "binding": true} }))
	lot := wetAt("17", "17", "17", "17", "17")
	lot.Results = lot.Results[:2] // the root of 5 rounded up and one more: 4
	if v := check(t, set, lot).Verdicts[0]; !strings.HasSuffix(v.Why().String(), "2 containers sampled, the plan asks for 4") {
		t.Errorf("%s", v.Why())
	}
	lot.Containers = nil
	if v := check(t, set, lot).Verdicts[0]; !strings.Contains(v.Why().String(), "the size of the lot, which is not known") {
		t.Errorf("%s", v.Why())
	}
}

// Annex II point 6 of 2001/110: diastase of 8, or of 3 in a honey low in enzymes whose HMF is 15
// or less; HMF of 40, or 80 where the honey is of a tropical climate.
func TestWhatHangsOnAnotherFigure(t *testing.T) {
	t.Parallel()
	set := ruleSet(t, "eu-2001-110")
	low := evidence(t, standard.Lot{Declaration: standard.Declaration{"enzyme": {"low"}}, Results: []standard.Result{measured("hmf", "10"), measured("diastase", "5")}})
	if !set.HangsOn(low, "hmf", "diastase") || set.HangsOn(low, "moisture") || set.HangsOn(evidence(t, standard.Lot{}), "hmf", "diastase") {
		t.Error("of a honey low in enzymes diastase and HMF hang on one another, and nothing else does")
	}
	if !set.Asks("hmf") || set.Asks("moisture") {
		t.Error("its conditions ask for HMF, and not for moisture")
	}
	if got := set.Turns("hmf"); !reflect.DeepEqual(got, []float64{15, 40, 80}) {
		t.Errorf("HMF turns at %v", got)
	}
	if got := set.Turns("diastase"); !reflect.DeepEqual(got, []float64{3, 8}) {
		t.Errorf("diastase turns at %v", got)
	}
	if got := only(t, buyersLimit("hmf", "mg/100 g", "<=", "4")).Turns("hmf"); !reflect.DeepEqual(got, []float64{40}) {
		t.Errorf("4 mg/100 g is a turn at %v", got)
	}
}

// An edition says whether it was too early or too late to go by, and what to go by instead.
func TestAnEditionOutOfForceSaysWhen(t *testing.T) {
	t.Parallel()
	old, current := ruleSet(t, "codex-1987"), ruleSet(t, "codex-cxs-12-1981")
	for _, c := range []struct {
		err  standard.NotInForceError
		want string
	}{
		{standard.NotInForceError{RuleSet: current, On: "2001-06-30"}, "rule set codex-cxs-12-1981 is not yet in force on 2001-06-30; it starts on 2001-07-01"},
		{standard.NotInForceError{RuleSet: old, On: "2001-07-01", Current: current}, "rule set codex-1987 was no longer in force on 2001-07-01; it ended on 2001-06-30; on that day use codex-cxs-12-1981"},
		{standard.NotInForceError{RuleSet: old, On: "1950-01-01"}, "rule set codex-1987 is not yet in force on 1950-01-01"},
	} {
		if got := c.err.Error(); !strings.HasPrefix(got, c.want) {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if old.Own() || old.Undated() || !only(t, buyersLimit("moisture", "%", "<=", "18")).Own() || !only(t, buyersLimit("moisture", "%", "<=", "18")).Undated() {
		t.Error("what was published is not told from a buyer's own")
	}
	if strings.Contains(old.Name(), "version") {
		t.Errorf("%s has no version", old.Name())
	}
}

// Every problem of a rule set is told at once, and what is at the end of a range is none.
func TestARuleSetIsReadAtItsEdges(t *testing.T) {
	t.Parallel()
	kind := func(id string) map[string]any {
		return map[string]any{"when": map[string]any{"attribute": "kind", "includes": []string{id}}}
	}
	set := func(change func(map[string]any)) error {
		_, err := standard.ParseRuleSet(buyersSet(change))
		return err
	}
	steps := func(steps ...any) func(map[string]any) {
		return func(s map[string]any) { s["sampling"] = map[string]any{"steps": steps} }
	}
	price := func(price string, discounts ...any) func(map[string]any) {
		return func(s map[string]any) {
			s["price"] = map[string]any{"currency": "EUR", "minor_units_per_kg": price, "discounts": discounts}
		}
	}
	discount := func(above, upTo, percent string) map[string]any {
		return map[string]any{"parameter": "moisture", "unit": "%", "above": above, "up_to": upTo, "percent": percent, "clause": "annex 3"}
	}
	for what, err := range map[string]error{
		"in force for a day":                set(func(s map[string]any) { s["in_force_from"], s["in_force_to"] = "2026-01-01", "2026-01-01" }),
		"results of ten years":              set(func(s map[string]any) { s["measured_within_days"] = 3653 }),
		"a guard of nothing":                set(limitsOf(with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"guard": "0"}))),
		"a limit at the least there can be": set(limitsOf(buyersLimit("hmf", "mg/kg", ">=", "0"))),
		"a limit at the most there can be":  set(limitsOf(buyersLimit("total_score", "points of 100", "<=", "100"))),
		"a plan of one step":                set(steps(map[string]any{"from": 1, "percent": 100})),
		"a step of one size":                set(steps(map[string]any{"from": 1, "to": 1, "all": true}, map[string]any{"from": 2, "fixed": 2})),
		"steps that touch":                  set(price("350", discount("18", "19", "2"), discount("17", "18", "0"))),
		"steps that touch, in order":        set(price("350", discount("17", "18", "1"), discount("18", "19", "2"))),
	} {
		if err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	for _, c := range []struct {
		what  string
		err   error
		field string
		says  string
	}{
		{"results of minus a day", set(func(s map[string]any) { s["measured_within_days"] = -1 }), "measured_within_days", "from 1 to 3653"},
		{"results of over ten years", set(func(s map[string]any) { s["measured_within_days"] = 3654 }), "measured_within_days", "from 1 to 3653"},
		{"a range of no width", set(limitsOf(with(buyersLimit("moisture", "%", "between", "18"), map[string]any{"limit_to": "18", "ends": "[]"}))), "limits/0/limit_to", "lies above"},
		{"less than nothing", set(limitsOf(buyersLimit("hmf", "mg/kg", "<=", "-1"))), "limits/0/limit", "cannot be below 0"},
		{"more than everything", set(limitsOf(buyersLimit("total_score", "points of 100", "<=", "101"))), "limits/0/limit", "cannot be above 100"},
		{"an attribute without values", set(limitsOf(with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"when": map[string]any{"attribute": "kind"}}))), "limits/0/when", "either includes or only"},
		{"a test of what is not measured", set(limitsOf(with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"when": map[string]any{"result": map[string]any{"parameter": "fermentation", "comparator": "<=", "limit": "1"}}}))), "limits/0/when/result/parameter", "name a measured parameter"},
		{"a test of what there is not", set(limitsOf(with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"when": map[string]any{"result": map[string]any{"parameter": "mood", "comparator": "<=", "limit": "1"}}}))), "limits/0/when/result/parameter", "name a measured parameter"},
		{"an open step amid others", set(steps(map[string]any{"from": 1, "all": true}, map[string]any{"from": 1, "fixed": 2})), "sampling/steps/0/to", "the last step is open"},
		{"a last step that ends", set(steps(map[string]any{"from": 1, "to": 9, "all": true})), "sampling/steps/0/to", "the last step is open"},
		{"a step upside down", set(steps(map[string]any{"from": 1, "to": 5, "all": true}, map[string]any{"from": 6, "to": 4, "all": true}, map[string]any{"from": 5, "all": true})), "sampling/steps/1/to", "ends at or above its start"},
		{"fewer than none", set(steps(map[string]any{"from": 1, "all": true, "fixed": -1})), "sampling/steps/0", "are 0 or more"},
		{"a part below none", set(steps(map[string]any{"from": 1, "all": true, "percent": -1})), "sampling/steps/0", "are 0 or more"},
		{"more than all", set(steps(map[string]any{"from": 1, "all": true, "percent": 101})), "sampling/steps/0", "percent from 0 to 100"},
		{"the root less one", set(steps(map[string]any{"from": 1, "all": true, "root_plus": -1})), "sampling/steps/0", "are 0 or more"},
		{"for nothing", set(price("0")), "price/minor_units_per_kg", "a price above 0"},
		{"a step of no width", set(price("350", discount("17", "17", "1"))), "price/discounts/0/up_to", "ends above where it starts"},
		{"a deduction of less than nothing", set(price("350", discount("17", "18", "-1"))), "price/discounts/0", "is 0 or more"},
		{"steps that overlap", set(price("350", discount("17.5", "19", "2"), discount("17", "18", "1"))), "price/discounts/1", "overlaps the one above 17.5"},
		{"steps that overlap, in order", set(price("350", discount("17", "18", "1"), discount("17.5", "19", "2"))), "price/discounts/1", "overlaps the one above 17"},
		{"a step for what there is not", set(price("350", map[string]any{"parameter": "mood", "unit": "%", "above": "1", "percent": "1", "clause": "1"})), "price/discounts/0/parameter", "name a measured parameter"},
		{"a step for what is seen", set(price("350", map[string]any{"parameter": "fermentation", "unit": "", "above": "1", "percent": "1", "clause": "1"})), "price/discounts/0/parameter", "name a measured parameter"},
		{"three kinds, a general line between", set(limitsOf(with(buyersLimit("moisture", "%", "<=", "23"), kind("calluna_vulgaris")), buyersLimit("moisture", "%", "<=", "18"), with(buyersLimit("moisture", "%", "<=", "19"), kind("trifolium")))), "limits/2/when", "kind includes"},
		{"two general lines", set(limitsOf(buyersLimit("moisture", "%", "<=", "18"), buyersLimit("moisture", "%", "<=", "19"))), "limits/1/when", "(the general line)"},
		{"two parameters with two lines each, the first", set(limitsOf(buyersLimit("moisture", "%", "<=", "18"), buyersLimit("moisture", "%", "<=", "19"), buyersLimit("hmf", "mg/kg", "<=", "18"), buyersLimit("hmf", "mg/kg", "<=", "19"))), "limits/1/when", "write a range"},
		{"two parameters with two lines each, the second", set(limitsOf(buyersLimit("moisture", "%", "<=", "18"), buyersLimit("moisture", "%", "<=", "19"), buyersLimit("hmf", "mg/kg", "<=", "18"), buyersLimit("hmf", "mg/kg", "<=", "19"))), "limits/3/when", "write a range"},
	} {
		if !refusedWith(c.err, c.field, c.says) {
			t.Errorf("%s: %v, want %s to say %q", c.what, c.err, c.field, c.says)
		}
	}
}

// What a unit is the scale of is said only where the two measure one thing.
func TestAUnitOfSomethingElseIsNoSisterScale(t *testing.T) {
	t.Parallel()
	for _, r := range []standard.Result{{Parameter: "moisture", Value: "17", Unit: "mg/kg"}, {Parameter: "colour_pfund", Value: "17", Unit: "mg/kg"}} {
		_, err := standard.NewEvidence(standard.Lot{Results: []standard.Result{r}})
		if !refusedWith(err, "results/0/unit", "is stated in") || strings.Contains(err.Error(), "that is the scale") {
			t.Errorf("%v", err)
		}
	}
}

// A result is taken at its edges, and each thing that is wrong with a lot is told.
func TestALotIsReadAtItsEdges(t *testing.T) {
	t.Parallel()
	full := measured("total_score", "100")
	full.StdUncertainty = "0"
	same := measured("hmf", "30")
	same.On, same.OnDay = "2026-01-03", &standard.OnDay{Low: "31", High: "31"}
	if _, err := standard.NewEvidence(standard.Lot{Results: []standard.Result{full, same}}); err != nil {
		t.Error(err)
	}
	for _, on := range []standard.OnDay{{Low: "x", High: "40"}, {Low: "30", High: ""}, {Low: "40", High: "30"}} {
		r := measured("hmf", "30")
		r.On, r.OnDay = "2026-01-03", &on
		if _, err := standard.NewEvidence(standard.Lot{Results: []standard.Result{r}}); !refusedWith(err, "results/0/on_day", "the lower one first") {
			t.Errorf("%+v: %v", on, err)
		}
	}
	_, err := standard.NewEvidence(standard.Lot{Declaration: standard.Declaration{"mood": {"good"}, "flavour": {"good"}, "kind": {"caluna", "trifolum"}}})
	if got := len(standard.FieldErrors(err)); got != 4 {
		t.Errorf("four things are wrong, and %d told: %v", got, err)
	}
}

// A result of just so many days still counts.
func TestAResultCountsToItsLastDay(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(s map[string]any) { s["measured_within_days"] = 90 }))
	for on, want := range map[standard.Date]standard.Outcome{"2026-04-01": standard.Meets, "2026-04-02": standard.NotMeasured} {
		r := measured("moisture", "17")
		r.On = "2026-01-01"
		got, err := set.Check(evidence(t, standard.Lot{Results: []standard.Result{r}}), on, standard.SimpleAcceptance())
		if err != nil || got.Verdicts[0].Outcome != want {
			t.Errorf("on %s: %s (%v)", on, got.Verdicts[0].Sentence(), err)
		}
	}
}

// A thousand tonnes are priced, a gram more is not.
func TestAParcelIsPricedUpToAThousandTonnes(t *testing.T) {
	t.Parallel()
	if s, err := terms(t).Settle(parcel("D1", 1_000_000_000, "17", "20")); err != nil || s.Net != 350_000_000 {
		t.Errorf("%+v, %v", s, err)
	}
	if _, err := terms(t).Settle(parcel("D1", 1_000_000_001, "17", "20")); !refusedWith(err, "parcels/0/net_grams", "at most 1000000000") {
		t.Errorf("%v", err)
	}
}

func TestFermentationAtItsEdges(t *testing.T) {
	t.Parallel()
	fourteen := 14.0
	for _, c := range []struct {
		what string
		k    standard.KeepingContainer
		want standard.FermentationRisk
		says string
		not  string
	}{
		{"just at the count that it must be below", standard.KeepingContainer{MoisturePct: decimalOf("18.5"), YeastPerG: decimalOf("10")}, standard.RiskHigh, "holds 10", ""},
		{"less than a hundred in dry honey", standard.KeepingContainer{MoisturePct: decimalOf("16.5"), YeastPerG: decimalOf("100"), YeastLessThan: true}, standard.RiskLow, "whatever its yeast", ""},
		{"a reading that may be off within its class", standard.KeepingContainer{MoisturePct: decimalOf("16.5"), MoistureU: 0.1}, standard.RiskLow, "whatever its yeast", "may be off"},
		{"watched already", standard.KeepingContainer{MoisturePct: decimalOf("17.9"), MoistureU: 0.2}, standard.RiskWatch, "not counted", "may be off"},
		{"the liquid part no wetter", standard.KeepingContainer{MoisturePct: decimalOf("16.0"), Granulating: true, LiquidMoisturePct: decimalOf("16.0"), StoreTemperatureC: &fourteen}, standard.RiskLow, "", "still liquid holds"},
		{"few yeasts in the liquid part", standard.KeepingContainer{MoisturePct: decimalOf("17.2"), YeastPerG: decimalOf("5"), Granulating: true, LiquidMoisturePct: decimalOf("17.9"), StoreTemperatureC: &fourteen}, standard.RiskWatch, "granulating at", ""},
	} {
		got := riskOf(t, c.k)
		if why := said(got.Why); got.Risk != c.want || !strings.Contains(why, c.says) || c.not != "" && strings.Contains(why, c.not) {
			t.Errorf("%s: %s because %s", c.what, got.Risk, why)
		}
	}
}

// "Less than 40" is light or dark at 34: of one scale alone too, that is no class yet.
func TestLessThanMayLieInTwoClasses(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(s map[string]any) {
		s["form"], s["grades"] = "classes", []string{"light", "dark"}
		s["limits"] = []any{with(buyersLimit("colour_pfund", "mm Pfund", "<=", "34"), map[string]any{"grade": "light"}), with(buyersLimit("colour_pfund", "mm Pfund", ">", "34"), map[string]any{"grade": "dark"})}
	}))
	below := measured("colour_pfund", "40")
	below.LessThan = true
	c := check(t, set, standard.Lot{Results: []standard.Result{below}})
	if c.Outcome != standard.NotMeasured || c.Grade != "" {
		t.Errorf("%s, %q", c.Outcome, c.Grade)
	}
}
