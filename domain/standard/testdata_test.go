package standard_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"strings"
	"testing"

	"pullbook/domain/standard"
)

// readTable reads a CSV file with # comments, each row by its column names.
func readTable(t testing.TB, path string) []map[string]string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	var table []map[string]string
	for _, row := range rows[1:] {
		byName := map[string]string{}
		for i, name := range rows[0] {
			byName[name] = row[i]
		}
		table = append(table, byName)
	}
	if len(table) == 0 {
		t.Fatalf("%s holds no rows", path)
	}
	return table
}

func publishedLibrary(t testing.TB) *standard.Library {
	t.Helper()
	library, err := standard.Published()
	if err != nil {
		t.Fatal(err)
	}
	return library
}

func ruleSet(t testing.TB, id string) *standard.RuleSet {
	t.Helper()
	set, ok := publishedLibrary(t).Get(id)
	if !ok {
		t.Fatalf("there is no rule set %s", id)
	}
	return set
}

// declaration reads "kind=a+b;use=bakers".
func declaration(text string) standard.Declaration {
	declared := standard.Declaration{}
	for _, part := range strings.Split(text, ";") {
		if attribute, values, ok := strings.Cut(part, "="); ok {
			declared[attribute] = strings.Split(values, "+")
		}
	}
	return declared
}

// measured is a result of a lot as a whole in the parameter's first unit.
func measured(parameter, value string) standard.Result {
	result := standard.Result{Parameter: parameter, Value: value, Method: "as published"}
	for _, p := range standard.Parameters() {
		if p.ID == parameter && len(p.Units) > 0 {
			result.Unit = p.Units[0].Name
		}
	}
	return result
}

func evidence(t testing.TB, lot standard.Lot) *standard.Evidence {
	t.Helper()
	e, err := standard.NewEvidence(lot)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// dayInForce is a day on which the edition is in force.
func dayInForce(set *standard.RuleSet) standard.Date {
	if set.InForceFrom != "" {
		return set.InForceFrom
	}
	return "2026-07-01"
}

func check(t testing.TB, set *standard.RuleSet, lot standard.Lot) standard.Check {
	t.Helper()
	c, err := set.Check(evidence(t, lot), dayInForce(set), standard.SimpleAcceptance())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// hundredthsText writes hundredths as decimal text.
func hundredthsText(hundredths int) string {
	return fmt.Sprintf("%d.%02d", hundredths/100, hundredths%100)
}
