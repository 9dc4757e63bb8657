package importing_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	yields "pullbook/domain/season"
)

const (
	oldPulls = "Date,Yard,Supers,Kind\n2026-07-01,Mill,20,deep\n2026-07-01,Ridge,10,deep\n2026-07-08,Mill,12,deep\n2026-07-08,Ridge,5,deep\n2026-07-08,Ridge,4,shallow\n"
	oldRuns  = "Date,Run,Honey kg,Tank\n2026-07-02,1,750,large tank\n2026-07-10,2,400,large tank\n2026-07-20,1b,100,large tank\n"
)

// withRuns has pulls and runs, of which nothing says yet which pulls went into which run.
func withRuns(t *testing.T) *house {
	h := newHouse()
	h.bring(t, importing.Pulls, oldPulls)
	h.bring(t, importing.Runs, oldRuns)
	return h
}

// supplied lists which supers went into which run.
func supplied(t *testing.T, h *house) (out []string) {
	b := h.book(t)
	b.Happened(func(_ ledger.ID, e *ledger.Entry) bool {
		if s, is := e.Body.(*ledger.RunSupers); is {
			pull, _ := b.Entry(s.PullID)
			run := ledger.Named[ledger.Run](b, s.RunID)
			out = append(out, fmt.Sprintf("%s %s into %s: %d %s", b.Name(pull.Body.(*ledger.Pull).YardID), pull.OccurredAt.Format("2 Jan"), run.Name, s.Supers, b.Name(s.SuperKindID)))
		}
		return true
	})
	slices.Sort(out)
	return out
}

// By the usual weight of deeps run 1's 750 kg are Mill's by 20 of 30 and Ridge's by 10.
func TestASeasonHasYieldsByYardOnceASheetSaysWhichPullsWentIntoWhichRun(t *testing.T) {
	t.Parallel()
	for _, text := range []string{
		"Run date,Run,Yard,Pulled,Supers\n2026-07-02,1,Mill,2026-07-01,20\n2026-07-02,1,Ridge,2026-07-01,10 boxes\n2026-07-10,2,mill,2026-07-08,12\n2026-07-10,2,Ridge,,9\n",
		"Fecha de tanda;Tanda;Colmenar;Fecha de recogida;Alzas\n2/7/2026;1;Mill;1/7/2026;20\n2/7/2026;1;Ridge;1/7/2026;10\n10/7/2026;2;Mill;8/7/2026;12\n10/7/2026;2;Ridge;;9\n",
		"Run date,Run,Yard,Deep,Shallow\n2026-07-02,1,Mill,20,\n2026-07-02,1,Ridge,10,\n2026-07-10,2,Mill,12,\n2026-07-10,2,Ridge,5,4\n",
	} {
		h := withRuns(t)
		dayFirst := func(m *importing.Mapping) { m.Dates = "day_first" }
		r := h.bring(t, importing.RunSupers, text, dayFirst)
		want := []string{"Mill 1 Jul into 1: 20 deep", "Mill 8 Jul into 2: 12 deep", "Ridge 1 Jul into 1: 10 deep", "Ridge 8 Jul into 2: 4 shallow", "Ridge 8 Jul into 2: 5 deep"}
		if got := supplied(t, h); !reflect.DeepEqual(got, want) || r.Sums["supers"] != 51 {
			t.Errorf("%q, %v", got, r.Sums)
		}
		report, err := yields.Of(h.book(t), h.Season)
		if err != nil {
			t.Fatal(err)
		}
		// Run 2: 12 deeps of 25 kg of Mill, and Ridge 5 of 25 and 4 of 12.5: 300 and 175 of 475.
		mill, ridge := 500_000+int64(400_000*300/475), 250_000+int64(400_000*175/475)
		if y := report.Yards; y[0].Name != "Mill" || abs(y[0].HoneyG-mill) > 1 || abs(y[1].HoneyG-ridge) > 1 || report.NoPullG != 100_000 || y[0].NotKnown {
			t.Errorf("%+v, by hand Mill %d, Ridge %d", y, mill, ridge)
		}
		if r := h.bring(t, importing.RunSupers, text, dayFirst); r.New() != 0 || r.HadRows != r.Rows {
			t.Errorf("the same sheet again brought %d, and had %d of %d rows", r.New(), r.HadRows, r.Rows)
		}
	}
}

func abs(n int64) int64 { return max(n, -n) }

func TestWhatIsUnclearOfSupersInRunsIsAsked(t *testing.T) {
	t.Parallel()
	const head = "Run date,Run,Yard,Pulled,Supers,Kind\n"
	for _, row := range []struct {
		what, text string
		want       []string
		says       string
		meant      []string
	}{
		{"more supers than the pull has", head + "2026-07-02,1,Mill,2026-07-01,21,deep\n", []string{"2E out_of_range"}, "says 21 supers, and 20 of this yard are left for the run (20 deep of 1 July 2026)", nil},
		{"more than are left after the rows above", head + "2026-07-02,1,Mill,2026-07-01,15,deep\n2026-07-10,2,Mill,2026-07-01,6,deep\n", []string{"3E out_of_range"}, "5 of this yard are left", nil},
		{"of either of two pulls", head + "2026-07-10,2,Mill,,12,deep\n", []string{"2E two_values"}, "20 deep of 1 July 2026 and 12 deep of 8 July 2026", []string{"2026-07-01", "2026-07-08"}},
		{"of either of two kinds", head + "2026-07-10,2,Ridge,2026-07-08,5,\n", []string{"2E two_values"}, "5 deep of 8 July 2026 and 4 shallow of 8 July 2026", []string{"2026-07-01", "2026-07-08"}},
		{"a pull that the book has not", head + "2026-07-10,2,Mill,2026-07-07,12,deep\n", []string{"2D missing"}, "no pull from Mill on this day", []string{"2026-07-01", "2026-07-08"}},
		{"a pull after the run", head + "2026-07-02,1,Mill,2026-07-08,12,deep\n", []string{"2D missing"}, "no pull from Mill", []string{"2026-07-01", "2026-07-08"}},
		{"a kind that was not pulled", head + "2026-07-02,1,Mill,2026-07-01,3,shallow\n", []string{"2D missing"}, "no pull from Mill", []string{"2026-07-01", "2026-07-08"}},
		{"a run that the book has not", head + "2026-07-03,1,Mill,2026-07-01,20,deep\n", []string{"2B missing"}, "no run of this name", []string{"2026-07-02"}},
		{"no run at all", head + ",,Mill,2026-07-01,20,deep\n", []string{"2 missing"}, "names no run", nil},
		{"no supers", head + "2026-07-02,1,Mill,2026-07-01,0,deep\n", []string{"2E missing"}, "type how many did", nil},
		{"a yard spelt otherwise", head + "2026-07-02,1,Mlil,2026-07-01,20,deep\n", []string{"2C unknown_name"}, `Was "Mill" meant?`, nil},
		{"the same twice", head + "2026-07-02,1,Mill,2026-07-01,10,deep\n2026-07-02,1,Mill,2026-07-01,10,deep\n", []string{"3 stands_twice"}, "Did it happen twice", nil},
		{"a sheet without a run", "Yard,Pulled,Supers\nMill,2026-07-01,20\n", []string{"0 missing"}, "run", nil},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := withRuns(t)
			r := h.check(t, row.text, h.guess(t, importing.RunSupers, row.text))
			if got := problems(r); !reflect.DeepEqual(got, row.want) {
				t.Fatalf("%v; %v", got, said(r))
			}
			last := r.Problems[len(r.Problems)-1]
			if !strings.Contains(last.Message.String(), row.says) || row.meant != nil && !reflect.DeepEqual(last.DidYouMean, row.meant) {
				t.Errorf("it says: %s, and offers %q", last.Message, last.DidYouMean)
			}
		})
	}
}

// A run is known by its day alone, or by its name alone, where only one can be meant.
func TestARunIsKnownByItsDayOrItsNameAlone(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"Run date,Yard,Supers\n2026-07-02,Mill,20\n", "Run,Yard,Supers\n1,Mill,20\n"} {
		h := withRuns(t)
		h.bring(t, importing.RunSupers, text)
		if got := supplied(t, h); !reflect.DeepEqual(got, []string{"Mill 1 Jul into 1: 20 deep"}) {
			t.Errorf("%q", got)
		}
	}
	h := withRuns(t)
	h.bring(t, importing.Runs, "Date,Run,Honey kg,Tank\n2026-07-02,afternoon,80,large tank\n2026-07-11,1,80,large tank\n")
	for text, want := range map[string]string{
		"Run date,Yard,Supers\n2026-07-02,Mill,20\n":     "2A two_values [1 afternoon]",
		"Run,Yard,Supers\n1,Mill,20\n":                   "2A two_values [2026-07-02 2026-07-11]",
		"Run,Yard,Pulled,Supers\n1,Mill,2026-07-08,12\n": "", // only the later one can have them
	} {
		r := h.check(t, text, h.guess(t, importing.RunSupers, text))
		got := ""
		if len(r.Problems) > 0 {
			got = fmt.Sprint(problems(r)[0], " ", r.Problems[0].DidYouMean)
		}
		if got != want {
			t.Errorf("%q: %s", text, got)
		}
	}
}

func TestASheetOfSupersInRunsThatWasMendedIsAskedAbout(t *testing.T) {
	t.Parallel()
	const once = "Run date,Run,Yard,Supers\n2026-07-02,1,Mill,20\n2026-07-02,1,Ridge,10\n"
	mended := strings.Replace(once, "Mill,20", "Mill,18", 1)
	for _, row := range []struct {
		what string
		put  func(*importing.Mapping)
		left int64
		want string
	}{
		{"it corrects", func(m *importing.Mapping) { m.Alike = importing.Corrects }, 0, "Mill 1 Jul into 1: 18 deep"},
		{"that row corrects", func(m *importing.Mapping) { m.Rows = map[int]importing.Alike{2: importing.Corrects} }, 0, "Mill 1 Jul into 1: 18 deep"},
		{"it is left out", func(m *importing.Mapping) { m.Alike = importing.LeftAside }, 1, "Mill 1 Jul into 1: 20 deep"},
	} {
		h := withRuns(t)
		h.bring(t, importing.RunSupers, once)
		r := h.check(t, mended, h.guess(t, importing.RunSupers, mended))
		if got := problems(r); !reflect.DeepEqual(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], "20 supers of this yard in this run") {
			t.Fatalf("%s: %v %v", row.what, got, said(r))
		}
		r = h.bring(t, importing.RunSupers, mended, row.put)
		if got := supplied(t, h); r.LeftOut != row.left || r.HadRows != 1 || !reflect.DeepEqual(got, []string{row.want, "Ridge 1 Jul into 1: 10 deep"}) {
			t.Errorf("%s: %q, %d left out, %d had", row.what, got, r.LeftOut, r.HadRows)
		}
	}
	h := withRuns(t)
	h.bring(t, importing.RunSupers, once)
	m := h.guess(t, importing.RunSupers, mended)
	m.Alike = importing.Another
	if got := problems(h.check(t, mended, m)); !reflect.DeepEqual(got, []string{"2D out_of_range"}) {
		t.Errorf("18 more of a pull that is used up: %v", got)
	}
}
