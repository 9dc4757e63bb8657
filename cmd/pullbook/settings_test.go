package main

import (
	"cmp"
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
)

var update = flag.Bool("update", false, "write the table of settings into the README")

const (
	readme        = "README.md"
	settingsBegin = "<!-- settings -->\n"
	settingsEnd   = "<!-- /settings -->"
)

// The README's table is made from the program's own flags.
func TestTheReadmeListsEverySetting(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, begun := strings.Cut(string(text), settingsBegin)
	had, after, ended := strings.Cut(rest, settingsEnd)
	if !begun || !ended {
		t.Fatalf("the README has no %s and %s", strings.TrimSpace(settingsBegin), settingsEnd)
	}
	want := settingsTable(t)
	if had == want {
		return
	}
	if !*update {
		t.Fatalf("the README's settings are not the program's: run go test ./cmd/pullbook -run Readme -update\nwant:\n%s", want)
	}
	if err := os.WriteFile(readme, []byte(before+settingsBegin+want+settingsEnd+after), 0o644); err != nil {
		t.Fatal(err)
	}
}

// setting is one row: a flag as all commands that have it mean it.
type setting struct {
	flag     *kong.Flag
	commands []string
	// defaults are by value, with the commands that have it.
	defaults map[string][]string
}

func settingsTable(t *testing.T) string {
	t.Helper()
	var table strings.Builder
	table.WriteString("| flag | environment variable | default | what it does | commands |\n| --- | --- | --- | --- | --- |\n")
	all, leaves := settings(t)
	for _, s := range all {
		fmt.Fprintf(&table, "| `--%s` | %s | %s | %s | %s |\n", s.flag.Name, code(s.flag.Envs), s.defaultText(),
			strings.ReplaceAll(s.flag.Help, "|", `\|`), s.commandText(leaves))
	}
	return table.String()
}

// settings lists the program's flags, and its commands.
func settings(t *testing.T) (all []*setting, leaves []string) {
	t.Helper()
	parser, err := newParser()
	if err != nil {
		t.Fatal(err)
	}
	for _, leaf := range parser.Model.Leaves(true) {
		leaves = append(leaves, leaf.Path())
		for _, f := range leaf.Flags {
			at := slices.IndexFunc(all, func(s *setting) bool {
				return s.flag.Name == f.Name && slices.Equal(s.flag.Envs, f.Envs) && s.flag.Help == f.Help
			})
			if at < 0 {
				at, all = len(all), append(all, &setting{flag: f, defaults: map[string][]string{}})
			}
			all[at].commands = append(all[at].commands, leaf.Path())
			if f.HasDefault {
				all[at].defaults[f.Default] = append(all[at].defaults[f.Default], leaf.Path())
			}
		}
	}
	return all, leaves
}

// defaultText names the rarer default with the commands that have it; the only one too
// where others of the commands have none.
func (s *setting) defaultText() string {
	var words []string
	values := slices.SortedFunc(maps.Keys(s.defaults), func(a, b string) int {
		return cmp.Or(cmp.Compare(len(s.defaults[b]), len(s.defaults[a])), strings.Compare(a, b))
	})
	for i, value := range values {
		word := "`" + value + "`"
		if i > 0 || len(values) == 1 && len(s.defaults[value]) < len(s.commands) {
			word += " (" + strings.Join(s.defaults[value], ", ") + ")"
		}
		words = append(words, word)
	}
	return strings.Join(words, ", ")
}

// commandText names the commands that have a flag, or those few that have not.
func (s *setting) commandText(leaves []string) string {
	var without []string
	for _, leaf := range leaves {
		if !slices.Contains(s.commands, leaf) {
			without = append(without, leaf)
		}
	}
	switch {
	case len(without) > 3:
		return strings.Join(s.commands, ", ")
	case len(without) == 0:
		return "all"
	}
	return "all but " + strings.Join(without, ", ")
}

func code(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = "`" + w + "`"
	}
	return strings.Join(quoted, " or ")
}
