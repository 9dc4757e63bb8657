package standard_test

import (
	"math"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/standard"
)

// oneLimit is a rule set with a single line: an upper limit, a lower limit or a range.
func oneLimit(t testing.TB, parameter, unit, lower, upper string) *standard.RuleSet {
	t.Helper()
	limit := buyersLimit(parameter, unit, "<=", upper)
	switch {
	case lower != "" && upper != "":
		limit = with(buyersLimit(parameter, unit, "between", lower), map[string]any{"limit_to": upper, "ends": "[]"})
	case lower != "":
		limit = buyersLimit(parameter, unit, ">=", lower)
	}
	return parsed(t, buyersSet(limitsOf(limit)))
}

func verdictOf(t testing.TB, set *standard.RuleSet, rule standard.DecisionRule, results ...standard.Result) standard.LimitVerdict {
	t.Helper()
	c, err := set.Check(evidence(t, standard.Lot{Results: results}), "2026-07-01", rule)
	if err != nil {
		t.Fatal(err)
	}
	return c.Verdicts[0]
}

func TestProbabilityOfConformityAsInTheGuide(t *testing.T) {
	t.Parallel()
	for _, row := range readTable(t, "testdata/jcgm106.csv") {
		set := oneLimit(t, row["parameter"], row["unit"], row["lower"], row["upper"])
		result := measured(row["parameter"], row["value"])
		result.StdUncertainty = row["std_uncertainty"]
		v := verdictOf(t, set, standard.SimpleAcceptance(), result)
		want, _ := strconv.ParseFloat(row["probability"], 64)
		places, _ := strconv.Atoi(row["places"])
		scale := math.Pow(10, float64(places))
		if got := math.Round(v.Probability*scale) / scale; !v.ProbabilityKnown || math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: probability %.4f, printed %s (%s)", row["example"], v.Probability, row["probability"], row["source"])
		}
	}
}

func TestRoundingByEachMethod(t *testing.T) {
	t.Parallel()
	for _, row := range readTable(t, "testdata/rounding.csv") {
		for _, method := range []string{"absolute", "half_even", "half_up"} {
			comparator := map[string]string{"max": "<=", "min": ">="}[row["side"]]
			set := parsed(t, buyersSet(func(set map[string]any) {
				limitsOf(buyersLimit("proline", "mg/kg", comparator, row["limit"]))(set)
				set["rounding"] = map[string]any{"method": method, "source": map[string]any{"from_memory": true}}
			}))
			v := verdictOf(t, set, standard.SimpleAcceptance(), measured("proline", row["value"]))
			if v.Outcome.String() != row[method] {
				t.Errorf("%s against %s by %s: %s, want %s", row["value"], row["limit"], method, v.Outcome, row[method])
			}
		}
	}
}

func TestRoundingNeverComesBeforeAGuardBand(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(set map[string]any) {
		limitsOf(buyersLimit("moisture", "%", "<=", "20.0"))(set)
		set["rounding"] = map[string]any{"method": "half_up", "source": map[string]any{"from_memory": true}}
	}))
	result := measured("moisture", "19.84")
	result.StdUncertainty = "0.1"
	// A = 20.0 - 0.2 = 19.8; rounded first, 19.8 would be accepted.
	if v := verdictOf(t, set, standard.DecisionRule{AcceptR: 1}, result); v.Outcome != standard.TooClose {
		t.Errorf("19.84 with A = 19.8: %s", v.Outcome)
	}
}

func TestDecisionRulesAroundAnUpperLimitOf20(t *testing.T) {
	t.Parallel()
	set := oneLimit(t, "moisture", "%", "", "20")
	simple, accept, reject := standard.SimpleAcceptance(), standard.DecisionRule{AcceptR: 1}, standard.DecisionRule{RejectR: 1}
	both := standard.DecisionRule{AcceptR: 1, RejectR: 1}
	// u = 0.1, so U = 0.2, A = 19.8 for acceptance and 20.2 for rejection (JCGM 106 clause 8; from memory).
	tests := []struct {
		value                        string
		simple, accept, reject, both standard.Outcome
	}{
		{"19.8", standard.Meets, standard.Meets, standard.Meets, standard.Meets},
		{"19.9", standard.Meets, standard.TooClose, standard.Meets, standard.TooClose},
		{"20.0", standard.Meets, standard.TooClose, standard.Meets, standard.TooClose},
		{"20.1", standard.Fails, standard.Fails, standard.TooClose, standard.TooClose},
		{"20.2", standard.Fails, standard.Fails, standard.TooClose, standard.TooClose},
		{"20.3", standard.Fails, standard.Fails, standard.Fails, standard.Fails},
	}
	for _, tt := range tests {
		result := measured("moisture", tt.value)
		result.StdUncertainty = "0.1"
		for _, r := range []struct {
			rule standard.DecisionRule
			want standard.Outcome
		}{{simple, tt.simple}, {accept, tt.accept}, {reject, tt.reject}, {both, tt.both}} {
			if got := verdictOf(t, set, r.rule, result).Outcome; got != r.want {
				t.Errorf("%s by %s: %s, want %s", tt.value, r.rule, got, r.want)
			}
		}
	}
}

func TestAGuardBandNeedsAnUncertainty(t *testing.T) {
	t.Parallel()
	set := oneLimit(t, "moisture", "%", "", "20")
	v := verdictOf(t, set, standard.DecisionRule{AcceptR: 1}, measured("moisture", "15.0"))
	if v.Outcome != standard.TooClose || v.Reason != standard.ReasonUncertaintyUnknown {
		t.Errorf("a dry honey without an uncertainty is %s under a guarded rule", v.Outcome)
	}
	if v := verdictOf(t, set, standard.DecisionRule{AcceptR: 1}, measured("moisture", "25.0")); v.Outcome != standard.Fails {
		t.Errorf("a wet honey without an uncertainty is %s", v.Outcome)
	}
}

func TestABuyersFixedGuardIsKeptFromTheLimit(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(limitsOf(with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"guard": "0.3"}))))
	for value, want := range map[string]standard.Outcome{"17.7": standard.Meets, "17.8": standard.TooClose, "18.0": standard.TooClose, "18.1": standard.Fails} {
		if got := verdictOf(t, set, standard.SimpleAcceptance(), measured("moisture", value)).Outcome; got != want {
			t.Errorf("%s: %s, want %s", value, got, want)
		}
	}
}

func TestARuleSetsOwnDecisionRuleIsUsed(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(set map[string]any) {
		set["decision"] = map[string]any{"accept_r": 1, "reject_r": 0, "coverage_factor": 2}
	}))
	result := measured("moisture", "17.9")
	result.StdUncertainty = "0.1"
	if v := verdictOf(t, set, standard.SimpleAcceptance(), result); v.Outcome != standard.TooClose {
		t.Errorf("17.9 against 18 under the contract's guard: %s", v.Outcome)
	}
}

// A "less than" result proves what lies beyond its bound and nothing else.
func TestLessThanResults(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name         string
		lower, upper string
		bound        string
		want         standard.Outcome
	}{
		{"less than 1.0 mg/kg HMF is within 40", "", "40", "1.0", standard.Meets},
		{"less than 40 is within 40", "", "40", "40", standard.Meets},
		{"less than 50 does not decide a limit of 40", "", "40", "50", standard.NotMeasured},
		{"less than 3 fails a floor of 8", "8", "", "3", standard.Fails},
		{"less than 10 does not decide a floor of 8", "8", "", "10", standard.NotMeasured},
		{"less than 100 lies perhaps within 20 to 40", "20", "40", "100", standard.NotMeasured},
		{"less than 10 lies below 20 to 40", "20", "40", "10", standard.Fails},
		{"less than 8 fails a floor of 8, which it never comes to", "8", "", "8", standard.Fails},
		{"less than 20 lies below 20 to 40", "20", "40", "20", standard.Fails},
	}
	for _, tt := range tests {
		result := measured("proline", tt.bound)
		result.LessThan = true
		v := verdictOf(t, oneLimit(t, "proline", "mg/kg", tt.lower, tt.upper), standard.SimpleAcceptance(), result)
		if v.Outcome != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, v.Outcome, tt.want)
		}
	}
}

// What is less than 8 is less than 8 where a text asks for that, and what is below 20 %
// of water is above 80 % of solids.
func TestLessThanAFigureNeverIsIt(t *testing.T) {
	t.Parallel()
	below := parsed(t, buyersSet(limitsOf(buyersLimit("proline", "mg/kg", "<", "8"))))
	result := measured("proline", "8")
	if v := verdictOf(t, below, standard.SimpleAcceptance(), result); v.Outcome != standard.Fails {
		t.Errorf("8 under 8: %s", v.Outcome)
	}
	result.LessThan = true
	if v := verdictOf(t, below, standard.SimpleAcceptance(), result); v.Outcome != standard.Meets {
		t.Errorf("less than 8 under 8: %s", v.Outcome)
	}
	dry := measured("moisture", "20")
	dry.LessThan = true
	solids := parsed(t, buyersSet(limitsOf(buyersLimit("soluble_solids", "%", ">", "80"))))
	if v := verdictOf(t, solids, standard.SimpleAcceptance(), dry); v.Outcome != standard.Meets {
		t.Errorf("solids of honey with less than 20 %% of water, above 80: %s", v.Outcome)
	}
	result.Value = "0"
	if _, err := standard.NewEvidence(standard.Lot{Results: []standard.Result{result}}); err == nil {
		t.Error("less than nothing was taken")
	}
}

func TestLessThanGivesABoundOfTheProbability(t *testing.T) {
	t.Parallel()
	result := measured("hmf", "39")
	result.LessThan, result.StdUncertainty = true, "1"
	v := verdictOf(t, oneLimit(t, "hmf", "mg/kg", "", "40"), standard.SimpleAcceptance(), result)
	if math.Abs(v.Probability-0.8413) > 0.0001 { // normal distribution at z = 1
		t.Errorf("probability at least %.4f, want 0.8413", v.Probability)
	}
}

func TestLessThanIsAveragedAsAnInterval(t *testing.T) {
	t.Parallel()
	low, plain := measured("hmf", "10"), measured("hmf", "72")
	low.LessThan = true
	// The mean lies between (0 + 72) / 2 = 36 and (10 + 72) / 2 = 41: undecided against 40.
	v := verdictOf(t, oneLimit(t, "hmf", "mg/kg", "", "40"), standard.SimpleAcceptance(), low, plain)
	if v.Outcome != standard.NotMeasured || v.Low.String() != "36" || v.High.String() != "41" {
		t.Errorf("%s, mean %s to %s", v.Outcome, v.Low, v.High)
	}
}

func drawDecimal(t *rapid.T, label string, low, high int) string {
	return strconv.FormatFloat(float64(rapid.IntRange(low, high).Draw(t, label))/100, 'f', 2, 64)
}

func TestProbabilityFallsAsMoistureRises(t *testing.T) {
	t.Parallel()
	set := oneLimit(t, "moisture", "%", "", "20")
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.IntRange(1500, 2500).Draw(rt, "a"), rapid.IntRange(1500, 2500).Draw(rt, "b")
		u := drawDecimal(rt, "u", 1, 200)
		probability := func(hundredths int) float64 {
			r := measured("moisture", strconv.FormatFloat(float64(hundredths)/100, 'f', 2, 64))
			r.StdUncertainty = u
			return verdictOf(t, set, standard.SimpleAcceptance(), r).Probability
		}
		if p, q := probability(min(a, b)), probability(max(a, b)); p < q {
			rt.Fatalf("drier honey conforms with %g, wetter with %g", p, q)
		}
	})
}

func TestAWiderGuardNeverAcceptsMoreNorRejectsMore(t *testing.T) {
	t.Parallel()
	set := oneLimit(t, "moisture", "%", "", "20")
	rapid.Check(t, func(rt *rapid.T) {
		r := measured("moisture", drawDecimal(rt, "value", 1900, 2100))
		r.StdUncertainty = drawDecimal(rt, "u", 1, 50)
		narrow := rapid.Float64Range(0, 3).Draw(rt, "narrow")
		wide := rapid.Float64Range(narrow, 3).Draw(rt, "wide")
		outcome := func(rule standard.DecisionRule) standard.Outcome { return verdictOf(t, set, rule, r).Outcome }
		if outcome(standard.DecisionRule{AcceptR: wide}) == standard.Meets && outcome(standard.DecisionRule{AcceptR: narrow}) != standard.Meets {
			rt.Fatal("the wider guard of acceptance accepts what the narrower does not")
		}
		if outcome(standard.DecisionRule{RejectR: wide}) == standard.Fails && outcome(standard.DecisionRule{RejectR: narrow}) != standard.Fails {
			rt.Fatal("the wider guard of rejection rejects what the narrower does not")
		}
		// Guarded acceptance with w = U and k = 2 keeps the risk of false acceptance under 2.5 %.
		if v := verdictOf(t, set, standard.DecisionRule{AcceptR: 1}, r); v.Outcome == standard.Meets && v.Probability < 0.977 {
			rt.Fatalf("accepted with probability %g", v.Probability)
		}
	})
}

func TestTheLotIsAsGoodAsItsWorstLimit(t *testing.T) {
	t.Parallel()
	set := ruleSet(t, "eu-2001-110")
	rapid.Check(t, func(rt *rapid.T) {
		var lot standard.Lot
		for _, p := range []struct {
			id        string
			low, high int
		}{{"moisture", 1500, 2200}, {"hmf", 0, 6000}, {"diastase", 200, 2000}, {"free_acidity", 1000, 6000}, {"sucrose", 0, 800}, {"fructose_plus_glucose", 5500, 7500}, {"water_insoluble", 1, 20}, {"electrical_conductivity", 10, 120}} {
			if rapid.Bool().Draw(rt, p.id+" measured") {
				lot.Results = append(lot.Results, measured(p.id, drawDecimal(rt, p.id, p.low, p.high)))
			}
		}
		c := check(t, set, lot)
		var outcomes []standard.Outcome
		for _, v := range c.Verdicts {
			outcomes = append(outcomes, v.Outcome)
			if c.Outcome == standard.Meets && v.Outcome > standard.Meets {
				rt.Fatalf("the lot passes although %s", v.Sentence())
			}
		}
		if c.Outcome != slices.Max(outcomes) {
			rt.Fatalf("the lot is %s, its worst limit %s", c.Outcome, slices.Max(outcomes))
		}
	})
}
