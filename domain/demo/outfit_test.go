package demo_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"testing"
	"time"
	_ "time/tzdata"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// prairie has summer time, so that local days of 23 and 25 hours are met.
var prairie = func() *time.Location {
	location, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		panic(err)
	}
	return location
}()

func open(t testing.TB, b *demo.Book) *ledger.Book {
	t.Helper()
	book, err := ledger.Open(b.Location, b.Recorded())
	if err != nil {
		t.Fatal(err)
	}
	return book
}

func kinds(b *demo.Book) map[ledger.Kind]int {
	n := map[ledger.Kind]int{}
	for _, e := range b.Entries {
		n[e.Kind]++
	}
	return n
}

func TestTheSameOptionsGiveTheSameEntriesDownToTheirIDs(t *testing.T) {
	t.Parallel()
	first, second := demo.Example(prairie), demo.Example(prairie)
	a, errA := json.Marshal(first.Entries)
	b, errB := json.Marshal(second.Entries)
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	if string(a) != string(b) || !reflect.DeepEqual(first.Delays, second.Delays) {
		t.Error("two books made from the same options differ")
	}
	if c := demo.Outfit(demo.Ordinary(2)); c.Entries[0].ID == demo.Outfit(demo.Ordinary(3)).Entries[0].ID {
		t.Error("two seeds give the same ids")
	}
}

// The counts are those the demonstration promises: about 30 yards, about 3,000
// supers within 5 %, 60 runs with their loads, several hundred readings.
func TestTheDemoIsAsLargeAsPromised(t *testing.T) {
	t.Parallel()
	made := demo.Example(prairie)
	supers, runs, loads, readings := 0, 0, 0, 0
	for _, e := range made.Entries {
		if e.OccurredAt.In(prairie).Year() != 2026 {
			continue
		}
		switch x := e.Body.(type) {
		case *ledger.Pull:
			for _, c := range x.Supers {
				supers += c.Supers
			}
		case *ledger.Run:
			runs++
		case *ledger.Load:
			loads++
		case *ledger.Reading:
			readings++
		}
	}
	for _, c := range []struct {
		what      string
		got       int
		low, high int
	}{
		{"yards", kinds(made)[ledger.KindYard], 28, 32},
		{"supers of 2026", supers, 2850, 3150},
		{"runs of 2026", runs, 60, 60},
		{"loads of 2026", loads, 500, 650},
		{"readings of 2026", readings, 300, 999},
		{"entries", len(made.Entries), 2000, 7000},
	} {
		if c.got < c.low || c.got > c.high {
			t.Errorf("%s: %d, promised %d to %d", c.what, c.got, c.low, c.high)
		}
	}
}

func TestEveryKindOfEntryIsInTheDemo(t *testing.T) {
	t.Parallel()
	n := kinds(demo.Example(prairie))
	for _, k := range ledger.Kinds() {
		if n[k] == 0 && k != ledger.KindImport && k != ledger.KindOperator && !k.Files() { // it has no older records, no outfit yet, and no papers or pictures
			t.Errorf("the demo has no %s", k)
		}
	}
}

// What the demo's entries say must be fit to go into the book one by one, as a
// program would send them.
func TestTheBookTakesEveryEntryInTheOrderOfRecording(t *testing.T) {
	t.Parallel()
	made := demo.Example(prairie)
	book := open(t, &demo.Book{Location: prairie})
	now := time.Date(2026, time.November, 20, 0, 0, 0, 0, prairie)
	for _, e := range made.Recorded() {
		if err := quality.Complete(book, e); err != nil {
			t.Fatal(err)
		}
		if err := book.Check(e, now); err != nil {
			t.Fatalf("entry %d, a %s: %v", e.Number, e.Kind, err)
		}
		if _, err := book.Append(e); err != nil {
			t.Fatal(err)
		}
		if !e.OccurredAt.Before(now) {
			t.Errorf("entry %d happens on %s, after the demo is shown", e.Number, e.OccurredAt)
		}
	}
	if !book.State().Totals().Balanced() {
		t.Errorf("grams are lost: %+v", book.State().Totals())
	}
}

// What really happens in a season, each at least once in the demo.
func TestTheDemoHasWhatReallyHappens(t *testing.T) {
	t.Parallel()
	made := demo.Example(prairie)
	book := open(t, made)
	happened := map[string]bool{}
	yards := map[ledger.ID]map[ledger.ID]bool{}
	for i, e := range made.Entries {
		happened["an entry that is not marked as import"] = happened["an entry that is not marked as import"] || e.Via == ""
		if e.Replaces != (ledger.ID{}) && e.Reason != "" {
			happened["a "+map[bool]string{true: "withdrawal", false: "correction"}[e.Kind == ledger.KindWithdrawal]+" with its reason"] = true
		}
		switch x := e.Body.(type) {
		case *ledger.Movement:
			happened["a drum poured back"] = happened["a drum poured back"] || x.From.Kind == ledger.PlaceContainer
			happened["an entry five days late"] = happened["an entry five days late"] || made.Delays[i] == 5*24*time.Hour
		case *ledger.Load:
			happened["a load of 29 and 29 frames"] = happened["a load of 29 and 29 frames"] || x.FramesLeft == 29 && x.FramesRight == 29
		case *ledger.Pull:
			happened["a pull that was not weighed"] = happened["a pull that was not weighed"] || x.GrossG == 0
		case *ledger.Reading:
			happened["a reading over 20 %"] = happened["a reading over 20 %"] || x.Moisture != nil && x.Moisture.Pct > 20
		case *ledger.Calibration:
			happened["an instrument found wrong"] = happened["an instrument found wrong"] || !x.Good()
		case *ledger.RunSupers:
			if yards[x.RunID] == nil {
				yards[x.RunID] = map[ledger.ID]bool{}
			}
			yards[x.RunID][ledger.Named[ledger.Pull](book, x.PullID).YardID] = true
		}
	}
	for _, y := range yards {
		happened["a run with two yards' boxes"] = happened["a run with two yards' boxes"] || len(y) == 2
	}
	for _, f := range book.State().Flags() {
		happened["a flag accepted"] = happened["a flag accepted"] || f.Accepted != nil
		happened["a tank overdrawn and not cured"] = happened["a tank overdrawn and not cured"] || f.Code == ledger.Overdrawn && f.Accepted == nil
	}
	book.InForceOf(ledger.KindTank, func(id ledger.ID, _ *ledger.Entry) bool {
		h, _ := book.State().Holder(id)
		happened["honey in a tank when the book is shown"] = happened["honey in a tank when the book is shown"] || h.Grams > 500_000
		return true
	})
	for _, what := range []string{
		"an entry that is not marked as import", "a correction with its reason", "a withdrawal with its reason",
		"a drum poured back", "an entry five days late", "a load of 29 and 29 frames", "a pull that was not weighed",
		"a reading over 20 %", "an instrument found wrong", "a run with two yards' boxes", "a flag accepted",
		"a tank overdrawn and not cured", "honey in a tank when the book is shown",
	} {
		if !happened[what] {
			t.Errorf("the demo lacks %s", what)
		}
	}
}

// The late entry cures what the book had to ask about while the sheet lay in
// the truck.
func TestTheLateEntryCuresAnOverdrawnTank(t *testing.T) {
	t.Parallel()
	entries := demo.Example(prairie).Recorded()
	for i, e := range entries {
		if e.Via != "" {
			continue
		}
		without, err := ledger.Open(prairie, entries[:i])
		if err != nil {
			t.Fatal(err)
		}
		with, err := ledger.Open(prairie, entries[:i+1])
		if err != nil {
			t.Fatal(err)
		}
		if short(without) == 0 || short(with) != 0 {
			t.Errorf("%d g are missing before the late entry and %d g after it; some before and none after were meant", short(without), short(with))
		}
	}
}

func short(b *ledger.Book) int64 { return b.State().Totals().Unexplained }

// With no errors planted, the plain flags must keep quiet: at most one for 500
// entries over twenty seasons.
func TestSeasonsWithoutMistakesRaiseFewFlags(t *testing.T) {
	t.Parallel()
	entries, flags := 0, map[ledger.Code]int{}
	total := 0
	for seed := range uint64(20) {
		b := demo.Outfit(demo.Ordinary(seed))
		book := open(t, b)
		entries += len(b.Entries)
		for _, f := range book.State().Flags() {
			flags[f.Code]++
			total++
		}
		if !book.State().Totals().Balanced() {
			t.Errorf("seed %d: grams are lost", seed)
		}
	}
	t.Logf("%d entries of 20 seasons, %d flags: %v", entries, total, flags)
	if total*500 > entries {
		t.Errorf("%d flags on %d entries is more than one for 500: %v", total, entries, flags)
	}
}

// Yields are those of the trade (common practice): a medium of 35 to 50 lb and
// a deep of 60 to 75 lb net, 1 to 2 % wax, 1 to 5 % lost between the boxes and
// the tank, 40 to 100 kg a hive on good land.
func TestYieldsAreThoseOfTheTrade(t *testing.T) {
	t.Parallel()
	for seed := range uint64(10) {
		b := demo.Outfit(demo.Ordinary(seed))
		var supers, hives int
		var trueG, waxG, outG int64
		for _, e := range b.Entries {
			switch x := e.Body.(type) {
			case *ledger.Pull:
				trueG += b.Truth.HoneyG[e.ID]
				for _, c := range x.Supers {
					supers += c.Supers
				}
			case *ledger.HiveCount:
				if x.Name == "main flow" {
					hives += x.Hives
				}
			case *ledger.RunEnd:
				waxG += x.WaxG
			case *ledger.Movement:
				if x.From.Kind == ledger.PlaceRun {
					outG += x.MassG
				}
			}
		}
		for _, c := range []struct {
			what           string
			got, low, high float64
		}{
			{"kg a super", kg(trueG) / float64(supers), 15.5, 21},
			{"kg a hive", kg(trueG) / float64(hives), 40, 100},
			{"wax, % of honey", 100 * float64(waxG) / float64(outG), 1, 2},
			{"lost between boxes and tank, %", 100 * (1 - float64(outG)/float64(trueG)), 1, 5},
		} {
			if c.got < c.low || c.got > c.high {
				t.Errorf("seed %d: %s is %.2f, the trade's is %g to %g", seed, c.what, c.got, c.low, c.high)
			}
		}
	}
}

func kg(grams int64) float64 { return float64(grams) / 1000 }

// Readings must err as their instruments do and no more: their deviations from
// the truth, in units of the uncertainty that the book keeps with them, have
// the standard deviation one.
func TestReadingsErrAsTheirInstrumentsDo(t *testing.T) {
	t.Parallel()
	var n, sum, squares float64
	for seed := range uint64(8) {
		b := demo.Outfit(demo.Ordinary(seed))
		for _, e := range b.Entries {
			r, ok := e.Body.(*ledger.Reading)
			if !ok || r.Moisture == nil || r.Laboratory != "" {
				continue
			}
			z := (r.Moisture.Pct - b.Truth.MoisturePct[e.ID]) / r.Moisture.StdUncertaintyPct
			n, sum, squares = n+1, sum+z, squares+z*z
		}
	}
	if mean := sum / n; mean < -0.1 || mean > 0.1 {
		t.Errorf("readings are off by %.3f standard deviations in the mean", mean)
	}
	if v := squares / n; v < 0.8 || v > 1.2 {
		t.Errorf("the variance of %g readings is %.3f of what their uncertainty says", n, v)
	}
}

// A dip must be as good as its uncertainty says, too.
func TestDipsErrAsTheirUncertaintySays(t *testing.T) {
	t.Parallel()
	var n, squares float64
	for seed := range uint64(8) {
		b := demo.Outfit(demo.Ordinary(seed))
		for _, e := range b.Entries {
			if d, ok := e.Body.(*ledger.Stocktake); ok {
				z := float64(d.MassG-b.Truth.LevelG[e.ID]) / float64(d.UncertaintyG)
				n, squares = n+1, squares+z*z
			}
		}
	}
	if v := squares / n; v < 0.5 || v > 1.3 {
		t.Errorf("the variance of %g dips is %.3f of what their uncertainty says", n, v)
	}
}

// In small seasons of few runs a tank may only ever get honey out of drums: it is
// dipped all the same. The first of these once could not be told.
func TestASeasonMayBeSmall(t *testing.T) {
	t.Parallel()
	small := []demo.Options{{Seed: 7, FirstYear: 2026, Seasons: 1, Yards: 8, Supers: 300, Runs: 8}}
	for seed := range uint64(40) {
		runs := 2 + int(seed%11)
		small = append(small, demo.Options{Seed: seed, Yards: 3 + int(seed%7), Supers: (30 + int(seed)) * runs, Runs: runs})
	}
	for _, o := range small {
		b := open(t, demo.Outfit(o))
		if totals := b.State().Totals(); !totals.Balanced() || totals.Harvested == 0 {
			t.Errorf("%+v: a season of %+v", o, totals)
		}
	}
}

func TestSizedBooksHaveAboutTheEntriesAskedFor(t *testing.T) {
	t.Parallel()
	for _, want := range []int{1_000, 10_000, 50_000, 200_000} {
		t.Run(fmt.Sprint(want), func(t *testing.T) {
			t.Parallel()
			b := demo.Outfit(demo.Sized(1, want))
			if got := len(b.Entries); float64(got) < 0.85*float64(want) || float64(got) > 1.2*float64(want) {
				t.Errorf("%d entries were asked for and %d came", want, got)
			}
			if want <= 10_000 && !open(t, b).State().Totals().Balanced() {
				t.Error("grams are lost")
			}
		})
	}
}

func BenchmarkOutfit(b *testing.B) {
	for _, size := range []int{2_500, 50_000, 1_000_000} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			o := demo.Sized(1, size)
			n := 0
			for b.Loop() {
				n = len(demo.Outfit(o).Entries)
			}
			b.ReportMetric(float64(n), "entries")
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
		})
	}
}

// One buyer of the demo asks for a parameter of its own: lots have results of it, and are
// judged by it.
func TestABuyerOfTheDemoAsksForAParameterOfItsOwn(t *testing.T) {
	t.Parallel()
	book := open(t, demo.Example(prairie))
	named := book.OwnParameters()
	if len(named) != 1 {
		t.Fatalf("rule sets name %+v", named)
	}
	results, judged, said := 0, 0, map[string]int{}
	for e := range book.RecordedOf(ledger.KindReading, 0) {
		for _, m := range e.Body.(*ledger.Reading).Measured {
			if m.Parameter == named[0].Name {
				results++
			}
		}
	}
	for e := range book.RecordedOf(ledger.KindCheck, 0) {
		if len(e.Body.(*ledger.Check).RuleSets) > 1 {
			judged++
		}
	}
	const on = "2026-11-20"
	for e := range book.RecordedOf(ledger.KindRuleSet, 0) {
		if len(e.Body.(*ledger.RuleSet).Parameters) == 0 {
			continue
		}
		set, err := book.RuleSet(ledger.RuleSetRef{RuleSetID: e.ID}, on)
		if err != nil {
			t.Fatal(err)
		}
		for lot := range book.RecordedOf(ledger.KindLot, 0) {
			g, err := quality.Gather(book, lot.ID, on)
			if err != nil {
				t.Fatal(err)
			}
			verdicts, err := quality.Judge(book, g, []ledger.Resolved{set}, on, standard.DecisionRule{})
			if err != nil {
				t.Fatal(err)
			}
			said[verdicts[0].Outcome]++
		}
	}
	t.Logf("%d results of %s, lots by outcome %v, %d checks by the buyer's terms", results, named[0].SaidLabel(), said, judged)
	if results < 5 || said["meets"] < 5 || said["not measured"] == 0 || judged == 0 {
		t.Errorf("%d results, lots by outcome %v, %d checks", results, said, judged)
	}
}
