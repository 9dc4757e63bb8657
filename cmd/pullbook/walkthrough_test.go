package main

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"pullbook/openapi"
)

// The README's season by hand gives the weights that one gets by hand: its
// lines are run as they stand there, and what they print is compared with the
// sums below them.
func TestTheReadmesSeasonGivesTheWeightsWorkedOutByHand(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), "<!-- walk-through")
	_, rest, fenced := strings.Cut(rest, "```sh\n")
	script, _, closed := strings.Cut(rest, "```\n")
	if !found || !fenced || !closed {
		t.Fatal("the README has no walk-through")
	}
	dir, token := foundedFolder(t)
	p := start(t, "serve", dir)
	cmd := exec.CommandContext(t.Context(), "bash", "-euo", "pipefail", "-c", script)
	cmd.Env = append(environment(), "TOKEN="+token, "URL="+p.base)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("the walk-through: %v\n%s", err, out)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	for i, line := range lines {
		if !strings.HasPrefix(line, "{") && line != "" {
			t.Errorf("line %d of what it prints: %s", i+1, line)
		}
	}
	client := reach(t, p.base, token)
	var season openapi.SeasonReport
	if err := client.get(t.Context(), "reports/season", &season); err != nil {
		t.Fatalf("the season: %v", err)
	}
	var lot openapi.LotReport
	if err := json.Unmarshal([]byte(lines[len(lines)-1]), &lot); err != nil {
		t.Fatalf("the last thing it prints is no lot: %v", err)
	}
	var tanks []openapi.TankLine
	if err := client.get(t.Context(), "reports/tanks", &tanks); err != nil || len(tanks) != 1 {
		t.Fatalf("%d tanks: %v", len(tanks), err)
	}

	// 40 deeps of 1600 kg and 20 of 840 kg, each of 13 kg empty: 1080 and 580 kg.
	const alderBend, millRace = 1600 * 1080.0 / 1660, 1600 * 580.0 / 1660
	got := map[string]float64{}
	for _, y := range season.Yards {
		if y.HoneyKg == nil {
			t.Fatalf("the honey of %s is not known", y.Name)
		}
		got[y.Name] = *y.HoneyKg
		if y.Allocation == nil || *y.Allocation != "weighed" {
			t.Errorf("%s is not shared by weight", y.Name)
		}
	}
	near(t, "honey of Alder Bend", got["Alder Bend"], alderBend)
	near(t, "honey of Mill Race", got["Mill Race"], millRace)
	near(t, "the lot", lot.NetKg, 290+290)
	near(t, "left in the tank", tanks[0].HeldKg, 1600-290-290)
	for _, source := range lot.Makeup {
		if source.Name == "Alder Bend" {
			near(t, "Alder Bend in the lot", source.MassKg, 580*1080.0/1660)
		}
	}
	if len(lot.Makeup) != 2 {
		t.Errorf("the lot is made of %d yards", len(lot.Makeup))
	}
	must(t, "audit", "--data", dir)
	p.stop(t)
}

// near allows the gram to which masses are kept.
func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 0.001 {
		t.Errorf("%s: %.3f kg, by hand %.3f kg", what, got, want)
	}
}
