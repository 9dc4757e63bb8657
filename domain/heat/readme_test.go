package heat_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"pullbook/domain/heat"
)

var update = flag.Bool("update", false, "write the computed tables into README.md")

// verdict says how a measured interval lies to a band.
func verdict(low, high float64, band heat.Band) string {
	switch {
	case low >= band.Low && high <= band.High:
		return "hit"
	case high >= band.Low && low <= band.High:
		return "partly"
	}
	return "MISS"
}

func plain(value float64) string {
	if value >= 100 {
		return fmt.Sprintf("%.0f", value)
	}
	return fmt.Sprintf("%.3g", value)
}

func threeOf(b heat.Band) string {
	return plain(b.Low) + " / " + plain(b.Middle) + " / " + plain(b.High)
}

func interval(low, high float64) string {
	if low == high {
		return plain(low)
	}
	return plain(low) + " to " + plain(high)
}

func fitTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| reaction | points | rate at 50 C, per day | Ea, kJ/mol | residual SD of ln k | worst point | spread among honeys, SD of ln k | nine honeys in ten within |\n|---|---|---|---|---|---|---|---|\n")
	k := heat.Default()
	for _, c := range []struct {
		name   string
		points []heat.RatePoint
		r      heat.Reaction
	}{
		{"HMF, mg/kg", hmfMidpoints(t), k.HMF},
		{"diastase, first order", enzymeRates(t, "diastase_h"), k.Diastase},
		{"invertase, first order", enzymeRates(t, "invertase_h"), k.Invertase},
	} {
		fit, err := heat.FitArrhenius(c.points)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "| %s | %d | %.4f | %.1f | %.3f | x%.2f | %.3f | x%.2f |\n", c.name, len(c.points), c.r.PerDay(50), c.r.ActivationEnergyKJPerMol(),
			fit.ResidualSD, fit.WorstFactor, c.r.LogSD, math.Exp(1.6448536*c.r.LogSD))
	}
	return b.String()
}

func windowTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| source | C | mg/kg formed | published, days | forecast, days (fast / middle / slow) | verdict |\n|---|---|---|---|---|---|\n")
	for _, r := range published(t, "hmf-time-to-threshold.csv") {
		hours, err := heat.Default().HoursUntilHMF(0, r.figure(t, "hmf_mg_per_kg"), r.figure(t, "temperature_c"))
		if err != nil {
			t.Fatal(err)
		}
		days := heat.Band{Low: hours.Low / 24, Middle: hours.Middle / 24, High: hours.High / 24}
		low, high := r.figure(t, "days_low"), r.figure(t, "days_high")
		word := "MISS"
		if days.Middle >= low && days.Middle <= high {
			word = "middle in the window"
		} else if verdict(low, high, days) != "MISS" {
			word = "band reaches the window"
		}
		source, _, _ := strings.Cut(r["source"], ";")
		if r["provenance"] == "from memory" {
			source += " (from memory)"
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s |\n", source, r["temperature_c"], r["hmf_mg_per_kg"], interval(low, high), threeOf(days), word)
	}
	return b.String()
}

func hmfTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| paper | honey | C | hours | HMF before | HMF after, measured | forecast (slow / middle / fast) | verdict | assumed |\n|---|---|---|---|---|---|---|---|---|\n")
	for _, r := range published(t, "hmf-experiments.csv") {
		low, high := r.figure(t, "temperature_low_c"), r.figure(t, "temperature_high_c")
		f, err := heat.Default().Forecast(heat.State{HMFMgPerKg: r.figure(t, "hmf_start")}, kept(t, (low+high)/2, r.figure(t, "hours")))
		if err != nil {
			t.Fatal(err)
		}
		endLow, endHigh := r.figure(t, "hmf_end_low"), r.figure(t, "hmf_end_high")
		band := f.HMFMgPerKg
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s | %s | %s | %s |\n", r["paper"], r["honey"], interval(low, high), r["hours"], r["hmf_start"],
			interval(endLow, endHigh), threeOf(band), verdict(endLow, endHigh, band), r["assumed"])
	}
	return b.String()
}

func enzymeTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| paper | enzyme | honey | C | hours | left, measured % | forecast % (fast / middle / slow) | verdict | assumed |\n|---|---|---|---|---|---|---|---|---|\n")
	for _, r := range published(t, "enzyme-experiments.csv") {
		low, high := r.figure(t, "temperature_low_c"), r.figure(t, "temperature_high_c")
		f, err := heat.Default().Forecast(heat.State{DiastaseDN: 100, Invertase: 100}, kept(t, (low+high)/2, r.figure(t, "hours")))
		if err != nil {
			t.Fatal(err)
		}
		band := map[string]heat.Band{"diastase": f.DiastaseDN, "invertase": f.Invertase}[r["enzyme"]]
		left := r.figure(t, "left_pct")
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %.4g | %s | %s | %s |\n", r["paper"], r["enzyme"], r["honey"], interval(low, high), r["hours"],
			left, threeOf(band), verdict(left, left, band), r["assumed"])
	}
	return b.String()
}

// The tables of the README are what the code computes today, hits and misses
// alike: a change of a parameter that turns one into the other shows here.
func TestTablesOfTheREADMEAreComputed(t *testing.T) {
	data, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	for name, table := range map[string]string{"fit": fitTable(t), "windows": windowTable(t), "experiments": hmfTable(t), "enzymes": enzymeTable(t)} {
		begin, end := "<!-- begin "+name+" -->\n", "<!-- end "+name+" -->"
		from, to := strings.Index(text, begin), strings.Index(text, end)
		if from < 0 || to < from {
			t.Fatalf("README.md has no place for the table %q", name)
		}
		if from += len(begin); text[from:to] == table {
			continue
		}
		if !*update {
			t.Errorf("the table %q of README.md differs from what the code computes (go test ./domain/heat -run README -update writes it):\n%s", name, table)
			continue
		}
		text = text[:from] + table + text[to:]
	}
	if *update {
		if err := os.WriteFile("README.md", []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// At least five papers must stand in the comparison, whatever its verdicts.
func TestTheComparisonCoversFivePapers(t *testing.T) {
	t.Parallel()
	papers := map[string]bool{}
	for _, r := range published(t, "hmf-experiments.csv") {
		papers[r["paper"]] = true
	}
	if len(papers) < 5 {
		t.Errorf("%d papers", len(papers))
	}
}
