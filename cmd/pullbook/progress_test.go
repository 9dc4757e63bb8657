package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pullbook/db/progress"
)

func TestALineSaysHowFarWorkIs(t *testing.T) {
	for _, c := range []struct {
		doing string
		state progress.State
		want  string
	}{
		{"Opening Fern Gully", progress.State{Step: progress.Read}, "Opening Fern Gully: 0 entries read"},
		{"Auditing Fern Gully", progress.State{Step: progress.Checked, Done: 430_080, Of: 1_000_000, Left: 2800 * time.Millisecond}, "Auditing Fern Gully: 430,080 of 1,000,000 entries checked, 3 s left"},
		{"Exporting Fern Gully", progress.State{Step: progress.Tabled, Done: 3, Of: 11, Left: 200 * time.Millisecond}, "Exporting Fern Gully: 3 of 11 tables written, 1 s left"},
		{"Restoring", progress.State{Step: progress.Loaded, Done: 119_999_999, Of: 310_000_001, Left: 150 * time.Second}, "Restoring: 119 of 311 MB loaded, 3 min left"},
		{"Bringing in pulls.csv", progress.State{Step: progress.Rows, Done: 12_000}, "Bringing in pulls.csv: 12,000 rows read"},
	} {
		if got := progressLine(c.doing, c.state); got != c.want {
			t.Errorf("%q\nwant %q", got, c.want)
		}
	}
}

// A line that wraps around on a terminal of 80 columns cannot be taken back.
func TestALineIsNeverWiderThanATerminal(t *testing.T) {
	long := progressLine("Bringing in "+strings.Repeat("ñ", 30), progress.State{Step: progress.Replayed, Done: 1_000_000, Of: 1_000_000, Left: time.Hour})
	if n := len([]rune(long)); n != 79 || !strings.HasSuffix(long, "…") {
		t.Errorf("%d columns: %s", n, long)
	}
}

func TestWhatIsLoggedStandsAboveTheLine(t *testing.T) {
	var screen strings.Builder
	line := &statusLine{out: &screen}
	fmt.Fprintln(line, "one")
	line.show("half")
	fmt.Fprintln(line, "two")
	line.show("half") // nothing is drawn that stands there
	line.show("")
	fmt.Fprintln(line, "three")
	if got, want := screen.String(), "one\n"+clearLine+"half"+clearLine+"two\nhalf"+clearLine+"three\n"; got != want {
		t.Errorf("%q\nwant %q", got, want)
	}
}

// A large sheet is walked twice, and by then everybody knows how many rows it has.
func TestTheRowsOfASheetAreKnownOnceTheyWereReadOnce(t *testing.T) {
	var told []string
	rows := rowsTold(func(step progress.Step, done, of int64) { told = append(told, fmt.Sprint(step, done, of)) })
	for _, n := range []int64{1000, 2000, 2500, 1000, 2000, 2500} {
		rows(n)
	}
	if got, want := strings.Join(told, "; "), "rows1000 0; rows2000 0; rows2500 0; stored1000 2500; stored2000 2500; stored2500 2500"; got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
}
