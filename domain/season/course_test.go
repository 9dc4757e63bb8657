package season_test

import (
	"slices"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// diary is an outfit that writes down runs by the day.
type diary struct {
	*ledgertest.Outfit
	t testing.TB
}

// newDiary has a season of each name, from one day to another.
func newDiary(t testing.TB, seasons ...ledger.Season) (d diary, ids []ledger.ID) {
	d = diary{ledgertest.NewOutfit(), t}
	d.Withdraw(d.Season)
	for _, s := range seasons {
		ids = append(ids, d.SetUp(&s))
	}
	return d, ids
}

// run is a run of a day's supers off one yard, with so many grams.
func (d diary) run(at time.Time, grams int64) {
	put := func(after time.Duration, body ledger.Body) ledger.ID {
		return d.Put(ledger.Entry{OccurredAt: at.Add(after), Body: body})
	}
	pull := put(-time.Hour, &ledger.Pull{YardID: d.Mill, Supers: []ledger.SuperCount{{SuperKindID: d.Deep, Supers: 10}}})
	run := put(0, &ledger.Run{Name: at.Format(time.DateTime), FramesPerSide: 30})
	put(0, d.SupersBody(run, pull, 10))
	put(time.Minute, ledgertest.OutBody(run, d.Settling, grams))
}

func day(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.DateOnly, text)
	if err != nil {
		t.Fatal(err)
	}
	return at.Add(12 * time.Hour)
}

func (d diary) course(loc *time.Location, id ledger.ID) season.Course {
	d.t.Helper()
	b, err := ledger.Open(loc, d.Entries)
	if err != nil {
		d.t.Fatal(err)
	}
	r, err := season.Of(b, id)
	if err != nil {
		d.t.Fatal(err)
	}
	return r.Course
}

func (d diary) isDays(what string, got []season.DayLine, want ...season.DayLine) {
	d.t.Helper()
	if !slices.Equal(got, want) {
		d.t.Errorf("%s are %v, by hand they are %v", what, got, want)
	}
}

// Run 1 began on 2 July with 1,500 kg and run 2 on 3 July with 300; run 3 gave
// nothing. Last year's 250 kg came on 4 September, 300 days before 1 July.
func TestTheCourseOfASeasonIsWhatOneGetsByHand(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	r, err := season.Of(open(t, o), o.Season)
	if err != nil {
		t.Fatal(err)
	}
	d := diary{o.Outfit, t}
	d.isDays("the days", r.Course.Days,
		season.DayLine{On: "2026-07-02", HoneyG: 1_500_000, SumG: 1_500_000}, season.DayLine{On: "2026-07-03", HoneyG: 300_000, SumG: 1_800_000})
	d.isDays("last year's days", r.Course.Before, season.DayLine{On: "2026-09-04", HoneyG: 250_000, SumG: 250_000})
	d.isDays("the days of both", r.Course.EachDay(),
		season.DayLine{On: "2026-07-02", HoneyG: 1_500_000, SumG: 1_500_000}, season.DayLine{On: "2026-07-03", HoneyG: 300_000, SumG: 1_800_000},
		season.DayLine{On: "2026-09-04", SumG: 1_800_000, BeforeG: 250_000})
	// 17.0 and 17.4 on Mill's pull on 1 July, 18.0 on run 1 on 2 July.
	want := []season.MoistureDay{{On: "2026-07-01", MeanPct: 17.2, LowPct: 17, HighPct: 17.4, Readings: 2}, {On: "2026-07-02", MeanPct: 18, LowPct: 18, HighPct: 18, Readings: 1}}
	if !slices.Equal(r.Course.Moisture, want) {
		t.Errorf("moisture by day is %v, by hand it is %v", r.Course.Moisture, want)
	}

	// In all 1,800 kg of 59 + 20 supers; 20 + 10 hives were counted.
	same(t, "the yards' honey", r.Together.HoneyG, 1_800_000)
	is(t, "honey per super", r.Together.KgPerSuper, 1800.0/79)
	is(t, "honey per hive", r.Together.KgPerHive, 1800.0/30)
	last, err := season.Of(open(t, o), o.last)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "honey per hive of hives that nobody counted", last.Together.KgPerHive, nil)
	same(t, "moisture that nobody read", len(last.Course.Moisture), 0)
	d.isDays("the first season's days", last.Course.Days, season.DayLine{On: "2025-09-04", HoneyG: 250_000, SumG: 250_000})
	same(t, "days before the first season", len(last.Course.Before), 0)
}

// Hives that were counted on one yard only tell that yard's honey per hive, and
// so the outfit's: Ridge's 513.158 kg of 10 hives.
func TestHoneyPerHiveIsOfTheYardsWhoseHivesWereCounted(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	r, err := season.Of(open(t, o), o.Season, season.PerHiveOf("after winter"))
	if err != nil {
		t.Fatal(err)
	}
	is(t, "of both", r.Together.KgPerHive, 1800.0/35)
	for _, e := range slices.Clone(o.Entries) {
		if c, ok := e.Body.(*ledger.HiveCount); ok && c.YardID == o.Mill {
			o.Withdraw(e.ID)
		}
	}
	if r, err = season.Of(open(t, o), o.Season); err != nil {
		t.Fatal(err)
	}
	is(t, "of Ridge alone", r.Together.KgPerHive, 51.3158)
}

// 2024 has a 29th of February, 2025 has none: its honey counts with 1 March.
func TestALeapDayCountsWithTheFirstOfMarch(t *testing.T) {
	t.Parallel()
	d, ids := newDiary(t, ledger.Season{Name: "2024", First: "2024-01-01", Last: "2024-12-31"},
		ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
	d.run(day(t, "2024-02-29"), 100_000)
	d.run(day(t, "2024-03-01"), 50_000)
	d.run(day(t, "2025-02-28"), 40_000)
	d.run(day(t, "2025-03-01"), 60_000)
	c := d.course(time.UTC, ids[1])
	d.isDays("2024's days in 2025", c.Before, season.DayLine{On: "2025-03-01", HoneyG: 150_000, SumG: 150_000})
	d.isDays("2025's days", c.Days, season.DayLine{On: "2025-02-28", HoneyG: 40_000, SumG: 40_000, BeforeG: 0},
		season.DayLine{On: "2025-03-01", HoneyG: 60_000, SumG: 100_000, BeforeG: 150_000})
}

// And in a leap year, the 29th is a day on which the year before had what it had
// on the 28th.
func TestALeapYearBesideACommonOne(t *testing.T) {
	t.Parallel()
	d, ids := newDiary(t, ledger.Season{Name: "2027", First: "2027-01-01", Last: "2027-12-31"},
		ledger.Season{Name: "2028", First: "2028-01-01", Last: "2028-12-31"})
	d.run(day(t, "2027-02-28"), 100_000)
	d.run(day(t, "2027-03-01"), 20_000)
	d.run(day(t, "2028-02-29"), 70_000)
	c := d.course(time.UTC, ids[1])
	d.isDays("2027's days in 2028", c.Before, season.DayLine{On: "2028-02-28", HoneyG: 100_000, SumG: 100_000}, season.DayLine{On: "2028-03-01", HoneyG: 20_000, SumG: 120_000})
	d.isDays("2028's days", c.Days, season.DayLine{On: "2028-02-29", HoneyG: 70_000, SumG: 70_000, BeforeG: 100_000})
}

// In the south a season begins in July: January of one is held against January
// of the one before, a year earlier.
func TestSeasonsAcrossNewYearAreHeldAgainstOneAnotherByTheDay(t *testing.T) {
	t.Parallel()
	d, ids := newDiary(t, ledger.Season{Name: "2024/25", First: "2024-07-01", Last: "2025-06-30"},
		ledger.Season{Name: "2025/26", First: "2025-07-01", Last: "2026-06-30"})
	d.run(day(t, "2024-12-24"), 80_000)
	d.run(day(t, "2025-01-10"), 300_000)
	d.run(day(t, "2025-12-20"), 100_000)
	d.run(day(t, "2026-01-10"), 200_000)
	c := d.course(time.UTC, ids[1])
	d.isDays("the season's days", c.Days, season.DayLine{On: "2025-12-20", HoneyG: 100_000, SumG: 100_000},
		season.DayLine{On: "2026-01-10", HoneyG: 200_000, SumG: 300_000, BeforeG: 380_000})
	d.isDays("the season before", c.Before, season.DayLine{On: "2025-12-24", HoneyG: 80_000, SumG: 80_000},
		season.DayLine{On: "2026-01-10", HoneyG: 300_000, SumG: 380_000})
}

// A year without honey lies between: 2024 is two years before 2026. Two seasons of
// one year have no day of the year in common.
func TestASeasonIsHeldAgainstTheSameDaysOnlyWhereThereAreSome(t *testing.T) {
	t.Parallel()
	d, ids := newDiary(t, ledger.Season{Name: "2024", First: "2024-04-15", Last: "2024-10-31"},
		ledger.Season{Name: "2026, spring", First: "2026-03-01", Last: "2026-06-15"},
		ledger.Season{Name: "2026, summer", First: "2026-06-16", Last: "2026-10-31"})
	d.run(day(t, "2024-06-01"), 10_000)
	d.run(day(t, "2026-06-02"), 20_000)
	d.run(day(t, "2026-08-01"), 30_000)
	spring, summer := d.course(time.UTC, ids[1]), d.course(time.UTC, ids[2])
	d.isDays("spring's days", spring.Days, season.DayLine{On: "2026-06-02", HoneyG: 20_000, SumG: 20_000, BeforeG: 10_000})
	d.isDays("2024's days", spring.Before, season.DayLine{On: "2026-06-01", HoneyG: 10_000, SumG: 10_000})
	d.isDays("summer's days", summer.Days, season.DayLine{On: "2026-08-01", HoneyG: 30_000, SumG: 30_000})
	d.isDays("spring's days beside summer's", summer.Before)
}

// Half an hour before midnight in Winnipeg is the next day in Greenwich.
func TestADayIsTheOutfitsOwn(t *testing.T) {
	t.Parallel()
	winnipeg, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	d, ids := newDiary(t, ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	d.run(time.Date(2026, 7, 31, 23, 30, 0, 0, winnipeg), 10_000)
	d.run(time.Date(2026, 7, 31, 9, 0, 0, 0, winnipeg), 5_000)
	d.isDays("the outfit's day", d.course(winnipeg, ids[0]).Days, season.DayLine{On: "2026-07-31", HoneyG: 15_000, SumG: 15_000})
}

// However a season was written down, its days sum to its honey.
func TestTheDaysOfASeasonSumToItsHoney(t *testing.T) {
	t.Parallel()
	o := writeSeason()
	o.Withdraw(o.run2) // its 300 kg are in the tank all the same
	for _, id := range []ledger.ID{o.Season, o.last} {
		r, err := season.Of(open(t, o), id)
		if err != nil {
			t.Fatal(err)
		}
		var sum int64
		for _, d := range r.Course.Days {
			sum += d.HoneyG
		}
		same(t, "the sum of the days of "+r.Season.Name, sum, r.HoneyG)
		same(t, "the last day's sum", r.Course.Days[len(r.Course.Days)-1].SumG, r.HoneyG)
	}
}
