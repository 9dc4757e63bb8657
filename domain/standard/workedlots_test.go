package standard_test

import (
	"flag"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/standard"
)

var update = flag.Bool("update", false, "write the table of worked lots into README.md")

// columnParameter says which parameter each column of the published results holds.
var columnParameter = map[string]string{
	"moisture_pct": "moisture", "hmf_mg_kg": "hmf", "diastase_dn": "diastase", "ec_ms_cm": "electrical_conductivity",
	"free_acidity_meq_kg": "free_acidity", "sum_fructose_glucose_g_100g": "fructose_plus_glucose", "reducing_sugars_pct": "reducing_sugars",
	"sucrose_g_100g": "sucrose", "water_insoluble_g_100g": "water_insoluble", "ash_pct": "ash", "proline_mg_kg": "proline",
	"invertase_u_kg": "invertase", "c4_sugar_pct": "c4_sugar", "colour_mm_pfund": "colour_pfund", "fg_ratio": "fructose_glucose_ratio",
}

// comparison is one published lot beside its rule set.
type comparison struct {
	row, by   map[string]string
	published string // pass or fail
	ours      string
	failing   []string // parameters that fail here
	hit       bool
}

// publishedFailing reads the parameters named as failing, without the figures
// and remarks printed beside them.
func publishedFailing(text string) []string {
	var parameters []string
	for _, part := range strings.Split(regexp.MustCompile(`\([^)]*\)|[0-9.]+`).ReplaceAllString(text, ""), ";") {
		if part = strings.TrimSpace(part); part != "" {
			parameters = append(parameters, part)
		}
	}
	return parameters
}

func compareLot(t *testing.T, row, by map[string]string) comparison {
	t.Helper()
	lot := standard.Lot{Declaration: declaration(by["declare"])}
	for _, column := range sortedColumns() {
		if value := row[column]; value != "" && value != "nd" {
			lot.Results = append(lot.Results, measured(columnParameter[column], value))
		}
	}
	c, err := ruleSet(t, by["rule_set"]).Check(evidence(t, lot), standard.Date(by["on"]), standard.SimpleAcceptance())
	if err != nil {
		t.Fatalf("%s: %v", row["row_id"], err)
	}
	result := comparison{row: row, by: by, published: "pass", ours: "pass"}
	if len(lot.Results) == 0 {
		result.ours = "no figures"
	}
	for _, v := range c.Verdicts {
		if v.Outcome == standard.Fails {
			result.failing = append(result.failing, v.Limit.Parameter)
			result.ours = "fail"
		}
	}
	wanted := publishedFailing(row["failing_parameters"])
	if !strings.HasPrefix(row["verdict_class"], "pass") {
		result.published = "fail"
	}
	result.hit = result.ours == result.published
	for _, parameter := range wanted {
		result.hit = result.hit && slices.Contains(result.failing, parameter)
	}
	return result
}

func sortedColumns() []string {
	var columns []string
	for column := range columnParameter {
		columns = append(columns, column)
	}
	slices.Sort(columns)
	return columns
}

// TestPublishedVerdictsAsListedInTheReadme holds every published lot against its
// rule set and compares the outcome, hits and misses alike, with the table in
// README.md, so that the table always says what the code does.
func TestPublishedVerdictsAsListedInTheReadme(t *testing.T) {
	t.Parallel()
	judgedBy := map[string]map[string]string{}
	for _, row := range readTable(t, "testdata/worked-lots-judged-by.csv") {
		judgedBy[row["row_id"]] = row
	}
	var table strings.Builder
	hits, compared, rows := 0, 0, 0
	table.WriteString("| row | judged by | published | here | failing here | agrees | remark |\n|---|---|---|---|---|---|---|\n")
	for _, row := range readTable(t, "../../testdata/worked-lots.csv") {
		rows++
		by, ok := judgedBy[row["row_id"]]
		if !ok {
			t.Fatalf("%s has no rule set to be judged by", row["row_id"])
		}
		c := compareLot(t, row, by)
		agrees := "not comparable"
		if by["compare"] == "yes" {
			compared++
			agrees = "no"
			if c.hit {
				hits++
				agrees = "yes"
			}
		}
		fmt.Fprintf(&table, "| %s | %s | %s | %s | %s | %s | %s |\n", row["row_id"], by["rule_set"], publishedWords(row, c), c.ours, strings.Join(c.failing, ", "), agrees, by["why"])
	}
	summary := fmt.Sprintf("%d published lots, %d comparable, %d agree, %d do not.\n\n", rows, compared, hits, compared-hits)
	holdReadmeTo(t, summary+table.String())
}

func publishedWords(row map[string]string, c comparison) string {
	if c.by["compare"] != "yes" {
		return row["verdict_class"]
	}
	if wanted := publishedFailing(row["failing_parameters"]); len(wanted) > 0 {
		return c.published + " (" + strings.Join(wanted, ", ") + ")"
	}
	return c.published
}

func holdReadmeTo(t *testing.T, want string) {
	t.Helper()
	const begin, end = "<!-- worked lots: begin -->\n", "<!-- worked lots: end -->"
	data, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(data), begin)
	got, tail, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatal("README.md has no place for the table of worked lots")
	}
	if got == want {
		return
	}
	if !*update {
		t.Fatalf("the table of worked lots in README.md is not current; run go test -update. It should read:\n%s", want)
	}
	if err := os.WriteFile("README.md", []byte(head+begin+want+end+tail), 0o644); err != nil {
		t.Fatal(err)
	}
}

// missesAmongSamples are the figures of judged-samples.csv of which the program says
// something else than the study.
var missesAmongSamples = map[string]string{
	"tr-2012-58 moisture 20.13": "the mean of sunflower honey is over 20 % as printed, with all of its samples said to comply",
}

func TestFiguresThatStudiesJudgedAreJudgedSoHere(t *testing.T) {
	t.Parallel()
	missed := map[string]bool{}
	for _, row := range readTable(t, "testdata/judged-samples.csv") {
		set := ruleSet(t, row["rule_set"])
		result := measured(row["parameter"], row["value"])
		result.Unit = row["unit"]
		c, err := set.Check(evidence(t, standard.Lot{Declaration: declaration(row["declare"]), Results: []standard.Result{result}}), standard.Date(row["on"]), standard.SimpleAcceptance())
		if err != nil {
			t.Fatal(err)
		}
		for _, grade := range append([]string{""}, set.Grades...) {
			place, outcome := verdictFor(c, row["parameter"], grade)
			if place < 0 || outcome.String() == row["outcome"] {
				continue
			}
			miss := fmt.Sprintf("%s %s %s", row["rule_set"], row["parameter"], row["value"])
			if missed[miss] = true; missesAmongSamples[miss] == "" {
				t.Errorf("%s of %s: %s, the study says %s", c.Verdicts[place].Sentence(), row["study"], outcome, row["outcome"])
			}
		}
	}
	for miss := range missesAmongSamples {
		if !missed[miss] {
			t.Errorf("%s is no miss any more", miss)
		}
	}
}
