package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// The README's old sheets come in as it says: its lines are run as they stand
// there, and each line that it says they print is looked for.
func TestTheReadmesOldSheetsComeInAsItSays(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), "<!-- bring-in")
	_, rest, fenced := strings.Cut(rest, "```sh\n")
	script, rest, closed := strings.Cut(rest, "```\n")
	_, rest, more := strings.Cut(rest, "```\n")
	printed, _, ended := strings.Cut(rest, "```\n")
	if !found || !fenced || !closed || !more || !ended {
		t.Fatal("the README has no sheets to bring in")
	}
	dir, _ := foundedFolder(t)
	work := t.TempDir()
	if err := os.Symlink(binary, filepath.Join(work, "pullbook")); err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), "bash", "-euo", "pipefail", "-c", script)
	cmd.Dir, cmd.Env = work, append(environment(), "PULLBOOK_DATA="+dir)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("the sheets: %v\n%s", err, out)
	}
	got := strings.Join(strings.Fields(string(out)), " ")
	for line := range strings.Lines(printed) {
		_, after, found := strings.Cut(got, strings.TrimSpace(line))
		if !found {
			t.Errorf("it does not print, in this place: %s\n%s", strings.TrimSpace(line), out)
			continue
		}
		got = after
	}
	audit := must(t, "audit", "--data", dir)
	if !strings.Contains(audit, fmt.Sprintf("whole; %d entries", founded+8)) {
		t.Errorf("%s", audit)
	}
}

// sheets makes files to bring in, in a folder of their own.
func sheets(t *testing.T) (file func(name, text string) (path string)) {
	t.Helper()
	work := t.TempDir()
	return func(name, text string) string {
		t.Helper()
		path := filepath.Join(work, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
}

// What cannot be brought in is refused with words, and nothing is stored.
func TestASheetThatCannotBeBroughtInIsRefusedWithWords(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	file := sheets(t)
	yards := file("yards.csv", "Yard\nMill\n")
	refused(t, exitFailed, []string{"neither a text file"}, "import", file("picture.csv", "\x89PNG\r\n\x1a\n\x00\x00\x00"), "--kind", "yards", "--data", dir)
	refused(t, exitFailed, []string{"no manager", "Tamsin"}, "import", yards, "--kind", "yards", "--as", "Tamsin", "--data", dir)
	refused(t, exitFailed, []string{"is no mapping"}, "import", yards, "--kind", "yards", "--mapping", file("bad.json", "{"), "--data", dir)
	refused(t, exitMisused, []string{"--kind"}, "import", yards, "--kind", "hives", "--data", dir)
	refused(t, exitFailed, []string{"nothing was stored"}, "import", file("pulls.csv", "Date,Yard,Supers,Kind\n6/7/26,Mill,1,deep\n"), "--kind", "pulls", "--data", dir)
	if audit := must(t, "audit", "--data", dir); !strings.Contains(audit, fmt.Sprintf("whole; %d entries", founded)) {
		t.Errorf("%s", audit)
	}
}

// Yards across and days down: the command says so, asks what the cells are, and shows what the
// first of them come to before anything is stored.
func TestAWideSheetIsShownAsWhatItWouldBecome(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	file := sheets(t)
	const names = `"make_seasons": true, "fixed": {"super_kind": "deep"},
		"names": {"yard": {"*": {"create": {}}}, "super_kind": {"deep": {"create": {"tare_kg": 13, "usual_net_kg": 27, "fullest_net_kg": 36}}}}`
	wide := file("wide.csv", "Date,Mill,Ridge,Total\n2025-07-14,12,3,15\n2025-07-21,8,0,8\n")
	refused(t, exitFailed, []string{"looks wide", "B (Mill) and C (Ridge)", "yard, date, nothing", "what the figures below", "supers, gross"}, "import", wide, "--kind", "pulls", "--data", dir)
	answers := file("answers.json", `{`+names+`, "wide": {"across": "yard", "cells": "supers"}}`)
	shown := []string{"yard across, in row 1", "The cells are: supers", "Filled cells that were read: 4. New of them: 3 pull.", "0 are no pull, and were left out: 1", "B2 Mill 2025-07-14 pull, 12 supers", "B3 Mill 2025-07-21 pull, 8 supers", "3 pull"}
	for _, dry := range [][]string{{"--dry-run"}, nil} {
		out := strings.Join(strings.Fields(must(t, append([]string{"import", wide, "--kind", "pulls", "--mapping", answers, "--data", dir}, dry...)...)), " ")
		for _, line := range shown {
			if !strings.Contains(out, line) {
				t.Errorf("%v does not print %q:\n%s", dry, line, out)
			}
		}
	}
	// Next year's sheet has the same yards.
	next := file("next.csv", "Date,Mill,Ridge,Total\n2026-07-14,9,5,14\n")
	refused(t, exitFailed, []string{"wide: yard across, cells supers", "--as-last-time"}, "import", next, "--kind", "pulls", "--data", dir)
	if out := must(t, "import", next, "--kind", "pulls", "--as-last-time", "--data", dir); !strings.Contains(out, "2 pull") {
		t.Errorf("%s", out)
	}
}

// What was answered for one sheet is listed for the next, and used where that is said.
func TestTheAnswersOfTheLastSheetAreListedBeforeTheyAreUsed(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	file := sheets(t)
	answers := file("answers.json", `{"make_seasons": true, "fixed": {"super_kind": "deep"},
		"names": {"yard": {"*": {"create": {}}}, "super_kind": {"deep": {"create": {"tare_kg": 13, "usual_net_kg": 27, "fullest_net_kg": 36}}}}}`)
	must(t, "import", file("2025.csv", "Date,Yard,Supers\n2025-07-14,Mill,12\n"), "--kind", "pulls", "--mapping", answers, "--data", dir)
	next := file("2026.csv", "Date,Yard,Supers\n2026-07-14,Birch,12\n")
	listed := []string{"2025.csv", "--as-last-time", "super_kind: deep in all rows", "yard *: set up", "make_seasons"}
	refused(t, exitFailed, append(listed, "nothing was stored"), "import", next, "--kind", "pulls", "--data", dir)
	refused(t, exitFailed, append(listed, "nothing was stored"), "import", next, "--kind", "pulls", "--dry-run", "--data", dir)
	if out := must(t, "import", next, "--kind", "pulls", "--as-last-time", "--data", dir); !strings.Contains(out, "1 pull") {
		t.Errorf("%s", out)
	}
}
