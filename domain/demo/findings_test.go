package demo_test

import (
	"flag"
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
)

// findingsREADME tells of the findings with the figures measured here.
const findingsREADME = "../ledger/README.md"

var update = flag.Bool("update", false, "write the measured tables into the README of domain/ledger")

// seeds is how many made-up seasons each figure rests on; believedSeeds how many
// of them what is expected is compared with the truth in, which is slow. The
// thresholds were set on seeds from 0 on, so the figures are of others.
const (
	seeds         = 20
	believedSeeds = 4
	firstSeed     = 1000
)

// cause says which finding, with which explanation, names a mistake for what it
// is. No explanation is asked for where why is empty.
type cause struct {
	code ledger.Code
	why  ledger.Why
}

var causes = map[Mistake][]cause{
	ReadingOnWrongTank: {{ledger.ReadingUnexpected, ledger.OtherTank}, {ledger.ReadEmpty, ledger.OtherTank}},
	HoseOnWrongTank: {{ledger.StocktakeFarOff, ledger.HoseHere}, {ledger.StocktakeFarOff, ledger.HoseElsewhere},
		{ledger.ReadingUnexpected, ledger.HoseHere}, {ledger.ReadingUnexpected, ledger.HoseElsewhere}},
	DigitSlip:          {{ledger.ReadingUnexpected, ledger.DigitSlip}},
	LoadTwice:          {{ledger.LoadTwice, ""}},
	RunTwice:           {{ledger.MovementTwice, ""}, {ledger.RunYieldUnusual, ledger.Twice}, {ledger.RunTooRich, ledger.Twice}},
	PoundsAsKilograms:  {{ledger.RunTooRich, ledger.Pounds}, {ledger.RunYieldUnusual, ledger.Pounds}, {ledger.StocktakeFarOff, ledger.Pounds}},
	GrossAsNet:         {{ledger.GrossAsNet, ""}, {ledger.NetUnusual, ledger.TareInNet}},
	DrumFarOff:         {{ledger.NetUnusual, ""}},
	StocktakeFarOff:    {{ledger.StocktakeFarOff, ""}},
	NeverExtracted:     {{ledger.NeverExtracted, ""}},
	RunWithoutPull:     {{ledger.RunWithoutSupers, ""}},
	WarmWithoutLog:     {{ledger.WarmWithoutLog, ""}},
	ReadingOnSpareTank: {{ledger.ReadEmpty, ledger.OtherTank}},
	HoseOnSpareTank:    {{ledger.StocktakeFarOff, ledger.HoseHere}, {ledger.Overdrawn, ledger.HoseHere}, {ledger.ReadEmpty, ledger.OtherTank}},
	DrumInPounds:       {{ledger.PoundsForKilograms, ""}},
	PailInPounds:       {{ledger.PoundsForKilograms, ""}},
	ToteInPounds:       {{ledger.PoundsForKilograms, ""}},
	LoadsOnOneRun:      {{ledger.MoreSpun, ledger.OtherRun}},
}

// concerns reports whether a finding points at what was planted.
func concerns(f *ledger.Flag, p Planted) bool {
	return f.Entry == p.Entry || f.On.ID == p.Entry || slices.Contains(f.Entries, p.Entry)
}

// named reports whether a finding names a mistake for what it is.
func named(f *ledger.Flag, p Planted) bool {
	return slices.ContainsFunc(causes[p.Mistake], func(c cause) bool {
		return f.Code == c.code && (c.why == "" || slices.ContainsFunc(f.Likely, func(e ledger.Explanation) bool {
			return e.Why == c.why && (p.RightTank == ledger.ID{} || e.Place.ID == p.RightTank || e.Entry == p.Entry)
		}))
	})
}

// season is what was found in one made-up season, as it was and with each
// mistake planted.
type season struct {
	entries int
	clean   []*ledger.Flag
	planted map[Mistake]outcome
}

type outcome struct {
	made         bool
	size         float64
	unit         string
	found, named bool
}

type findingKey struct {
	code  ledger.Code
	entry ledger.ID
}

func keys(flags []*ledger.Flag) map[findingKey]bool {
	out := map[findingKey]bool{}
	for _, f := range flags {
		out[findingKey{f.Code, f.Entry}] = true
	}
	return out
}

func findings(t testing.TB, b *demo.Book) []*ledger.Flag {
	book, err := ledger.Open(b.Location, b.Recorded())
	if err != nil {
		t.Error(err)
		return nil
	}
	return book.State().Findings()
}

func measure(t testing.TB, seed uint64) season {
	clean := demo.Outfit(demo.Ordinary(seed))
	s := season{len(clean.Entries), findings(t, clean), map[Mistake]outcome{}}
	anyway := keys(s.clean)
	for _, m := range Mistakes() {
		wrong, planted := Plant(clean, m, 1, seed)
		if len(planted) == 0 {
			continue
		}
		o := outcome{made: true, size: planted[0].Size, unit: planted[0].Unit}
		for _, f := range findings(t, wrong) {
			if !anyway[findingKey{f.Code, f.Entry}] && concerns(f, planted[0]) {
				o.found = true
				o.named = o.named || named(f, planted[0])
			}
		}
		s.planted[m] = o
	}
	return s
}

func falseAlarms(seasons []season) string {
	entries, found := 0, 0
	codes := map[ledger.Code]int{}
	worst := 0.0
	for _, s := range seasons {
		entries += s.entries
		found += len(s.clean)
		worst = max(worst, 500*float64(len(s.clean))/float64(s.entries))
		for _, f := range s.clean {
			codes[f.Code]++
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%d seasons of %d entries in all, no mistake planted: %d findings, that is %.2f in 500 entries (the most in one season: %.2f in 500).\n",
		len(seasons), entries, found, 500*float64(found)/float64(entries), worst)
	for _, c := range slices.Sorted(maps.Keys(codes)) {
		fmt.Fprintf(&b, "- %s: %d\n", c, codes[c])
	}
	return b.String()
}

func detection(seasons []season) string {
	var b strings.Builder
	b.WriteString("| mistake | seasons | size | found | named for what it is |\n|---|---|---|---|---|\n")
	for _, m := range Mistakes() {
		n, found, namedIt, least, most, unit := 0, 0, 0, math.Inf(1), 0.0, ""
		for _, s := range seasons {
			o := s.planted[m]
			if !o.made {
				continue
			}
			n++
			least, most, unit = min(least, o.size), max(most, o.size), o.unit
			if o.found {
				found++
			}
			if o.named {
				namedIt++
			}
		}
		fmt.Fprintf(&b, "| %s | %d | %.3g to %.3g %s | %d (%.0f %%) | %d (%.0f %%) |\n", m, n, least, most, unit,
			found, percent(found, n), namedIt, percent(namedIt, n))
	}
	return b.String()
}

func percent(k, n int) float64 { return 100 * float64(k) / float64(max(1, n)) }

// against is how what was expected lay to what was so.
type against struct {
	n, one, two int
	squares     float64
}

func (a *against) add(expected, sd, truth float64) {
	off := math.Abs(truth - expected)
	a.n++
	a.squares += off * off
	if off <= sd {
		a.one++
	}
	if off <= 2*sd {
		a.two++
	}
}

func (a *against) line(what, unit string) string {
	return fmt.Sprintf("| %s | %d | %.2f %s | %.0f %% | %.0f %% |\n", what, a.n, math.Sqrt(a.squares/float64(max(1, a.n))), unit, percent(a.one, a.n), percent(a.two, a.n))
}

// truthful holds what is expected of tanks just before they are read against
// their true moisture, and of lots just before the laboratory has them against
// what it finds.
func truthful(t testing.TB, tanks, hmf, diastase *against, seed uint64) {
	o := demo.Outfit(demo.Ordinary(seed))
	book, err := ledger.Open(o.Location, o.Recorded())
	if err != nil {
		t.Error(err)
		return
	}
	for i, e := range o.Entries {
		r, ok := e.Body.(*ledger.Reading)
		laboratory := ok && r.Laboratory != ""
		if !ok || !laboratory && (r.On.Kind != ledger.PlaceTank || i%3 > 0) {
			continue
		}
		on, at := r.On.ID, e.OccurredAt.Add(-time.Microsecond)
		s := book.StateAt(at)
		if laboratory {
			on = s.Lot(on).Containers[0]
		}
		b, known := s.BeliefAt(on, at)
		switch {
		case !known:
		case laboratory:
			for _, m := range r.Measured {
				switch m.Quantity {
				case "hmf_mg_per_kg":
					hmf.add(b.HMF().Mean, math.Hypot(b.HMF().StandardDeviation(), m.SD()), m.Value)
				case "diastase_gothe":
					diastase.add(b.Diastase().Mean, math.Hypot(b.Diastase().StandardDeviation(), m.SD()), m.Value)
				}
			}
		default:
			for _, truth := range o.Truth.Tanks[e.ID] {
				if truth.Tank == on {
					tanks.add(b.Moisture.Mean, b.Moisture.StandardDeviation(), truth.MoisturePct)
				}
			}
		}
	}
}

func holdsTrue(t testing.TB) string {
	var tanks, hmf, diastase against
	for seed := range uint64(believedSeeds) {
		truthful(t, &tanks, &hmf, &diastase, firstSeed+seed)
	}
	return "| expected | compared | root mean square error | within 1 SD | within 2 SD |\n|---|---|---|---|---|\n" +
		tanks.line("moisture of a tank, before it is read, against the truth", "points") +
		hmf.line("HMF of a lot, before the laboratory has it, against its result", "mg/kg") +
		diastase.line("diastase, likewise", "Gothe")
}

// twoAtATime does something n times, from 0, on two processors: seasons take memory.
func twoAtATime(n int, do func(i int)) {
	var work sync.WaitGroup
	turn := make(chan struct{}, 2)
	for i := range n {
		work.Go(func() {
			turn <- struct{}{}
			do(i)
			<-turn
		})
	}
	work.Wait()
}

// The figures in README.md are those that the code gives.
func TestREADMEHasTheFiguresMeasured(t *testing.T) {
	t.Parallel()
	seasons := make([]season, seeds)
	twoAtATime(seeds, func(i int) { seasons[i] = measure(t, firstSeed+uint64(i)) })
	text, err := os.ReadFile(findingsREADME)
	if err != nil {
		t.Fatal(err)
	}
	readme := string(text)
	for name, table := range map[string]string{
		"false alarms": falseAlarms(seasons), "detection": detection(seasons), "truth": holdsTrue(t),
	} {
		if old := within(t, readme, name); old != table && !*update {
			t.Errorf("the figures %q of README.md are not what is measured (go test ./domain/demo -run README -update writes them):\n%s", name, table)
		}
		readme = replaced(t, readme, name, table)
	}
	if *update {
		if err := os.WriteFile(findingsREADME, []byte(readme), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	found, entries := 0, 0
	for _, s := range seasons {
		found, entries = found+len(s.clean), entries+s.entries
	}
	if 500*found > entries {
		t.Errorf("%d findings in %d entries without a mistake: more than one in 500", found, entries)
	}
}
