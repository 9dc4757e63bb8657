package standard_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/standard"
)

// ownSet is a buyer's rule set with parameters of its own.
func ownSet(parameters, limits string) string {
	return fmt.Sprintf(`{"id":"own","family":"own","edition":"contract","version":1,"title":"Northgate","issuer":"buyer","citation":"contract","jurisdiction":"as agreed",
		"source":{"seen_at":"the book"},"form":"limits","parameters":[%s],"limits":[%s]}`, parameters, limits)
}

func ownLine(parameter, comparator, limit, more string) string {
	return fmt.Sprintf(`{"parameter":%q,"comparator":%q,"limit":%q,"clause":"1","source":{"seen_at":"the book"}%s}`, parameter, comparator, limit, more)
}

const (
	glyphosate = `{"name":"glyphosate","label":"Glyphosate","unit":"µg/kg","maximum":"1000000"}`
	tylosin    = `{"name":"tylosin","words":["not detected","detected"]}`
	panel      = `{"name":"panel_score","label":"taste panel","unit":"points","minimum":"1","maximum":"10"}`
)

func parsedOwn(t testing.TB) *standard.RuleSet {
	return parsed(t, []byte(ownSet(glyphosate+","+tylosin+","+panel,
		ownLine("glyphosate", "<=", "50", "")+","+ownLine("tylosin", "is", "not detected", "")+","+ownLine("panel_score", ">=", "7", ""))))
}

func ownResult(parameter, value, unit string) standard.Result {
	return standard.Result{Parameter: parameter, Own: true, Label: parameter, Value: value, Unit: unit}
}

// outcomes are the answers for glyphosate, tylosin and the panel.
func outcomes(t testing.TB, containers []string, results ...standard.Result) []standard.Outcome {
	t.Helper()
	var out []standard.Outcome
	for _, v := range check(t, parsedOwn(t), standard.Lot{Containers: containers, Results: results}).Verdicts {
		out = append(out, v.Outcome)
	}
	return out
}

func TestParametersOfABuyersOwnAreJudgedAsAnyOther(t *testing.T) {
	t.Parallel()
	less, drum, wet := ownResult("glyphosate", "10", "µg/kg"), ownResult("panel_score", "8", "points"), ownResult("panel_score", "6", "points")
	less.LessThan = true
	drum.ContainerID, wet.ContainerID = "D-1", "D-2"
	undecided := ownResult("glyphosate", "60", "µg/kg")
	undecided.LessThan = true
	for _, tt := range []struct {
		what       string
		containers []string
		results    []standard.Result
		want       string
	}{
		{"nothing measured is not known", nil, nil, "not measured, not measured, not measured"},
		{"at the limit", nil, []standard.Result{ownResult("glyphosate", "50", "µg/kg"), ownResult("tylosin", "not detected", ""), ownResult("panel_score", "7", "points")}, "meets, meets, meets"},
		{"beyond the limit", nil, []standard.Result{ownResult("glyphosate", "50.1", "µg/kg"), ownResult("tylosin", "detected", ""), ownResult("panel_score", "6.9", "points")}, "fails, fails, fails"},
		{"in milligrams, a thousandth", nil, []standard.Result{ownResult("glyphosate", "0.05", "mg/kg")}, "meets, not measured, not measured"},
		{"in milligrams, beyond", nil, []standard.Result{ownResult("glyphosate", "0.0501", "mg/kg")}, "fails, not measured, not measured"},
		{"below what the laboratory can measure", nil, []standard.Result{less}, "meets, not measured, not measured"},
		{"less than a figure beyond the limit", nil, []standard.Result{undecided}, "not measured, not measured, not measured"},
		{"in a unit that says nothing of it", nil, []standard.Result{ownResult("glyphosate", "5", "points")}, "not measured, not measured, not measured"},
		{"in a word that the rule set does not ask for", nil, []standard.Result{ownResult("tylosin", "absent", "")}, "not measured, not measured, not measured"},
		{"a mean that meets, and a drum that does not", []string{"D-1", "D-2"}, []standard.Result{drum, wet}, "not measured, not measured, fails"},
	} {
		got := outcomes(t, tt.containers, tt.results...)
		if said := strings.Trim(strings.ReplaceAll(fmt.Sprintf("%q", got), `" "`, ", "), `["]`); said != tt.want {
			t.Errorf("%s: %s, want %s", tt.what, said, tt.want)
		}
	}
}

func TestAnOwnParameterIsSaidAsItWasGiven(t *testing.T) {
	t.Parallel()
	c := check(t, parsedOwn(t), standard.Lot{Results: []standard.Result{ownResult("glyphosate", "62", "µg/kg"), ownResult("tylosin", "detected", "")}})
	if got, want := c.Verdicts[0].Sentence().String(), "Glyphosate fails: 62 µg/kg against at most 50 µg/kg (1)."; got != want {
		t.Errorf("it says %s, want %s", got, want)
	}
	if got, want := c.Verdicts[1].Sentence().String(), "Tylosin fails: the limit is not detected (1)."; got != want {
		t.Errorf("it says %s, want %s", got, want)
	}
	if c.Verdicts[0].Limit.Label() != "Glyphosate" {
		t.Errorf("its label is %q", c.Verdicts[0].Limit.Label())
	}
}

// TestTheUnitOfAMassInAMassDecidesNothing: the same amount, stated otherwise, gets the same answer.
func TestTheUnitOfAMassInAMassDecidesNothing(t *testing.T) {
	t.Parallel()
	perMg := map[string]string{"mg/kg": "1", "ppm": "1", "µg/kg": "1000", "ug/kg": "1000", "ppb": "1000", "ng/kg": "1000000"}
	rapid.Check(t, func(rt *rapid.T) {
		microgram := rapid.Int64Range(0, 200).Draw(rt, "µg/kg")
		amount := standard.MustDecimal(fmt.Sprintf("0.%03d", microgram))
		want := standard.Meets
		if microgram > 50 {
			want = standard.Fails
		}
		for unit, factor := range perMg {
			stated := amount.Mul(standard.MustDecimal(factor))
			if got := outcomes(t, nil, ownResult("glyphosate", stated.String(), unit))[0]; got != want {
				rt.Fatalf("%d µg/kg stated as %s %s: %s, want %s", microgram, stated, unit, got, want)
			}
		}
	})
}

func TestOwnParametersThatMeanNothingAreRefused(t *testing.T) {
	t.Parallel()
	line := ownLine("glyphosate", "<=", "50", "")
	for _, tt := range []struct{ what, parameters, limits, field, says string }{
		{"a name with blanks", `{"name":"my thing","unit":"%"}`, ownLine("my thing", "<=", "1", ""), "parameters/0/name", "small letters"},
		{"named twice", glyphosate + "," + glyphosate, line, "parameters/1/name", "twice"},
		{"limited by no line", glyphosate + "," + tylosin, line, "parameters/1/name", "no line"},
		{"neither a unit nor words", `{"name":"glyphosate"}`, line, "parameters/0/unit", "the unit of its figures"},
		{"a unit and words", `{"name":"glyphosate","unit":"%","words":["yes","no"]}`, line, "parameters/0/unit", "has no unit"},
		{"one answer alone", `{"name":"tylosin","words":["not detected"]}`, ownLine("tylosin", "is", "not detected", ""), "parameters/0/words", "from 2 to 10"},
		{"an answer twice", `{"name":"tylosin","words":["yes","yes"]}`, ownLine("tylosin", "is", "yes", ""), "parameters/0/words/1", "each answer once"},
		{"a range the wrong way round", `{"name":"glyphosate","unit":"%","minimum":"5","maximum":"4"}`, line, "parameters/0/maximum", "above the least"},
		{"a range of one point", `{"name":"glyphosate","unit":"%","minimum":"5","maximum":"5"}`, line, "parameters/0/maximum", "above the least"},
		{"a wrong least beside a wrong most", `{"name":"glyphosate","unit":"%","minimum":"some","maximum":"more"}`, line, "parameters/0/maximum", "0 or more"},
		{"a most of nothing, with no least", `{"name":"glyphosate","unit":"%","maximum":"0"}`, line, "parameters/0/maximum", "above the least"},
		{"a label with a blank before it", `{"name":"glyphosate","label":" Glyphosate","unit":"%"}`, line, "parameters/0/label", "without blanks"},
		{"an answer of nothing", `{"name":"tylosin","words":["yes",""]}`, ownLine("tylosin", "is", "yes", ""), "parameters/0/words/1", "each answer once"},
		{"an answer with a blank behind it", `{"name":"tylosin","words":["yes","no "]}`, ownLine("tylosin", "is", "yes", ""), "parameters/0/words/1", "each answer once"},
		{"words that have a least", `{"name":"tylosin","words":["yes","no"],"minimum":"1"}`, ownLine("tylosin", "is", "yes", ""), "parameters/0/minimum", "only figures"},
		{"words that have a most", `{"name":"tylosin","words":["yes","no"],"maximum":"1"}`, ownLine("tylosin", "is", "yes", ""), "parameters/0/minimum", "only figures"},
		{"a least below nothing", `{"name":"glyphosate","unit":"%","minimum":"-5"}`, line, "parameters/0/minimum", "0 or more"},
		{"a limit beyond what can be", panel, ownLine("panel_score", ">=", "11", ""), "limits/0/limit", "cannot be above 10"},
		{"a word that answers nothing", tylosin, ownLine("tylosin", "is", "absent", ""), "limits/0/limit", "one of not detected, detected"},
		{"a figure against a word", tylosin, ownLine("tylosin", "<=", "5", ""), "limits/0/comparator", "observed"},
		{"another unit than its own", panel, ownLine("panel_score", ">=", "7", `,"unit":"%"`), "limits/0/unit", "stated in points"},
		{"a line of a name that is not declared", glyphosate, line + "," + ownLine("glyphosat", "<=", "5", ""), "limits/1/parameter", "glyphosate"},
		{"a condition that rests on it", glyphosate, ownLine("moisture", "<=", "18", `,"unit":"%","when":{"result":{"parameter":"glyphosate","unit":"µg/kg","comparator":"<=","limit":"5"}}`) + "," + line, "limits/0/when/result/parameter", "every book knows"},
	} {
		_, err := standard.ParseRuleSet([]byte(ownSet(tt.parameters, tt.limits)))
		found := false
		for _, f := range standard.FieldErrors(err) {
			found = found || f.Field == tt.field && strings.Contains(f.Want.String(), tt.says)
		}
		if !found {
			t.Errorf("%s: no complaint at %s about %q in %v", tt.what, tt.field, tt.says, err)
		}
	}
	var many []string
	for i := range standard.MostOwn + 1 {
		many = append(many, fmt.Sprintf(`{"name":"p%d","unit":"%%"}`, i))
	}
	if _, err := standard.ParseRuleSet([]byte(ownSet(strings.Join(many, ","), line))); err == nil || !strings.Contains(err.Error(), "up to 30") {
		t.Errorf("more than 30 parameters: %v", err)
	}
}

// Thirty parameters, labels and answers of 80 letters, ten answers, and a range from nothing or
// without a least are taken.
func TestOwnParametersAreTakenToTheirBounds(t *testing.T) {
	t.Parallel()
	var parameters, lines []string
	for i := range standard.MostOwn {
		p := fmt.Sprintf(`{"name":"p%d","label":%q,"unit":"%%","minimum":"0","maximum":"1"}`, i, strings.Repeat("é", 80))
		if i == 0 {
			answers := strings.Repeat("é", 80)
			for j := range 9 {
				answers += fmt.Sprintf(`","answer %d`, j)
			}
			p = fmt.Sprintf(`{"name":"p0","words":["%s"]}`, answers)
		}
		if i == 1 {
			p = `{"name":"p1","unit":"%","maximum":"0.5"}`
		}
		parameters = append(parameters, p)
		lines = append(lines, ownLine(fmt.Sprintf("p%d", i), "<=", "0.5", ""))
	}
	lines[0] = ownLine("p0", "is", "answer 3", "")
	parsed(t, []byte(ownSet(strings.Join(parameters, ","), strings.Join(lines, ","))))
}

func TestAnOwnParameterIsNoneThatEveryBookKnows(t *testing.T) {
	t.Parallel()
	for _, p := range []string{`{"name":"moisture","unit":"%"}`, `{"name":"freeacidity","unit":"meq/kg"}`, `{"name":"sugar_c4","label":"Sugar from C4 plants","unit":"%"}`} {
		name := strings.Split(p, `"`)[3]
		set := parsed(t, []byte(ownSet(p, ownLine(name, "<=", "5", ""))))
		if err := set.Collisions(); err == nil || !strings.Contains(err.Error(), "every book knows this") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := parsedOwn(t).Collisions(); err != nil {
		t.Error(err)
	}
}
