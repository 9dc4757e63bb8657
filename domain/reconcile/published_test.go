package reconcile

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// published reads a table of testdata by column name.
func published(t testing.TB, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.12g, want %.12g within %g", what, got, want, tolerance)
	}
}

// steamTurbine builds the example of VDI 2048 Part 1, Annex A. Its balances have shares (0.4 of a flow),
// so that it enters below the level of a network.
func steamTurbine(t testing.TB, halfWidth string) (system, []map[string]string) {
	t.Helper()
	rows := published(t, "reconciliation-vdi2048-streams.csv")
	terms := published(t, "reconciliation-vdi2048-balances.csv")
	at := map[string]int{}
	s := system{}
	for column, row := range rows {
		at[row["stream"]] = column
		if row["measured"] == "" {
			s.unmeasured = append(s.unmeasured, column)
			continue
		}
		s.correlation.SetSym(column, column, 1)
		s.measured = append(s.measured, column)
		s.readings = append(s.readings, number(t, row["measured"]))
		s.uncertainty = append(s.uncertainty, number(t, row[halfWidth])/1.96)
	}
	for column, row := range rows {
		if row["correlated_with"] != "" {
			s.correlation.SetSym(column, at[row["correlated_with"]], number(t, row["correlation"]))
		}
	}
	for _, term := range terms {
		if !slices.Contains(s.balanceNames, term["balance"]) {
			s.balanceNames = append(s.balanceNames, term["balance"])
		}
	}
	s.balances = mat.NewDense(len(s.balanceNames), len(rows), nil)
	for _, term := range terms {
		s.balances.Set(slices.Index(s.balanceNames, term["balance"]), at[term["stream"]], number(t, term["coefficient"]))
	}
	return s, rows
}

func TestSteamTurbineExampleIsAdjustedAsPublished(t *testing.T) {
	t.Parallel()
	s, rows := steamTurbine(t, "half_width")
	got, err := s.solve(DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	for column, row := range rows {
		r := got.Streams[column]
		near(t, row["stream"]+" reconciled", r.ReconciledKg, number(t, row["reconciled"]), 5e-13)
		if row["reconciled_half_width"] != "" {
			near(t, row["stream"]+" half width", r.ReconciledUncertaintyKg*1.96, number(t, row["reconciled_half_width"]), 5e-13)
		}
		want := Redundant
		switch {
		case row["measured"] == "":
			want = Determinable
		case row["stream"] == "m_D":
			want = NonRedundant
		}
		if r.Class != want {
			t.Errorf("%s is %s, want %s", row["stream"], r.Class, want)
		}
	}
	// Three auxiliary conditions, chi-square 7.81473 at 95 %: printed in the report of the same example in
	// OpenModelica's user's guide.
	if got.Global.DegreesOfFreedom != 3 {
		t.Errorf("degrees of freedom: got %d, want 3", got.Global.DegreesOfFreedom)
	}
	near(t, "critical chi-square", got.Global.Critical, 7.81473, 5e-6)
}

// The annex goes on by widening the uncertainty of just the two feed water meters, which is what one
// does with the measurements a test has named.
func TestSteamTurbineExampleNamesTheFeedWaterMeters(t *testing.T) {
	t.Parallel()
	s, rows := steamTurbine(t, "half_width")
	got, err := s.solve(DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	var named []string
	for _, column := range got.suspectColumns {
		named = append(named, rows[column]["stream"])
	}
	if want := []string{"m_FDKeI", "m_FDKeII"}; !slices.Equal(named, want) {
		t.Errorf("most likely wrong: got %v, want %v", named, want)
	}
	if got.Global.Passed {
		t.Errorf("the global test passed with %.3f", got.Global.Statistic)
	}

	widened, _ := steamTurbine(t, "widened_half_width")
	if got, err = widened.solve(DefaultSignificance); err != nil {
		t.Fatal(err)
	}
	if !got.Global.Passed || len(got.suspectColumns) > 0 {
		t.Errorf("after widening: statistic %.3f, suspects %v", got.Global.Statistic, got.suspectColumns)
	}
}

func bypass(t testing.TB, reading string) (Network, []map[string]string) {
	rows := published(t, "reconciliation-heat-exchanger-bypass.csv")
	var n Network
	for _, row := range rows {
		n.Streams = append(n.Streams, Stream{
			Name: row["stream"], From: row["from"], To: row["to"],
			Measured: true, Kg: number(t, row[reading]), StandardUncertaintyKg: 1,
		})
	}
	return n, rows
}

func TestHeatExchangerWithBypassIsAdjustedAsPublished(t *testing.T) {
	t.Parallel()
	for reading, adjusted := range map[string]string{
		"measured":                  "reconciled",
		"measured_with_gross_error": "reconciled_with_gross_error",
	} {
		n, rows := bypass(t, reading)
		got, err := Reconcile(n, DefaultSignificance)
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			near(t, adjusted+" "+row["stream"], got.Streams[i].ReconciledKg, number(t, row[adjusted]), 0.005+1e-9)
		}
	}
}

// Global test 16.674 against 9.488 and the nodal imbalances: Narasimhan & Jordache 2000, chapter 7, from
// memory.
func TestHeatExchangerWithBypassFailsTheTestsAsPublished(t *testing.T) {
	t.Parallel()
	n, _ := bypass(t, "measured_with_gross_error")
	got, err := Reconcile(n, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "global statistic", got.Global.Statistic, 16.674, 0.0005)
	near(t, "critical chi-square", got.Global.Critical, 9.488, 0.0005)
	if got.Global.DegreesOfFreedom != 4 || got.Global.Passed {
		t.Errorf("global test: %+v", got.Global)
	}
	imbalance := map[string]float64{"splitter": -1.19, "exchanger": 4.25, "valve": -1.79, "mixer": 1.76}
	for _, node := range got.Nodes {
		near(t, node.Name, node.ImbalanceKg, imbalance[node.Name], 1e-9)
	}
	if want := []string{"2"}; !slices.Equal(got.MostLikelyWrong, want) {
		t.Errorf("most likely wrong: got %v, want %v", got.MostLikelyWrong, want)
	}
	near(t, "size of the planted error of 4", got.Streams[1].GrossErrorKg, 4, 1)

	clean, _ := bypass(t, "measured")
	if got, err = Reconcile(clean, DefaultSignificance); err != nil {
		t.Fatal(err)
	}
	if !got.Global.Passed || len(got.MostLikelyWrong) > 0 {
		t.Errorf("without the error: %+v, most likely wrong %v", got.Global, got.MostLikelyWrong)
	}
}

func steamMetering(t testing.TB, reading string) (Network, []map[string]string) {
	rows := published(t, "reconciliation-steam-metering.csv")
	var n Network
	for _, row := range rows {
		n.Streams = append(n.Streams, Stream{
			Name: row["stream"], From: row["from"], To: row["to"], Measured: true,
			Kg: number(t, row[reading]), StandardUncertaintyKg: number(t, row["standard_deviation"]),
		})
	}
	return n, rows
}

// The readings of the steam metering system carry random errors; adjusting must bring them nearer to the
// true flows, and by exactly the global statistic where the truth closes the balances (Pythagoras).
func TestSteamMeteringFlowsComeNearerToTheTruth(t *testing.T) {
	t.Parallel()
	n, rows := steamMetering(t, "measured")
	got, err := Reconcile(n, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	if got.Global.DegreesOfFreedom != 11 {
		t.Errorf("degrees of freedom: got %d, want one for each of 11 nodes", got.Global.DegreesOfFreedom)
	}
	truth, _ := steamMetering(t, "true_flow")
	exact, err := Reconcile(truth, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	var before, after float64
	for i, row := range rows {
		r, sd := got.Streams[i], number(t, row["standard_deviation"])
		before += math.Pow((r.MeasuredKg-exact.Streams[i].ReconciledKg)/sd, 2)
		after += math.Pow((r.ReconciledKg-exact.Streams[i].ReconciledKg)/sd, 2)
		near(t, "true flow "+row["stream"], exact.Streams[i].ReconciledKg, number(t, row["true_flow"]), 0.1)
	}
	near(t, "distance to the truth won", before-after, got.Global.Statistic, 1e-6)
	if !got.Global.Passed || len(got.MostLikelyWrong) > 0 {
		t.Errorf("random errors only, yet: %+v, most likely wrong %v", got.Global, got.MostLikelyWrong)
	}
	t.Logf("distance to the truth in squared deviations: %.2f before, %.2f after", before, after)
}

func TestSteamMeteringNamesAGrossErrorOnAnyMeter(t *testing.T) {
	t.Parallel()
	truth, _ := steamMetering(t, "true_flow")
	exact, err := Reconcile(truth, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	unseen := 0
	for i := range truth.Streams {
		n := Network{Streams: slices.Clone(truth.Streams)}
		for j := range n.Streams {
			n.Streams[j].Kg = exact.Streams[j].ReconciledKg
		}
		planted := n.Streams[i].Kg / 2 // about twenty standard deviations, as these are 2.5 % of the flow
		n.Streams[i].Kg += planted
		got, err := Reconcile(n, DefaultSignificance)
		if err != nil {
			t.Fatal(err)
		}
		r := got.Streams[i]
		near(t, "size of the error on stream "+r.Name, r.GrossErrorKg, planted, 1e-9*planted+1e-9)
		// A small flow beside large ones moves no balance by more than their uncertainty; that much the
		// network says of itself.
		if planted < r.DetectableKg && got.Global.Passed {
			unseen++
			continue
		}
		if !slices.Contains(got.MostLikelyWrong, r.Name) {
			t.Errorf("error on stream %s: named %v", r.Name, got.MostLikelyWrong)
		}
	}
	t.Logf("%d of %d errors of half the flow are too small to be seen", unseen, len(truth.Streams))
}
