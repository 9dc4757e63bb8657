package standard_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pullbook/domain/standard"
)

// A drum that nobody measured, and whose moisture is to be expected wholly above the limit, keeps
// its lot from meeting it: whatever else is expected of others, and named once. One that was
// measured, that may be within, or that does not go, keeps nothing back.
func TestADrumThatIsToBeExpectedOutsideKeepsItsLotBack(t *testing.T) {
	t.Parallel()
	set := only(t, buyersLimit("moisture", "%", "<=", "18"))
	wet := func(drum string, low, high float64) standard.Expected {
		return standard.Expected{Parameter: "moisture", ContainerID: drum, Low: low, High: high}
	}
	acid := wet("D002", 30, 50)
	acid.Parameter = "free_acidity"
	for _, c := range []struct {
		expected []standard.Expected
		only     []string
		unread   string
	}{
		{nil, nil, "[]"},
		{[]standard.Expected{wet("D002", 18.5, 20)}, nil, "[D002]"},
		{[]standard.Expected{wet("D001", 18.5, 20), wet("D002", 18.5, 20), wet("D002", 19, 21)}, nil, "[D002]"},
		{[]standard.Expected{acid, wet("D002", 16, 17), wet("D003", 18.5, 20)}, nil, "[D003]"},
		{[]standard.Expected{acid, wet("D001", 18.5, 20), wet("D002", 17.5, 19)}, nil, "[]"},
		{[]standard.Expected{wet("D002", 18.5, 20), wet("D003", 18.5, 20)}, []string{"D001", "D003"}, "[D003]"},
	} {
		lot := standard.Lot{Containers: drums(3), Results: []standard.Result{moistureOf("D001", "17", "", "")}, Expected: c.expected, Only: c.only}
		v := check(t, set, lot).Verdicts[0]
		if got := fmt.Sprint(v.Unread); got != c.unread || v.Outcome == standard.Meets != (c.unread == "[]") {
			t.Errorf("with %v expected, %v going: %s, to be measured are %s, want %s", c.expected, c.only, v.Outcome, got, c.unread)
		}
	}
}

// A drum that was filled after the last sample takes back a pass, since no sample has any of it; a
// lot that fails already fails.
func TestADrumFilledSinceTakesBackAPassAndNoFailure(t *testing.T) {
	t.Parallel()
	sampled := time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)
	for pct, want := range map[string]standard.Outcome{"17": standard.NotMeasured, "19": standard.Fails} {
		result := moistureOf("", pct, "", "")
		result.At = sampled
		lot := standard.Lot{Containers: drums(2), Results: []standard.Result{result}, Since: map[string]time.Time{"D001": sampled.Add(-time.Hour), "D002": sampled.Add(time.Hour)}}
		v := check(t, only(t, buyersLimit("moisture", "%", "<=", "18")), lot).Verdicts[0]
		if v.Outcome != want || (want == standard.NotMeasured) != slices.Equal(v.Unread, []string{"D002"}) {
			t.Errorf("a sample of %s %%, and D002 filled after it: %s, no sample is of %v", pct, v.Outcome, v.Unread)
		}
	}
}

// A buyer's own figure in µg/kg may be stated in any unit of mass in mass, with 0 to 1000 µg/kg
// as 0 to 1 mg/kg; a score in its own alone; what is seen in none.
func TestAnOwnFigureIsTakenInUnitsOfItsKind(t *testing.T) {
	t.Parallel()
	residue := standard.OwnParameter{Name: "glyphosate", Unit: "µg/kg", Minimum: "0", Maximum: "1000"}
	score := standard.OwnParameter{Name: "panel_score", Unit: "points", Minimum: "1"}
	seen := standard.OwnParameter{Name: "tylosin", Words: []string{"detected", "not detected"}}
	if !residue.Takes("mg/kg") || !residue.Takes("µg/kg") || residue.Takes("points") || !score.Takes("points") || score.Takes("mg/kg") || seen.Takes("") {
		t.Error("a unit of the same kind is refused, or one of another taken")
	}
	units := residue.Units()
	if units[0] != "µg/kg" || !slices.Contains(units, "mg/kg") || slices.Contains(units[1:], "µg/kg") || len(units) != 10 {
		t.Errorf("the residue's units are %v", units)
	}
	if got := score.Units(); !slices.Equal(got, []string{"points"}) || seen.Units() != nil {
		t.Errorf("the score's units are %v, what is seen has %v", got, seen.Units())
	}
	if low, high := residue.Range("mg/kg"); low.Sign() != 0 || high == nil || high.Float64() != 1 {
		t.Errorf("the residue is from %s to %v mg/kg", low, high)
	}
	if low, high := score.Range("points"); low.Float64() != 1 || high != nil {
		t.Errorf("the score is from %s to %v", low, high)
	}
	if !standard.IsKnown("hmf") || standard.IsKnown("glyphosate") {
		t.Error("HMF is not known to every book, or glyphosate is")
	}
}

// A line about the lot's mean is met by the mean, and a grade is of the lot: neither asks what a
// single drum is to be expected at.
func TestALineAboutTheWholeLotIsNotKeptBackByOneDrum(t *testing.T) {
	t.Parallel()
	byMean := only(t, with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"by_mean": true}))
	graded := parsed(t, buyersSet(func(s map[string]any) {
		s["form"], s["grades"] = "grades", []string{"table"}
		s["limits"] = []any{with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"grade": "table"})}
	}))
	lot := standard.Lot{Containers: drums(2), Results: []standard.Result{moistureOf("D001", "17", "", "")},
		Expected: []standard.Expected{{Parameter: "moisture", ContainerID: "D002", Low: 18.5, High: 20}}}
	for what, set := range map[string]*standard.RuleSet{"of the mean": byMean, "of a grade": graded} {
		if v := check(t, set, lot).Verdicts[0]; v.Outcome != standard.Meets || len(v.Unread) != 0 {
			t.Errorf("a line %s: %s, to be measured are %v", what, v.Outcome, v.Unread)
		}
	}
}

// Of a drum that was filled after the last sample and is to be expected too wet as well, the first
// is said: that is a fact, and the other an estimate.
func TestThatADrumWasFilledSinceIsSaidBeforeWhatItMayHold(t *testing.T) {
	t.Parallel()
	sampled := time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)
	result := moistureOf("D001", "17", "", "")
	result.At = sampled
	lot := standard.Lot{Containers: drums(3), Results: []standard.Result{result},
		Since:    map[string]time.Time{"D001": sampled.Add(-time.Hour), "D002": sampled.Add(time.Hour)},
		Expected: []standard.Expected{{Parameter: "moisture", ContainerID: "D003", Low: 18.5, High: 20}}}
	v := check(t, only(t, buyersLimit("moisture", "%", "<=", "18")), lot).Verdicts[0]
	if v.Outcome != standard.NotMeasured || v.Reason != standard.ReasonFilledSince || !slices.Equal(v.Unread, []string{"D002"}) {
		t.Errorf("%s of %v", v.Sentence(), v.Unread)
	}
}

// A drum at 19 % that drier honey was poured onto, and that was read at 17 % then, holds what was
// read last.
func TestWhatWasReadBeforeOtherHoneyCameIsOfOtherHoney(t *testing.T) {
	t.Parallel()
	poured := time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)
	at := func(pct string, when time.Time) standard.Result {
		r := moistureOf("D001", pct, "", "")
		r.At = when
		return r
	}
	lot := standard.Lot{Containers: drums(1), Since: map[string]time.Time{"D001": poured},
		Results: []standard.Result{at("19", poured.Add(-time.Hour)), at("17", poured.Add(time.Hour))}}
	if v := check(t, only(t, buyersLimit("moisture", "%", "<=", "18")), lot).Verdicts[0]; v.Outcome != standard.Meets || v.High.String() != "17" {
		t.Errorf("%s", v.Sentence())
	}
}

// People call a buyer's own parameter by its label; one that every book knows has its own name.
func TestOnlyAParameterOfABuyersOwnHasALabel(t *testing.T) {
	t.Parallel()
	set := parsedOwn(t)
	if got := set.Limits[2].Label(); got != "taste panel" {
		t.Errorf("the panel's label is %q", got)
	}
	for _, l := range ruleSet(t, "codex-cxs-12-1981").Limits {
		if l.Label() != "" || l.SaidParameter().String() != standard.SayParameter(l.Parameter).String() {
			t.Errorf("%s is called %q, label %q", l.Parameter, l.SaidParameter(), l.Label())
		}
	}
}
