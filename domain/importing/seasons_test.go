package importing_test

import (
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// Seasons that old days need are like those that the outfit has, never overlap them, and are shown
// before they are used.
func TestSeasonsOfOldYearsAreLikeTheOutfitsOwn(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what, zone  string
		has         []ledger.Season
		days        []string
		asked, want []string // the seasons that are asked about, and those that are made
	}{
		{"in Chile, from July to June", "America/Santiago", []ledger.Season{{Name: "2025/26", First: "2025-07-01", Last: "2026-06-30"}}, []string{"2019-01-20", "2018-12-05", "2019-11-30"},
			[]string{"from 2018-07-01 to 2019-06-30", "from 2018-07-01 to 2019-06-30", "from 2019-07-01 to 2020-06-30"},
			[]string{"2018/19 2018-07-01 2019-06-30", "2019/20 2019-07-01 2020-06-30"}},
		{"from 20 March to 31 October", "America/Winnipeg", []ledger.Season{{Name: "Season 2026", First: "2026-03-20", Last: "2026-10-31"}}, []string{"2019-07-06", "2020-03-20", "2020-10-31"},
			[]string{"from 2019-03-20 to 2019-10-31", "from 2020-03-20 to 2020-10-31"},
			[]string{"Season 2019 2019-03-20 2019-10-31", "Season 2020 2020-03-20 2020-10-31"}},
		{"a day that lies in no season of that form", "America/Winnipeg", []ledger.Season{{Name: "2026", First: "2026-03-20", Last: "2026-10-31"}}, []string{"2019-11-15"},
			[]string{"from 2026-03-20 to 2026-10-31, and none like that"}, nil},
		{"none", "America/Winnipeg", nil, []string{"2019-07-06", "2018-02-02"}, []string{"from 2019-01-01 to 2019-12-31", "from 2018-01-01 to 2018-12-31"}, []string{"2018 2018-01-01 2018-12-31", "2019 2019-01-01 2019-12-31"}},
		{"of another form before and after", "UTC", []ledger.Season{{Name: "2018", First: "2018-01-01", Last: "2018-12-31"}, {Name: "2025/26", First: "2025-07-01", Last: "2026-06-30"}}, []string{"2017-05-01", "2020-05-01"},
			[]string{"from 2017-01-01 to 2017-12-31", "from 2020-01-01 to 2020-12-31"}, []string{"2017 2017-01-01 2017-12-31", "2020 2020-01-01 2020-12-31"}},
		{"one that would overlap", "UTC", []ledger.Season{{Name: "2024", First: "2024-01-01", Last: "2024-12-31"}, {Name: "2025/26", First: "2025-07-01", Last: "2026-06-30"}}, []string{"2025-05-01"},
			[]string{"from 2024-01-01 to 2024-12-31, and none like that"}, nil},
		{"to the end of February", "UTC", []ledger.Season{{Name: "2025/26", First: "2025-03-01", Last: "2026-02-28"}}, []string{"2020-02-29"},
			[]string{"from 2019-03-01 to 2020-02-29"}, []string{"2019/20 2019-03-01 2020-02-29"}},
		{"called by no year", "UTC", []ledger.Season{{Name: "the first", First: "2025-07-01", Last: "2026-06-30"}}, []string{"2019-01-20"}, []string{"from 2018-07-01 to 2019-06-30"}, []string{"2018/19 2018-07-01 2019-06-30"}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			zone, err := time.LoadLocation(row.zone)
			if err != nil {
				t.Fatal(err)
			}
			o := &ledgertest.Outfit{}
			for i := range row.has {
				o.SetUp(&row.has[i])
			}
			o.SetUp(&ledger.Yard{Name: "Mill"})
			o.SetUp(&ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13000, UsualNetG: 27000, FullestNetG: 36000})
			text := "Date,Yard,Supers,Kind\n"
			for _, day := range row.days {
				text += day + ",Mill,12,deep\n"
			}
			take := func(m importing.Mapping) (*importing.Result, []string) {
				book, err := ledger.Open(zone, o.Entries)
				if err != nil {
					t.Fatal(err)
				}
				var made []string
				r, err := importing.Take(book.Ahead(), table(t, text), m, importing.Options{Outfit: ledgertest.ID(77), By: "Ada", Now: now}, nil)
				if err != nil {
					t.Fatal(err)
				}
				for _, s := range r.Seasons {
					made = append(made, strings.Join([]string{s.Name, string(s.First), string(s.Last)}, " "))
				}
				slices.Sort(made)
				return r, made
			}
			book, err := ledger.Open(zone, o.Entries)
			if err != nil {
				t.Fatal(err)
			}
			m, err := importing.Guess(book, table(t, text), importing.Pulls)
			if err != nil {
				t.Fatal(err)
			}
			r, made := take(m)
			asked := said(r)
			slices.Sort(asked)
			if len(made) > 0 || len(asked) == 0 {
				t.Errorf("before it is answered: %v %v", made, asked)
			}
			for _, want := range row.asked {
				if !strings.Contains(strings.Join(asked, "\n"), want) {
					t.Errorf("nothing says %q: %v", want, asked)
				}
			}
			m.MakeSeasons = true
			r, made = take(m)
			if open := row.want == nil; !slices.Equal(made, row.want) || open != (r.AllProblems > 0) || int64(len(made)) != r.Entries[ledger.KindSeason] {
				t.Errorf("%v, not %v: %v", made, row.want, said(r))
			}
		})
	}
}
