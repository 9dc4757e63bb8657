package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// What stands above a table and says of its figures what the headings do not is asked about, until
// the row is left out.
func TestWhatATitleSaysOfTheFiguresIsAskedAbout(t *testing.T) {
	t.Parallel()
	const plain, timed = "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,12,deep,432\n", "Date,Time,Yard,Supers,Kind\n2026-07-06,10:00,Mill,12,deep\n"
	for _, row := range []struct {
		title, table string
		want         []string
	}{
		{"Plan 2026", plain, []string{"1 two_values"}},
		{"Estimated weights", plain, []string{"1 two_values"}},
		{"Pesos netos", plain, []string{"1 two_values"}},
		{"Gross incl. pallet (20 kg)", plain, []string{"1 two_values"}},
		{"Pesos con tarima", plain, []string{"1 two_values"}},
		{"Pallets and drums of 2026", plain, nil},
		{"Times in UTC", timed, []string{"1 two_values"}},
		{"Times in UTC", plain, nil},
		{"Fern Gully Honey, pulls of 2026", plain, nil},
	} {
		h := newHouse()
		text := row.title + "\n" + row.table
		m := h.guess(t, importing.Pulls, text)
		if r := h.check(t, text, m); !slices.Equal(problems(r), row.want) {
			t.Errorf("%s: %v", row.title, said(r))
		}
		m.LeaveOutRows = []int{1}
		if r := h.check(t, text, m); r.AllProblems > 0 || r.New() != 1 {
			t.Errorf("%s, once it is left out: %v", row.title, said(r))
		}
	}
	for _, heading := range []string{"Supers (dozens)", "Supers (approx.)"} {
		if c := newHouse().guess(t, importing.Pulls, "Date,Yard,"+heading+",Kind\n2026-07-06,Mill,12,deep\n").Columns[2]; c.Field != "" {
			t.Errorf("%s is taken for %s", heading, c.Field)
		}
	}
}

// The name of a sheet and a comment on a heading stand above the table as well.
func TestWhatASheetsNameOrACommentOnAHeadingSaysIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const text = "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,12,deep,432\n"
	for _, c := range []struct {
		name, remark string
		asked        bool
	}{
		{"Pulls", "net of boxes", true}, {"Pulls 2026", "by the new scale", false},
	} {
		of := table(t, text)
		of.Name = c.name
		if c.remark != "" {
			of.Remarks = map[int][]string{1: {4: c.remark}}
		}
		m, err := importing.Guess(h.book(t), of, importing.Pulls)
		if err != nil {
			t.Fatal(err)
		}
		take := func() *importing.Result {
			r, err := importing.Take(h.book(t), of, m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil)
			if err != nil {
				t.Fatal(err)
			}
			return r
		}
		if r := take(); slices.Equal(problems(r), []string{"1 doubtful_row"}) != c.asked || (r.AllProblems > 0) != c.asked {
			t.Errorf("%s, %s: %v", c.name, c.remark, said(r))
		}
		m.Rows = map[int]importing.Alike{1: importing.Another}
		if r := take(); r.AllProblems > 0 || r.New() != 1 {
			t.Errorf("%s, %s, once it was answered: %v", c.name, c.remark, said(r))
		}
	}
}

// A moisture that somebody corrected for temperature is not corrected again by the temperature
// beside it.
func TestAMoistureThatIsCorrectedAlreadyIsAskedAboutBesideATemperature(t *testing.T) {
	t.Parallel()
	h := newHouse()
	for text, want := range map[string]string{
		"Date,Tank,Moisture (corrected to 20 C),Sample temp C\n2026-07-14,sump,17.5,28\n":       "0D two_values",
		"Date,Tank,Moisture ATC,Sample temp C\n2026-07-14,sump,17.5,28\n":                       "0D two_values",
		"All by ATC refractometer\nDate,Tank,Moisture,Sample temp C\n2026-07-14,sump,17.5,28\n": "1 two_values",
		"Date,Tank,Moisture,Sample temp C\n2026-07-14,sump,17.5,28\n":                           "",
		"Date,Tank,Moisture (corrected)\n2026-07-14,sump,17.5\n":                                "",
	} {
		if got := strings.Join(problems(h.check(t, text, h.guess(t, importing.Readings, text))), " "); got != want {
			t.Errorf("of %q %q is asked, and %q should be", text, got, want)
		}
	}
}

// A wide sheet has titles too.
func TestWhatATitleSaysOfTheFiguresOfAWideSheetIsAskedAbout(t *testing.T) {
	t.Parallel()
	const supers, weights = "Supers,Mill,Ridge\n2026-07-06,12,3\n", "Date,Mill,\n,boxes,kg\n2026-07-06,12,301\n"
	for _, row := range []struct {
		title, table string
		want         []string
	}{
		{"Plan 2026", supers, []string{"1 two_values"}},
		{"Valores estimados", supers, []string{"1 two_values"}},
		{"Net weights", weights, []string{"1 two_values"}},
		{"Net weights", supers, nil},
		{"Weighed with the pallet", weights, []string{"1 two_values"}},
		{"Fern Gully Honey, 2026", weights, nil},
	} {
		h := newHouse()
		m := deeps()
		_, asked, r := h.parted(t, importing.Pulls, table(t, row.title+"\n"+row.table), m)
		if !slices.Equal(asked, row.want) {
			t.Errorf("%s: %v", row.title, said(r))
		}
		m.LeaveOutRows = []int{1}
		if got, _, r := h.parted(t, importing.Pulls, table(t, row.title+"\n"+row.table), m); len(got) == 0 {
			t.Errorf("%s, once it is left out: %v", row.title, said(r))
		}
	}
}
