package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"time"

	"pullbook/db/local"
)

// How large the table's books and tables are.
const (
	tableLate   = 120_000
	tableImport = 1_000_000
	tableFeeds  = 1_000_000
)

// speeds measures all that the table of speeds tells, one after the other, and writes it in
// Markdown as it comes.
func speeds(ctx context.Context, each time.Duration, rounds int) error {
	fmt.Printf("Measured on %s on %d cores that client, service and database shared.\n\n", time.Now().Format("2 January 2006"), runtime.NumCPU())
	fmt.Printf("Readings of one tank, in order of time. `go run ./cmd/measure -for %s -rounds %d`:\n\n", each, rounds)
	if err := withServer(ctx, func(s *local.Server) error { return writes(ctx, s, os.Stdout, each, rounds) }); err != nil {
		return err
	}
	fmt.Printf("\nEntries of a book of %s that are recorded late, in microseconds until the answer: half came sooner than the first figure, 99 of 100 sooner\nthan the second (of fewer than 100 the longest). `go run ./cmd/measure -for %s -late %d`:\n\n",
		thousands(tableLate), each, tableLate)
	if err := withServer(ctx, func(s *local.Server) error { return late(ctx, s, os.Stdout, tableLate, each) }); err != nil {
		return err
	}
	fmt.Println()
	speedHead()
	if err := withServer(ctx, func(s *local.Server) error { return imports(ctx, s, tableImport, rounds) }); err != nil {
		return err
	}
	if err := withServer(ctx, func(s *local.Server) error { return feeds(ctx, s, tableFeeds, rounds) }); err != nil {
		return err
	}
	return benchmarks(ctx)
}

// speed is a row of the table: what is measured, the floor beside it, and how many times as
// fast as the floor it is.
type speed struct{ what, measured, floor, ratio, command string }

func speedHead() {
	fmt.Println("| what | measured | floor | times the floor | command |\n| --- | --- | --- | --- | --- |")
}

func (s speed) print() {
	fmt.Printf("| %s | %s | %s | %s | `%s` |\n", s.what, s.measured, s.floor, s.ratio, s.command)
}

// benchmark is a row that go test measures.
type benchmark struct {
	what      string
	arguments string
	figures   []figure
}

// figure is a metric of a benchmark's, by its name without Benchmark, or what an expression
// finds in the output.
type figure struct{ name, unit string }

// found is the unit of a figure that an expression finds: it is written as it is.
const found = ""

func figures(unit string, names ...string) []figure {
	return each(names, func(name string) figure { return figure{name, unit} })
}

const (
	lateArguments   = "-run xxx -bench ^BenchmarkLate -cpu 1 ./domain/ledger"
	screenArguments = "-run xxx -bench Screens -benchtime 20x ./api"
	ruleSets        = "-run xxx -bench SeasonAgainst -benchtime 5x ./api"
)

// table is what go test measures, in order. Rows of the same arguments are of one run.
var table = []benchmark{
	{"replay of 1,000,000 entries, with estimates: entries a second of processor time", "-run xxx -bench Replay/1000000 -cpu 1 ./domain/ledger", figures("entries/cpu-s", "Replay/1000000")},
	{"opening a book: 10,000, 100,000, 1,000,000 entries", "-run xxx -bench Open -cpu 1 ./domain/ledger", figures("ns/op", "Open/10000", "Open/100000", "Open/1000000")},
	{"the same cold, from the database: 10,000, 100,000, 500,000, 1,000,000 entries", "-run xxx -bench OpenFromTheDatabase -benchtime 3x ./db/books",
		figures("ns/op", "OpenFromTheDatabase/10000", "OpenFromTheDatabase/100000", "OpenFromTheDatabase/500000", "OpenFromTheDatabase/1000000")},
	{"memory of an entry: itself, and what the book adds", "-run xxx -bench Memory ./domain/ledger", []figure{{"Memory", "B/entry-itself"}, {"Memory", "B/entry-added"}}},
	{"a reading taken into a book of 120,000 entries that happened 0, 10, 100, 1,000, 10,000, 100,000 entries before its end, without service and database", lateArguments, lateFigures("reading")},
	{"a transfer", lateArguments, lateFigures("transfer")},
	{"a fill", lateArguments, lateFigures("fill")},
	{"into a book of 50,000 entries: a reading a day late, a transfer 25,000 entries back", lateArguments,
		figures("µs/entry", "LateInASeason/reading_a_day_late", "LateInASeason/transfer_25,000_entries_back")},
	{"a day's 500 entries that waited on a device, each; the same 500 in order", "-run xxx -bench DayThatWaited -cpu 1 ./domain/ledger", figures("µs/entry", "DayThatWaited/waited", "DayThatWaited/in_order")},
	{"memory for books as known at earlier moments: 500 moments of 20,000 entries asked for at once", "-count 1 -run ManyMoments -v ./db/books", figures(found, `(\d+ MiB) more are in use`)},
	{"season report of 50,000 entries: book open, and with the book read anew", "-run xxx -bench Season ./domain/season", figures("ns/op", "Season/book_open", "Season/cold")},
	{"refractive index to moisture", "-run xxx -bench MoistureFromRefractiveIndex ./domain/honey", figures("ns/op", "MoistureFromRefractiveIndex")},
	{"HMF over a year of ten-minute readings", "-run xxx -bench ExposureOverAYear ./domain/heat", figures("ns/op", "ExposureOverAYear")},
	{"a lot against all published rule sets", "-run xxx -bench LotAgainstEveryRuleSet$ ./domain/standard", figures("ns/op", "LotAgainstEveryRuleSet")},
	{"a season's 500 lots against all rule sets through the interface: nothing changed, right after an entry", ruleSets,
		figures("ns/op", "SeasonAgainstEveryRuleSet/unchanged/v1/reports/verdicts", "SeasonAgainstEveryRuleSet/changed/v1/reports/verdicts")},
	{"how long those lots keep, by all rule sets: nothing changed, right after an entry", ruleSets,
		figures("ns/op", "SeasonAgainstEveryRuleSet/unchanged/v1/reports/keeping", "SeasonAgainstEveryRuleSet/changed/v1/reports/keeping")},
	{"trace of one drum among 50,000 entries: of the middle, the last; where one tank was never emptied", "-run xxx -bench TraceOfOneDrum ./domain/trace",
		figures("ns/op", "TraceOfOneDrum/many_houses/middle", "TraceOfOneDrum/many_houses/last", "TraceOfOneDrum/one_tank_never_emptied/middle", "TraceOfOneDrum/one_tank_never_emptied/last")},
	{"a yard followed forward among 50,000 entries; where one tank was never emptied", "-run xxx -bench Recall ./domain/trace", figures("ns/op", "Recall/many_houses", "Recall/one_tank_never_emptied")},
	{"screens of a season of 50,000 entries, nothing recorded since: " + strings.Join(screens, ", "), screenArguments, screenFigures("unchanged")},
	{"the same right after an entry", screenArguments, screenFigures("changed")},
	{"the recording page on a phone four times slower than this machine, nothing kept: until its tiles can be touched", "-run xxx -bench FirstScreen -benchtime 3x ./api/browsertest/recording", figures("s/screen", "FirstScreen")},
	{"500 entries that waited on a device without network, sent together, until all are in the book", "-run xxx -bench SendWhatWaited -benchtime 3x ./api/browsertest/recording", figures("s/500", "SendWhatWaited")},
	{"the recording page, with all its scripts, compressed", "-count 1 -run RecordingPageIsLight -v ./api", figures(found, `recording page: (\d+ bytes compressed in \d+ parts)`)},
}

var screens = []string{"today", "season", "map", "tanks", "tank", "plot", "yard", "findings", "balance", "lots", "lot", "labels", "print", "blank"}

func screenFigures(when string) []figure {
	return each(screens, func(name string) figure { return figure{"Screens/" + name + "/" + when, "ns/op"} })
}

func lateFigures(kind string) []figure {
	return each([]int{0, 10, 100, 1_000, 10_000, 100_000}, func(places int) figure { return figure{fmt.Sprint("Late/", kind, "/", places), "µs/entry"} })
}

// benchmarks runs what go test measures.
func benchmarks(ctx context.Context) error {
	outputs := map[string]string{}
	for _, b := range table {
		if outputs[b.arguments] == "" {
			out, err := exec.CommandContext(ctx, "go", append([]string{"test", "-timeout", "30m"}, strings.Fields(b.arguments)...)...).CombinedOutput()
			if err != nil {
				return fmt.Errorf("go test %s: %w: %s", b.arguments, err, out)
			}
			outputs[b.arguments] = string(out)
		}
		measured, err := b.read(outputs[b.arguments])
		if err != nil {
			return fmt.Errorf("go test %s: %w", b.arguments, err)
		}
		speed{b.what, measured, "-", "-", "go test " + b.arguments}.print()
	}
	return nil
}

// read gives the figures as the table says them.
func (b benchmark) read(output string) (string, error) {
	metrics := metricsIn(output)
	said := make([]string, len(b.figures))
	for i, f := range b.figures {
		if f.unit == found {
			m := regexp.MustCompile(f.name).FindStringSubmatch(output)
			if m == nil {
				return "", fmt.Errorf("nothing is like %q: %s", f.name, output)
			}
			said[i] = m[1]
			continue
		}
		value, known := metrics[f]
		if !known {
			return "", fmt.Errorf("no %s of %s: %s", f.unit, f.name, output)
		}
		said[i] = say(value, f.unit)
	}
	return strings.Join(said, ", "), nil
}

var processors = regexp.MustCompile(`-\d+$`)

// metricsIn reads what benchmarks report.
func metricsIn(output string) map[figure]float64 {
	metrics := map[figure]float64{}
	for lines := bufio.NewScanner(bytes.NewReader([]byte(output))); lines.Scan(); {
		name, is := strings.CutPrefix(lines.Text(), "Benchmark")
		words := strings.Fields(name)
		if !is || len(words) < 4 {
			continue
		}
		name = processors.ReplaceAllString(words[0], "")
		for i := 2; i+1 < len(words); i += 2 {
			if value, err := strconv.ParseFloat(words[i], 64); err == nil {
				metrics[figure{name, words[i+1]}] = value
			}
		}
	}
	return metrics
}

// say gives a metric in the unit that suits it.
func say(value float64, unit string) string {
	base, _, _ := strings.Cut(unit, "/")
	seconds := map[string]float64{"ns": 1e-9, "µs": 1e-6, "ms": 1e-3, "s": 1}[base]
	if seconds == 0 {
		return strings.TrimSpace(thousands(value) + " " + map[string]string{"B": "bytes"}[base])
	}
	value *= seconds
	for _, u := range []struct {
		name string
		size float64
	}{{"s", 1}, {"ms", 1e-3}, {"µs", 1e-6}} {
		if value >= u.size {
			return short(value/u.size) + " " + u.name
		}
	}
	return short(value*1e9) + " ns"
}

// short is a number with a decimal where it is small.
func short(f float64) string {
	if f < 10 {
		return fmt.Sprintf("%.1f", f)
	}
	return fmt.Sprintf("%.0f", f)
}
