package season_test

import (
	"math"
	"testing"
	"time"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// handWorked is a small season, every figure of which is worked out by hand in
// the tests below.
type handWorked struct {
	*ledgertest.Outfit
	last                       ledger.ID
	mill, mill2, ridge, left   ledger.ID
	run1, run2, run3           ledger.ID
	lot, drum1, drum2, drum3   ledger.ID
	lastYearsPull, lastYearRun ledger.ID
}

// writeSeason writes:
//
//	2025: Mill 10 deep supers, run 0: 250 kg, all of it in the large tank still
//	2026: hives: Mill 25 after winter, 20 at the main flow; Ridge 10 after winter
//	  Mill  40 deeps 1 Jul, weighed 1,400 kg gross: 1,400 - 40 x 10 = 1,000 kg net
//	  Ridge 20 deeps 1 Jul, weighed   720 kg gross:   720 - 20 x 10 =   520 kg net
//	  Mill  10 deeps + 4 shallows 2 Jul, not weighed
//	  Ridge  6 deeps 3 Jul, still in the hot room
//	  run 1: Mill 40 + Ridge 20: 1,500 kg into the sump, on into the large tank
//	         60 frames, 60 frames, 58 frames: 178; wax 18 kg
//	  run 2: Mill 10 deeps + 4 shallows: 300,000 g into the large tank
//	  run 3: Mill 5 deeps too many, Ridge none: nothing out
//	  large tank: dip says 2,040 kg where the book has 2,050: 10 kg lost
//	  lot 26-01: drum 1 290 kg, drum 2 291 kg, drum 3 100 kg; drum 3 reworked
//	  drum 1 dispatched; 5 kg spilt from the large tank
func writeSeason() *handWorked {
	o := &handWorked{Outfit: ledgertest.NewOutfit()}
	o.last = o.SetUp(&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
	const lastYear = -300 * 24.0
	o.lastYearsPull = o.Pull(lastYear, o.Mill, 10, 0)
	o.lastYearRun = o.Run(lastYear+1, "0")
	o.Supers(lastYear+1, o.lastYearRun, o.lastYearsPull, 10)
	o.Out(lastYear+2, o.lastYearRun, o.Settling, 250_000)

	o.Write(-1000, &ledger.HiveCount{YardID: o.Mill, Name: "after winter", Hives: 25})
	o.Write(-1000, &ledger.HiveCount{YardID: o.Ridge, Name: "after winter", Hives: 10})
	o.Write(-100, &ledger.HiveCount{YardID: o.Mill, Name: "main flow", Hives: 20})

	o.mill = o.Write(0, &ledger.Pull{YardID: o.Mill, HivesWorked: 18, GrossG: 1_400_000,
		Supers: []ledger.SuperCount{{SuperKindID: o.Deep, Supers: 40}}})
	o.ridge = o.Write(1, &ledger.Pull{YardID: o.Ridge, HivesWorked: 9, GrossG: 720_000,
		Supers: []ledger.SuperCount{{SuperKindID: o.Deep, Supers: 20}}})
	o.mill2 = o.Write(24, &ledger.Pull{YardID: o.Mill, HivesWorked: 6,
		Supers: []ledger.SuperCount{{SuperKindID: o.Deep, Supers: 10}, {SuperKindID: o.Shallow, Supers: 4}}})
	o.left = o.Pull(48, o.Ridge, 6, 0)
	o.Write(2, ledgertest.Moisture(ledger.PlacePull, o.mill, 17.0))
	o.Write(2, ledgertest.Moisture(ledger.PlacePull, o.mill, 17.4))

	o.run1 = o.Run(30, "1")
	o.Supers(30, o.run1, o.mill, 40)
	o.Supers(30, o.run1, o.ridge, 20)
	for i, right := range []int{30, 30, 28} {
		o.Write(31+float64(i), &ledger.Load{RunID: o.run1, Load: i + 1, FramesLeft: 30, FramesRight: right})
	}
	o.Write(34, ledgertest.Moisture(ledger.PlaceRun, o.run1, 18.0))
	for i := range 6 {
		at := 31 + float64(i)
		o.Out(at, o.run1, o.Sump, 250_000)
		o.Pump(at+0.5, o.Sump, o.Settling, 250_000)
	}
	o.Write(37, &ledger.RunEnd{RunID: o.run1, WaxG: 18_000, SetAsideFrames: 7})

	o.run2 = o.Run(50, "2")
	o.Supers(50, o.run2, o.mill2, 10)
	o.Write(50, &ledger.RunSupers{RunID: o.run2, PullID: o.mill2, SuperCount: ledger.SuperCount{SuperKindID: o.Shallow, Supers: 4}})
	o.Out(52, o.run2, o.Settling, 300_000)

	o.run3 = o.Run(60, "3")
	o.Supers(60, o.run3, o.mill, 5)

	o.Write(70, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: 2_040_000})
	o.lot = o.Lot(71, "26-01")
	o.drum1 = o.Fill(72, o.lot, o.Settling, "1", 290_000)
	o.drum2 = o.Fill(73, o.lot, o.Settling, "2", 291_000)
	o.drum3 = o.Fill(74, o.lot, o.Settling, "3", 100_000)
	o.Write(75, ledgertest.Moisture(ledger.PlaceContainer, o.drum1, 17.2))
	o.Write(76, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.3))
	o.Write(80, ledgertest.Move(ledger.PlaceContainer, o.drum3, ledger.PlaceTank, o.Settling, 0))
	o.Dispatch(90, o.drum1)
	o.Write(91, ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceWaste, ledger.ID{}, 5_000))
	return o
}

func open(t testing.TB, o interface{ Open() (*ledger.Book, error) }) *ledger.Book {
	t.Helper()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// is compares figures to a millionth; nil is nothing.
func is(t *testing.T, what string, got *float64, want float64) {
	t.Helper()
	if got == nil || math.Abs(*got-want) > 1e-6 {
		t.Errorf("%s is %v, by hand it is %v", what, show(got), want)
	}
}

func show(v *float64) any {
	if v == nil {
		return "nothing"
	}
	return *v
}

func same[T comparable](t *testing.T, what string, got, want T) {
	t.Helper()
	if got != want {
		t.Errorf("%s is %v, by hand it is %v", what, got, want)
	}
}

func TestASeasonByYardIsWhatOneGetsByHand(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	r, err := season.Of(open(t, o), o.Season)
	if err != nil {
		t.Fatal(err)
	}
	// Run 1 by net weight, Mill 1,000 and Ridge 520 of 1,520:
	//   1,500,000 x 1,000/1,520 = 986,842.105 -> 986,842
	//   1,500,000 x   520/1,520 = 513,157.895 -> 513,158 (the gram left over)
	// Run 2 is all Mill's: 300,000. Mill 1,286,842 of 1,800,000.
	mill, ridge := r.Yards[0], r.Yards[1]
	same(t, "the season's honey", r.HoneyG, 1_800_000)
	same(t, "the first yard", mill.Name, "Mill")
	same(t, "Mill's honey", mill.HoneyG, 1_286_842)
	same(t, "Ridge's honey", ridge.HoneyG, 513_158)
	is(t, "Mill's share", mill.Share, 1_286_842.0/1_800_000)
	same(t, "Mill's rank", mill.Rank, 1)
	same(t, "Ridge's rank", ridge.Rank, 2)

	// Mill: 40 + 10 deeps and 4 shallows pulled = 54; 40 + 14 + 5 too many = 59
	// into runs. Ridge: 20 + 6 pulled, 20 into runs.
	same(t, "Mill's supers", mill.SupersPulled, 54)
	same(t, "Mill's deeps", mill.Supers[0], season.KindCount{SuperKindID: o.Deep, Name: "deep", Supers: 50})
	same(t, "Mill's shallows", mill.Supers[1], season.KindCount{SuperKindID: o.Shallow, Name: "shallow", Supers: 4})
	same(t, "Mill's supers extracted", mill.SupersExtracted, 59)
	same(t, "Ridge's supers", ridge.SupersPulled, 26)
	same(t, "Ridge's supers extracted", ridge.SupersExtracted, 20)
	same(t, "Mill's hives worked", mill.HivesWorked, 24)
	is(t, "Mill's honey per super", mill.KgPerSuper, 1286.842/59)
	is(t, "Ridge's honey per super", ridge.KgPerSuper, 513.158/20)

	// The latest count of the season: 20 at the main flow for Mill, 10 for Ridge.
	same(t, "Mill's count", mill.Hives.Name, "main flow")
	same(t, "Mill's hives", mill.Hives.Hives, 20)
	same(t, "Mill's count's date", mill.Hives.CountedAt, ledgertest.At(-100))
	is(t, "Mill's honey per hive", mill.KgPerHive, 1286.842/20)  // 64.3421
	is(t, "Ridge's honey per hive", ridge.KgPerHive, 513.158/10) // 51.3158
	same(t, "Mill's rank per hive", mill.RankPerHive, 1)

	// Moisture: Mill's first pull was read, (17.0 + 17.4)/2 = 17.2; its second
	// was not, nor was run 2. Ridge's was not, so run 1's 18.0 stands for it.
	is(t, "Mill's moisture", mill.MoisturePct, 17.2)
	is(t, "Ridge's moisture", ridge.MoisturePct, 18.0)
	same(t, "how Mill's was told", mill.How, ledger.Weighed)
	same(t, "how Ridge's was told", ridge.How, ledger.Weighed)

	// Last year: Mill 250 kg, Ridge nothing; no hives were counted.
	same(t, "the season before", r.Before.Name, "2025")
	same(t, "Mill's honey last year", mill.LastSeason.HoneyG, 250_000)
	same(t, "Mill's change", *mill.ChangeG, 1_036_842)
	is(t, "Mill's change in percent", mill.ChangePct, 414.7368)
	same(t, "Ridge's change", *ridge.ChangeG, 513_158)
	if ridge.ChangePct != nil || mill.LastSeason.KgPerHive != nil {
		t.Errorf("a change from nothing is %v percent; honey per uncounted hive is %v", show(ridge.ChangePct), show(mill.LastSeason.KgPerHive))
	}
}

func TestAHiveCountCanBeAskedForByName(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	b := open(t, o)
	r, err := season.Of(b, o.Season, season.PerHiveOf("after winter"))
	if err != nil {
		t.Fatal(err)
	}
	is(t, "Mill's honey per hive after winter", r.Yards[0].KgPerHive, 1286.842/25)
	r, err = season.Of(b, o.Season, season.PerHiveOf("main flow"))
	if err != nil {
		t.Fatal(err)
	}
	if ridge := r.Yards[1]; ridge.KgPerHive != nil || ridge.RankPerHive != 0 {
		t.Errorf("Ridge's hives were not counted at the main flow, yet it has %v kg per hive", show(ridge.KgPerHive))
	}
	if _, err := season.Of(b, o.Season, season.PerHiveOf("spring")); err == nil {
		t.Error("a count that was never made was not refused")
	}
}

func TestASeasonByPullIsWhatOneGetsByHand(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	r, err := season.Of(open(t, o), o.Season)
	if err != nil {
		t.Fatal(err)
	}
	// Of Mill's first pull 40 were pulled and 45 went in: 5 below nothing.
	for i, want := range []struct {
		id                  ledger.ID
		pulled, in, left    int
		honeyG              int64
		how                 ledger.Allocation
		kgPerSuper, moistur float64
	}{
		{o.mill, 40, 45, -5, 986_842, ledger.Weighed, 986.842 / 45, 17.2},
		{o.ridge, 20, 20, 0, 513_158, ledger.Weighed, 513.158 / 20, 18.0},
		{o.mill2, 14, 14, 0, 300_000, ledger.OnePull, 300.0 / 14, math.NaN()},
		{o.left, 6, 0, 6, 0, "", math.NaN(), math.NaN()},
	} {
		p := r.Pulls[i]
		same(t, "the pull", p.PullID, want.id)
		same(t, "supers pulled", p.SupersPulled, want.pulled)
		same(t, "supers extracted", p.SupersExtracted, want.in)
		same(t, "supers left", p.SupersLeft, want.left)
		same(t, "honey", p.HoneyG, want.honeyG)
		same(t, "how it was told", p.How, want.how)
		for _, f := range []struct {
			what string
			got  *float64
			want float64
		}{{"honey per super", p.KgPerSuper, want.kgPerSuper}, {"moisture", p.MoisturePct, want.moistur}} {
			if math.IsNaN(f.want) {
				same(t, f.what, f.got, nil)
			} else {
				is(t, f.what, f.got, f.want)
			}
		}
	}
}

func TestTheBalanceOfASeasonIsWhatOneGetsByHand(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	r, err := season.Of(open(t, o), o.Season)
	if err != nil {
		t.Fatal(err)
	}
	// Large tank: 250 carried over + 1,500 + 300 = 2,050; dip 2,040, so 10 lost;
	// fills 290 + 291 + 100 leave 1,359; 100 come back: 1,459; 5 spilt: 1,454.
	// Containers: drum 2's 291. 250 + 1,800 = 1,454 + 291 + 290 + 5 + 10.
	b := r.Balance
	same(t, "supers pulled", b.SupersPulled, 80)
	same(t, "supers extracted", b.SupersExtracted, 79)
	same(t, "supers left", b.SupersLeft, 1)
	same(t, "carried over in tanks", b.InTanksBeforeG, 250_000)
	same(t, "carried over in containers", b.InContainersBeforeG, 0)
	same(t, "harvested", b.HarvestedG, 1_800_000)
	same(t, "unexplained", b.UnexplainedG, 0)
	same(t, "gained", b.StocktakeGainedG, 0)
	same(t, "lost", b.StocktakeLostG, 10_000)
	same(t, "in tanks", b.InTanksG, 1_454_000)
	same(t, "in containers", b.InContainersG, 291_000)
	same(t, "filled", b.FilledG, 681_000)
	same(t, "dispatched", b.DispatchedG, 290_000)
	same(t, "wasted", b.WastedG, 5_000)
	same(t, "wax", b.WaxG, 18_000)
	same(t, "the buyer", b.Buyers[0], season.BuyerLine{BuyerID: o.Buyer, Name: "packer", Grams: 290_000, Containers: 1})
	same(t, "unaccounted for", b.UnaccountedG, -10_000)
	is(t, "unaccounted for in percent", b.UnaccountedPct, -10.0/18) // of 1,800 kg
	is(t, "wax in percent", b.WaxPct, 1)
	if !b.Balanced() {
		t.Errorf("the season does not balance: %+v", b)
	}
	last, err := season.Of(open(t, o), o.last)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "in tanks at the end of last season", last.Balance.InTanksG, 250_000)
}

func TestALotIsWhatOneGetsByHand(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	l, err := season.Lot(open(t, o), o.lot)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "the code", l.Code, "26-01")
	same(t, "the net", l.NetG, 681_000)
	same(t, "held", l.HeldG, 291_000)
	same(t, "dispatched", l.DispatchedG, 290_000)
	same(t, "the first fill", l.FirstFill, ledgertest.At(72))
	same(t, "the last fill", l.LastFill, ledgertest.At(74))
	states := []season.ContainerState{season.Dispatched, season.Held, season.Reworked}
	for i, c := range l.Containers {
		same(t, "container "+c.Number, c.State, states[i])
	}
	first := l.Containers[0]
	same(t, "drum 1's weights", [3]int64{first.TareG, first.GrossG, first.NetG}, [3]int64{17_000, 307_000, 290_000})
	same(t, "drum 1's buyer", first.Buyer, "packer")
	same(t, "drum 1's kind", first.Kind, "drum")

	// The tank was 250 of last year, 1,500 of run 1, 300 of run 2, perfectly
	// mixed in that order; the dip took of all alike. Of 2,050:
	//   Mill last year 250/2,050 x 681,000       =  83,048.78
	//   Mill, 1 Jul    1,500 x 1,000/1,520/2,050 = 327,824.13
	//   Mill, 2 Jul    300/2,050                 =  99,658.54
	//   Ridge          1,500 x 520/1,520/2,050   = 170,468.55
	// Rounded down they come to 680,998; the two grams left over go to the
	// largest remainders, last year's .78 and Ridge's .55.
	mill, ridge := l.MakeUp[0], l.MakeUp[1]
	same(t, "Mill's part", mill.Grams, 83_049+327_824+99_658)
	same(t, "Ridge's part", ridge.Grams, 170_469)
	same(t, "the sum", mill.Grams+ridge.Grams, l.NetG)
	same(t, "Mill's oldest pull", mill.Pulls[0].PullID, o.lastYearsPull)
	same(t, "its grams", mill.Pulls[0].Grams, 83_049)
	same(t, "its date", mill.Pulls[0].PulledAt, ledgertest.At(-300*24))
	same(t, "Mill's pulls", len(mill.Pulls), 3)
	same(t, "readings", len(l.Moisture), 1)
	is(t, "moisture", l.MoisturePct, 17.2)
}

func TestTanksAndRunsAreWhatOneGetsByHand(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	b := open(t, o)
	sump, large := season.Tanks(b)[0], season.Tanks(b)[1]
	same(t, "the sump", sump.Grams, 0)
	same(t, "the sump's make-up", len(sump.MakeUp), 0)
	same(t, "the large tank", large.Grams, 1_454_000)
	is(t, "how full it is", large.FullPct, 72.7)
	same(t, "when it last moved", large.LastMoved, ledgertest.At(91))
	same(t, "its last reading", large.Moisture.Pct, 17.3)
	var sum int64
	for _, s := range large.MakeUp {
		sum += s.Grams
	}
	same(t, "the sum of its make-up", sum, large.Grams)

	runs, err := season.Runs(b, o.Season)
	if err != nil {
		t.Fatal(err)
	}
	one := runs[0]
	same(t, "run 1's supers", one.SupersTotal, 60)
	same(t, "its loads", one.Loads, 3)
	same(t, "its frames", one.Frames, 178)
	same(t, "its boxes by frames", one.BoxesByFrames, 17.8)
	same(t, "its honey", one.HoneyG, 1_500_000)
	same(t, "its combs set aside", one.SetAsideFrames, 7)
	is(t, "its honey per super", one.KgPerSuper, 25)
	is(t, "its wax", one.WaxPct, 1.2)
	same(t, "how it was shared", one.How, ledger.Weighed)
	same(t, "run 2 was", runs[1].How, ledger.OnePull)
	same(t, "run 3 gave", runs[2].HoneyG, 0)
	is(t, "its honey per super", runs[2].KgPerSuper, 0)
}

func TestFiftyEightFramesAtTenABoxAreFivePointEightBoxes(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(0, "1")
	o.Write(1, &ledger.Load{RunID: run, Load: 1, FramesLeft: 29, FramesRight: 29})
	runs, err := season.Runs(open(t, o), o.Season)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "boxes by frames", runs[0].BoxesByFrames, 5.8)
}

func TestAYardThatGaveLastYearAndNothingSinceIsListed(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.SetUp(&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
	pull := o.Pull(-5000, o.Mill, 10, 0)
	run := o.Run(-4999, "0")
	o.Supers(-4999, run, pull, 10)
	o.Out(-4998, run, o.Settling, 250_000)
	r, err := season.Of(open(t, o), o.Season)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "yards", len(r.Yards), 1)
	same(t, "its change", *r.Yards[0].ChangeG, -250_000)
	is(t, "its change in percent", r.Yards[0].ChangePct, -100)
}

func TestReportsOfWhatIsNotInTheBookAreRefused(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	o.Withdraw(o.lot)
	b := open(t, o)
	for what, err := range map[string]error{
		"a yard as a season": second(season.Of(b, o.Mill)),
		"an unknown season":  second(season.Runs(b, ledgertest.ID(9999))),
		"a withdrawn lot":    second(season.Lot(b, o.lot)),
	} {
		if err == nil {
			t.Errorf("%s was reported on", what)
		}
	}
}

func second[T any](_ T, err error) error { return err }

// The shares of each run sum to its honey and to the whole, and by yard to what the season says of it.
func TestSharesSumToTheRunsAndTheYards(t *testing.T) {
	t.Parallel()
	book, err := ledger.Open(time.UTC, demo.Example(time.UTC).Recorded())
	if err != nil {
		t.Fatal(err)
	}
	book.InForceOf(ledger.KindSeason, func(root ledger.ID, _ *ledger.Entry) bool {
		report, err := season.Of(book, root)
		if err != nil {
			t.Fatal(err)
		}
		lines, err := season.Shares(book, root)
		if err != nil || len(lines) == 0 {
			t.Fatalf("%d shares, %v", len(lines), err)
		}
		yards, runs, shares := map[ledger.ID]int64{}, map[ledger.ID]int64{}, map[ledger.ID]float64{}
		for _, l := range lines {
			yards[l.YardID] += l.HoneyG
			runs[l.RunID] += l.HoneyG
			shares[l.RunID] += l.Share
		}
		for _, y := range report.Yards {
			if yards[y.YardID] != y.HoneyG {
				t.Errorf("%s: the shares are %d g, the season says %d", y.Name, yards[y.YardID], y.HoneyG)
			}
		}
		if yards[ledger.ID{}] != report.NoPullG {
			t.Errorf("of no known pull are %d g, the season says %d", yards[ledger.ID{}], report.NoPullG)
		}
		all, err := season.Runs(book, root)
		if err != nil || len(all) != len(runs) {
			t.Errorf("%d runs have shares of %d: %v", len(runs), len(all), err)
		}
		for _, r := range all {
			if runs[r.RunID] != r.HoneyG || math.Abs(shares[r.RunID]-1) > 1e-9 {
				t.Errorf("%s: the shares are %d g of %d and %v of 1", r.Name, runs[r.RunID], r.HoneyG, shares[r.RunID])
			}
		}
		return true
	})
}
