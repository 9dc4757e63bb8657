package demo_test

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	shed "pullbook/domain/season"
)

// opened is a book's entries, opened.
func opened(t *testing.T, b *demo.Book) *ledger.Book {
	t.Helper()
	book, err := ledger.Open(b.Location, b.Recorded())
	if err != nil {
		t.Fatal(err)
	}
	return book
}

// TestTheDemoStandsInTheMiddleOfItsWorkOnEachDay of a year and of a leap year, at hours of all sorts: boxes wait, a run is open,
// tanks are part full, a lot is held with its reason, another may go, somebody read a refractometer in the last six hours of the story, and
// nothing lies in the future. The grams are those of any other day. Before a change lands each day is tried (PULLBOOK_TEST_WHOLE);
// otherwise every third, and those on which years, months of February and summer times begin and end.
func TestTheDemoStandsInTheMiddleOfItsWorkOnEachDay(t *testing.T) {
	t.Parallel()
	location, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	var grams string
	ids := map[ledger.ID]bool{}
	for day := time.Date(2027, 1, 1, 0, 0, 0, 0, location); day.Year() < 2029; day = day.AddDate(0, 0, 1) {
		if !wantsTrying(day) {
			continue
		}
		now := day.Add(time.Duration(day.YearDay()*37%1440) * time.Minute)
		made := demo.ExampleAt(now, location)
		if late := lateOf(t, made, now); late != "" {
			t.Fatalf("%s: in the future lies %s", now, late)
		}
		if gap := now.Sub(made.Entries[len(made.Entries)-1].OccurredAt); gap > 26*time.Hour {
			t.Fatalf("%s: the last thing that happened is %v ago", now, gap)
		}
		b := opened(t, made)
		s := shed.ShedOf(b)
		supers, held, released := 0, 0, 0
		for i := range s.Pulls {
			n, _ := s.Pulls[i].Supers(b)
			supers += n
		}
		for _, l := range s.Stock {
			switch d := b.State().LotStatus(l.LotID); d.Status {
			case ledger.StatusHeld:
				if d.By.Body.(*ledger.LotStatus).Note != "" {
					held++
				}
			case ledger.StatusReleased:
				released++
			}
		}
		today := readingsSince(b, made.Entries[len(made.Entries)-1].OccurredAt.Add(-6*time.Hour))
		tanks := 0
		b.InForceOf(ledger.KindTank, func(root ledger.ID, e *ledger.Entry) bool {
			if h, _ := b.State().Holder(root); h.Grams > 0 && h.Grams < e.Body.(*ledger.Tank).CapacityG {
				tanks++
			}
			return true
		})
		if len(s.Runs) != 1 || s.Runs[0].LastLoad < 5 || s.Runs[0].HoneyG == 0 || supers < 40 || tanks < 2 || held != 1 || released == 0 || today == 0 {
			t.Fatalf("%s: %d runs are open, %d supers wait, %d tanks are part full, %d lots are held and %d may go, of %d readings", now, len(s.Runs), supers, tanks, held, released, today)
		}
		if found := fmt.Sprint(b.State().Totals()); grams == "" {
			grams = found
			for _, e := range made.Entries {
				ids[e.ID] = true
			}
		} else if found != grams {
			t.Fatalf("%s: the grams are %s, not %s", now, found, grams)
		}
		if len(made.Entries) != len(ids) || !ids[made.Entries[0].ID] || !ids[made.Entries[len(ids)-1].ID] {
			t.Fatalf("%s: the entries have other ids, so that a second start would add them", now)
		}
	}
}

func wantsTrying(day time.Time) bool {
	_, before := day.AddDate(0, 0, -1).Zone()
	_, after := day.AddDate(0, 0, 2).Zone()
	return os.Getenv("PULLBOOK_TEST_WHOLE") != "" || day.YearDay()%3 == 0 || before != after ||
		day.Day() <= 2 && day.Month() != time.February || day.AddDate(0, 0, 2).Month() != day.Month()
}

func readingsSince(b *ledger.Book, since time.Time) (n int) {
	b.InForceOf(ledger.KindReading, func(_ ledger.ID, e *ledger.Entry) bool {
		if e.OccurredAt.After(since) {
			n++
		}
		return true
	})
	return n
}

// instants are the days and instants in what an entry says.
var instants = regexp.MustCompile(`"(\d{4}-\d\d-\d\d)(T[^"]+)?"`)

// lateOf is something of a book that lies after an instant; a season's last day may.
func lateOf(t *testing.T, b *demo.Book, now time.Time) string {
	t.Helper()
	today := now.In(b.Location).Format(time.DateOnly)
	for i, e := range b.Entries {
		if at := e.OccurredAt.Add(b.Delays[i]); at.After(now) {
			return fmt.Sprintf("a %s of %s", e.Kind, at)
		}
		if e.Kind == ledger.KindSeason {
			continue
		}
		text, err := json.Marshal(e.Body)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range instants.FindAllStringSubmatch(string(text), -1) {
			if m[2] == "" && m[1] > today {
				return fmt.Sprintf("the day %s of a %s", m[1], e.Kind)
			}
			if at, err := time.Parse(time.RFC3339Nano, m[1]+m[2]); err == nil && at.After(now) {
				return fmt.Sprintf("%s of a %s", at, e.Kind)
			}
		}
	}
	return ""
}

// The seasons follow one another without a gap, today lies in the last, and lots have its year. On the day of the story
// itself nothing is moved.
func TestTheDemosSeasonsAreNamedByTheirYears(t *testing.T) {
	t.Parallel()
	location, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct{ now, names, code string }{
		{"2026-09-12T12:50:00-05:00", "2025 2026", "26-0"}, {"2026-11-30T08:00:00-06:00", "2025/26 2026/27", "26-0"}, {"2024-02-29T23:00:00-06:00", "2022/23 2023/24", "23-0"}, {"2031-07-04T12:00:00-05:00", "2029/30 2030/31", "30-0"},
	} {
		now, err := time.Parse(time.RFC3339, test.now)
		if err != nil {
			t.Fatal(err)
		}
		b := demo.ExampleAt(now, location)
		var names []string
		var before ledger.Date
		codes := 0
		for _, e := range b.Entries {
			switch x := e.Body.(type) {
			case *ledger.Season:
				names = append(names, x.Name)
				if first, _ := x.First.On(time.UTC); before != "" && first.AddDate(0, 0, -1).Format(time.DateOnly) != string(before) {
					t.Errorf("%s: a season ends on %s, and the next begins on %s", test.now, before, x.First)
				}
				before = x.Last
			case *ledger.Lot:
				if strings.HasPrefix(x.Code, test.code) {
					codes++
				}
			}
		}
		if got := strings.Join(names, " "); got != test.names || codes < 10 || string(before) < now.In(location).Format(time.DateOnly) {
			t.Errorf("%s: the seasons are %s until %s, with %d lots %s…", test.now, got, before, codes, test.code)
		}
		if moved := b.MovedDays == 0; moved != (test.names == "2025 2026") {
			t.Errorf("%s: it is moved by %d days", test.now, b.MovedDays)
		}
	}
}
