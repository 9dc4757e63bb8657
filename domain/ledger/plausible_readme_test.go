package ledger

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func TestTheReadmeSaysWhatFiguresCanBe(t *testing.T) {
	t.Parallel()
	figure := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	var table strings.Builder
	table.WriteString("| quantity | can be | usual | source of the usual range |\n|---|---|---|---|\n")
	for _, q := range slices.Sorted(maps.Keys(plausibles)) {
		p := plausibles[q]
		fmt.Fprintf(&table, "| %s | %s to %s | %s to %s | %s |\n", q, figure(p.least), figure(p.most), figure(p.low), figure(p.high), p.source)
		if p.low < p.least || p.high > p.most || p.low >= p.high || p.source == "" {
			t.Errorf("%s: %+v is no range with its source", q, p)
		}
	}
	readme, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(readme), "<!-- begin plausible -->\n")
	if got, _, _ := strings.Cut(rest, "<!-- end plausible -->"); got != table.String() {
		t.Errorf("the table of README.md is to be\n%s", table.String())
	}
}
