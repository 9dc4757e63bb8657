package importing_test

import (
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

func mainFlow(m *importing.Mapping) {
	m.Fixed = map[importing.Field]string{importing.FieldCountName: "main flow"}
}

func TestHiveCountsComeInWithTheNameOfTheCount(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.HiveCounts, "Date,Yard,Hives alive,Dead,Count\n2026-06-20,mill,24 hives,3,main flow\n2026-06-20,Ridge,10,,main flow\n2026-04-10,Mill,26,,after winter\n")
	const spanish = "Fecha;Colmenar;Colmenas vivas\n20/6/2025;Ridge;8\n21/6/2025;Mill;0\n"
	h.bring(t, importing.HiveCounts, spanish, mainFlow, years)
	var got []string
	for _, c := range bodies[ledger.HiveCount](h) {
		got = append(got, strings.Join([]string{h.book(t).Name(c.YardID), c.Name, itoa(c.Hives)}, " "))
	}
	if want := []string{"Mill main flow 24", "Ridge main flow 10", "Mill after winter 26", "Ridge main flow 8", "Mill main flow 0"}; !reflect.DeepEqual(got, want) {
		t.Errorf("%q", got)
	}
	if r := h.bring(t, importing.HiveCounts, spanish, mainFlow, years); r.New() != 0 || r.HadRows != 2 {
		t.Errorf("the same sheet again brought %d, and had %d rows", r.New(), r.HadRows)
	}
	mended := strings.Replace(spanish, ";8", ";9", 1)
	m := h.guess(t, importing.HiveCounts, mended)
	mainFlow(&m)
	r := h.check(t, mended, m)
	if got := problems(r); !reflect.DeepEqual(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], `8 hives, "main flow"`) {
		t.Fatalf("%v %v", got, said(r))
	}
	h.bring(t, importing.HiveCounts, mended, mainFlow, func(m *importing.Mapping) { m.Alike = importing.Corrects })
	if last := bodies[ledger.HiveCount](h); last[len(last)-1].Hives != 9 {
		t.Errorf("%+v", last[len(last)-1])
	}
}

func TestTransfersComeInFromTankToTank(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Transfers, "Date,From,To,Moved kg,Notes\n2026-07-06,sump,large tank,250,\n2026-07-06 15:00,Sump,Large  tank,\"1,102.5 lb\",by gravity\n")
	h.bring(t, importing.Transfers, "Fecha;Del tanque;Al tanque;Cantidad (kg)\n13/7/2026;large tank;sump;80,5\n", years)
	var got []string
	for _, m := range bodies[ledger.Movement](h) {
		got = append(got, strings.Join([]string{h.book(t).Name(m.From.ID), h.book(t).Name(m.To.ID), itoa(int(m.MassG)), m.Note}, "/"))
	}
	if want := []string{"sump/large tank/250000/", "sump/large tank/500086/by gravity", "large tank/sump/80500/"}; !reflect.DeepEqual(got, want) {
		t.Errorf("%q", got)
	}
	var typed map[string]string
	for _, e := range h.Entries {
		if e.Kind == ledger.KindMovement && len(e.AsEntered) > 0 {
			typed = e.AsEntered
			break
		}
	}
	if typed["mass_kg"] != "1,102.5 lb" {
		t.Errorf("what was typed is kept as %v", typed)
	}
}

func TestWhatIsUnclearInCountsAndTransfersIsAsked(t *testing.T) {
	t.Parallel()
	const hives, moved = "Date,Yard,Hives,Count\n", "Date,From,To,Honey kg\n"
	for _, row := range []struct {
		what, text string
		kind       importing.Kind
		want       []string
		says       string
	}{
		{"a count without its name", "Date,Yard,Hives\n2026-06-20,Mill,24\n", importing.HiveCounts, []string{"0 missing"}, "name of the count"},
		{"a count in the yard of nobody", hives + "2026-06-20,Birchwood,24,main flow\n", importing.HiveCounts, []string{"2B unknown_name"}, "to be set up"},
		{"hives and those that died in one cell", hives + "2026-06-20,Mill,24 (3 dead),main flow\n", importing.HiveCounts, []string{"2C no_figure"}, "A figure is needed here"},
		{"half a hive", hives + "2026-06-20,Mill,24.5,main flow\n", importing.HiveCounts, []string{"2C out_of_range"}, "A whole number"},
		{"a count that is empty", hives + "2026-06-20,Mill,,main flow\n", importing.HiveCounts, []string{"2C missing"}, "a row needs it"},
		{"a sum of hives", hives + "2026-06-20,Mill,24,main flow\n2026-06-20,Ridge,10,main flow\nTotal,,34,\n", importing.HiveCounts, []string{"4 looks_like_a_total"}, "sum of the others"},
		{"from a tank into itself", moved + "2026-07-06,sump,sump,100\n", importing.Transfers, []string{"2C refused_by_book"}, "itself"},
		{"nothing that moved", moved + "2026-07-06,sump,large tank,0\n", importing.Transfers, []string{"2D out_of_range"}, "Nothing moved"},
		{"a weight without a unit", "Date,From,To,Honey\n2026-07-06,sump,large tank,100\n", importing.Transfers, []string{"2D no_unit"}, "In which unit"},
		{"a tank that is none", moved + "2026-07-06,sump,larg tank,100\n", importing.Transfers, []string{"2C unknown_name"}, `Was "large tank" meant?`},
		{"less than nothing", moved + "2026-07-06,sump,large tank,-5\n", importing.Transfers, []string{"2D out_of_range"}, "takes weights from"},
		{"a chain of one day without hours", moved + "2026-07-06,sump,large tank,100\n2026-07-06,large tank,sump,30\n", importing.Transfers, []string{"3A no_date"}, "into and out of large tank (row 2)"},
		{"the same twice", moved + "2026-07-06,sump,large tank,100\n2026-07-06,sump,large tank,100\n", importing.Transfers, []string{"3 stands_twice"}, "Did it happen twice"},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			r := h.check(t, row.text, h.guess(t, row.kind, row.text))
			if got := problems(r); !reflect.DeepEqual(got, row.want) {
				t.Fatalf("%v; %v", got, said(r))
			}
			if last := r.Problems[len(r.Problems)-1].Message.String(); !strings.Contains(last, row.says) {
				t.Errorf("it says: %s", last)
			}
		})
	}
}

// years sets up a season for each year that a sheet is of.
func years(m *importing.Mapping) { m.MakeSeasons = true }

func itoa(n int) string { return strconv.Itoa(n) }

// One name is one count of a yard's hives on a day.
func TestACountThatStandsInTwoNumbersIsAskedAbout(t *testing.T) {
	t.Parallel()
	const head = "Date,Yard,Count,Hives\n2026-05-01,Mill,spring,40\n"
	for rows, want := range map[string][]string{
		"2026-05-01,Mill,Spring,38\n":  {"3D two_values"},
		"2026-05-01,Mill,evening,38\n": nil,
		"2026-05-01,Ridge,spring,38\n": nil,
		"2026-05-02,Mill,spring,38\n":  nil,
		"2026-05-01,Mill,spring,40\n":  {"3 stands_twice"},
	} {
		h := newHouse()
		if got := problems(h.check(t, head+rows, h.guess(t, importing.HiveCounts, head+rows))); !slices.Equal(got, want) {
			t.Errorf("%q: %v", rows, got)
		}
	}
}
