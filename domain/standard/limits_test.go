package standard_test

import (
	"fmt"
	"strings"
	"testing"

	"pullbook/domain/standard"
)

// limitCase is a result at or beside a limit and the outcome the text gives.
type limitCase struct {
	value string
	want  standard.Outcome
}

// casesAt gives the result just under, at and just over a limit.
func casesAt(row map[string]string) []limitCase {
	side := row["side"]
	if side == "word" {
		return []limitCase{{row["limit"], standard.Meets}}
	}
	limit, step := standard.MustDecimal(row["limit"]), standard.MustDecimal(row["step"])
	under, at, over := limit.Sub(step).String(), limit.String(), limit.Add(step).String()
	outcomes := map[string][3]standard.Outcome{
		"max":    {standard.Meets, standard.Meets, standard.Fails},
		"under":  {standard.Meets, standard.Fails, standard.Fails},
		"min":    {standard.Fails, standard.Meets, standard.Meets},
		"over":   {standard.Fails, standard.Fails, standard.Meets},
		"kept":   {standard.Meets, standard.Meets, standard.TooClose},
		"exempt": {standard.DoesNotApply, standard.DoesNotApply, standard.DoesNotApply},
	}[side]
	return []limitCase{{under, outcomes[0]}, {at, outcomes[1]}, {over, outcomes[2]}}
}

// lotOf builds a lot with one result in question and the results beside it.
func lotOf(row map[string]string, value string) standard.Lot {
	result := measured(row["parameter"], value)
	result.Unit = row["unit"]
	lot := standard.Lot{Declaration: declaration(row["declare"]), Results: []standard.Result{result}}
	if parameter, other, ok := strings.Cut(row["with"], "="); ok {
		lot.Results = append(lot.Results, measured(parameter, other))
	}
	return lot
}

// verdictFor finds the answer of a rule set for one parameter and grade: that of
// the line that applies, or "does not apply" when none does. Where a rule set
// ties results together only the lines of this grade count.
func verdictFor(c standard.Check, parameter, grade string) (place int, outcome standard.Outcome) {
	place = -1
	for i, v := range c.Verdicts {
		if v.Limit.Parameter == parameter && v.Limit.Grade == grade && (place < 0 || v.Outcome > outcome) {
			place, outcome = i, v.Outcome
		}
	}
	return place, outcome
}

func TestEachLimitAtJustUnderAndJustOver(t *testing.T) {
	t.Parallel()
	reached := map[string]bool{}
	for _, row := range readTable(t, "testdata/limits.csv") {
		for _, id := range strings.Fields(row["rule_sets"]) {
			set := ruleSet(t, id)
			for _, tc := range casesAt(row) {
				c := check(t, set, lotOf(row, tc.value))
				place, got := verdictFor(c, row["parameter"], row["grade"])
				if place < 0 {
					t.Fatalf("%s has no line for %s in grade %q", id, row["parameter"], row["grade"])
				}
				if got != tc.want {
					t.Errorf("%s: %s = %s %s, declared %q with %q in grade %q: %s, want %s (%s)", id, row["parameter"], tc.value, row["unit"], row["declare"], row["with"], row["grade"], got, tc.want, row["source"])
				}
				if v := c.Verdicts[place]; v.Outcome != standard.DoesNotApply || v.Reason == standard.ReasonExempt {
					reached[fmt.Sprint(id, " ", place)] = true
				}
				for i, v := range c.Verdicts {
					if v.Reason == standard.ReasonExempt {
						reached[fmt.Sprint(id, " ", i)] = true
					}
				}
			}
		}
	}
	for _, set := range publishedLibrary(t).All() {
		if set.Form == standard.FormClasses {
			continue // TestColourClassEdges
		}
		for i, l := range set.Limits {
			if l.Comparator != standard.Permits && !reached[fmt.Sprint(set.ID, " ", i)] {
				t.Errorf("%s limits/%d (%s %s %s, grade %q) is not reached by any row of the table", set.ID, i, l.Parameter, l.Comparator, l.Limit, l.Grade)
			}
		}
	}
}

func TestEveryOtherWordFailsAnObservation(t *testing.T) {
	t.Parallel()
	for _, row := range readTable(t, "testdata/limits.csv") {
		if row["side"] != "word" {
			continue
		}
		for _, id := range strings.Fields(row["rule_sets"]) {
			for _, word := range wordsOf(t, row["parameter"]) {
				_, got := verdictFor(check(t, ruleSet(t, id), lotOf(row, word)), row["parameter"], row["grade"])
				if want := word == row["limit"]; (got == standard.Meets) != want {
					t.Errorf("%s: %s %q: %s", id, row["parameter"], word, got)
				}
			}
		}
	}
}

func wordsOf(t *testing.T, parameter string) []string {
	t.Helper()
	for _, p := range standard.Parameters() {
		if p.ID == parameter {
			return p.Words
		}
	}
	t.Fatalf("no parameter %s", parameter)
	return nil
}

func TestColourClassEdges(t *testing.T) {
	t.Parallel()
	for _, row := range readTable(t, "testdata/colour-classes.csv") {
		set := ruleSet(t, row["rule_set"])
		edge, step := standard.MustDecimal(row["edge"]), standard.MustDecimal(row["step"])
		for value, want := range map[string]string{edge.Sub(step).String(): row["class_at"], edge.String(): row["class_at"], edge.Add(step).String(): row["class_above"]} {
			result := measured(row["parameter"], value)
			lot := standard.Lot{Results: []standard.Result{result}}
			if row["pack"] != "" {
				lot.Declaration = standard.Declaration{"pack": {row["pack"]}}
			}
			c := check(t, set, lot)
			if c.Grade != want || c.Outcome != standard.Meets {
				t.Errorf("%s %s: %s %s is %q (%s), want %q", set.ID, row["pack"], value, row["unit"], c.Grade, c.Outcome, want)
			}
		}
	}
}
