package importing_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/tables"
)

func marshal(t testing.TB, v any) json.RawMessage {
	t.Helper()
	out, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestBadInputIsNamedByRowAndColumn goes through what is found in sheets, and what
// is said of each cell.
func TestBadInputIsNamedByRowAndColumn(t *testing.T) {
	t.Parallel()
	const drums = "Drum,Lot,Date,Tank,Type,Gross lb,Tare lb\n"
	const pulls = "Date,Yard,Supers,Kind,Gross,Note\n"
	for _, row := range []struct {
		what, text string
		kind       importing.Kind
		want       []string
		says       string
	}{
		{"a reference that is broken", pulls + "2026-07-06,Mill,12,deep,#REF!,\n", importing.Pulls, []string{"2E sheet_error"}, "could not work this cell out"},
		{"a date of either order", pulls + "6/7/26,Mill,12,deep,,\n", importing.Pulls, []string{"2A two_dates"}, "This can be 6 July 2026 or 7 June 2026"},
		{"dates with dots, of either order", pulls + "7.6.25,Mill,12,deep,,\n8.6.25,Mill,12,deep,,\n", importing.Pulls, []string{"2A two_dates"}, "This can be 7 June 2025 or 6 July 2025"},
		{"dates without a year", pulls + "14 July,Mill,12,deep,,\n15 July,Mill,12,deep,,\n", importing.Pulls, []string{"2A no_year"}, "The date has no year"},
		{"dates of two figures", pulls + "7-14,Mill,12,deep,,\n7-15,Mill,12,deep,,\n", importing.Pulls, []string{"2A no_year"}, "The date has no year"},
		{"dates of two figures and either order", pulls + "7-6,Mill,12,deep,,\n", importing.Pulls, []string{"2A two_dates"}, "This can be"},
		{"real dates among texts that were turned round", pulls + "2026-06-07,Mill,12,deep,,\n13/07/2026,Mill,12,deep,,\n", importing.Pulls, []string{"2A turned_dates"}, "of which this is 7 June 2026. A program that expects the other order turns such dates round: was 6 July 2026 written?"},
		{"a weight without a unit", pulls + "2026-07-06,Mill,12,deep,600,\n2026-07-07,Mill,12,deep,600,\n", importing.Pulls, []string{"2E no_unit"}, "In which unit is this?"},
		{"a weight that is words", pulls + "2026-07-06,Mill,12,deep,heavy,\n", importing.Pulls, []string{"2E no_figure"}, "A figure is needed here"},
		{"a figure of either mark", pulls + "2026-07-06,Mill,12,deep,\"1,234 kg\",\n", importing.Pulls, []string{"2E two_figures"}, "This can be 1.234 or 1234"},
		{"a figure of either mark between tabs", "Date\tYard\tSupers\tKind\tGross kg\n2026-07-06\tMill\t12\tdeep\t1.234\n", importing.Pulls, []string{"2E two_figures"}, "This can be 1.234 or 1234"},
		{"a figure of either mark in a file with quotes", pulls + "2026-07-06,Mill,12,deep,1.234 kg,\"rain, then sun\"\n", importing.Pulls, []string{"2E two_figures"}, "This can be 1.234 or 1234"},
		{"a letter for a nought", pulls + "2026-07-06,Mill,4O,deep,,\n", importing.Pulls, []string{"2C text_behind_figure"}, `Behind the figure stands "o"`},
		{"boxes by the pallet", pulls + "2026-07-06,Mill,2 pallets,deep,,\n", importing.Pulls, []string{"2C text_behind_figure"}, `"pallets"`},
		{"boxes by the dozen", pulls + "2026-07-06,Mill,3 dozen,deep,,\n", importing.Pulls, []string{"2C text_behind_figure"}, `"dozen"`},
		{"boxes of another kind than the column's", "Date,Yard,Deep\n2026-07-06,Mill,12 shallow\n", importing.Pulls, []string{"2C text_behind_figure"}, `"shallow"`},
		{"half a box by one sign", pulls + "2026-07-06,Mill,40½,deep,,\n", importing.Pulls, []string{"2C out_of_range"}, "A whole number"},
		{"a weight with a letter for a nought", pulls + "2026-07-06,Mill,12,deep,60O kg,\n", importing.Pulls, []string{"2E no_unit"}, `"o kg"`},
		{"a moisture with a letter for a nought", "Date,Tank,Moisture\n2026-07-06,sump,17.O\n", importing.Readings, []string{"2C text_behind_figure"}, `"o"`},
		{"HMF in a unit of its own", "Date,Tank,HMF,Method\n2026-07-06,sump,3 mg/L,HPLC\n", importing.Readings, []string{"2C text_behind_figure"}, `"mg/l"`},
		{"a place in degrees and minutes", "Yard,Lat,Long\nAlder Bend,49° 30',-97\n", importing.Yards, []string{"2B no_figure"}, "A figure is needed"},
		{"a yard spelt nearly like one", pulls + "2026-07-06,Mlil,12,deep,,\n", importing.Pulls, []string{"2B unknown_name"}, `Was "Mill" meant?`},
		{"a yard that is none", pulls + "2026-07-06,Birchwood,12,deep,,\n", importing.Pulls, []string{"2B unknown_name"}, "to be set up"},
		{"half a box", pulls + "2026-07-06,Mill,12.5,deep,,\n", importing.Pulls, []string{"2C out_of_range"}, "A whole number"},
		{"no date", pulls + ",Mill,12,deep,,\n2026-07-06,Mill,12,deep,,\n", importing.Pulls, []string{"2A no_date"}, "no date"},
		{"a date that is none", pulls + "31/6/2026,Mill,12,deep,,\n", importing.Pulls, []string{"2A no_date"}, "A date is needed"},
		{"a season long gone", pulls + "2019-07-06,Mill,12,deep,,\n", importing.Pulls, []string{"2A no_season"}, "no season with this day of 2019"},
		{"a day to come", pulls + "2026-12-24,Mill,12,deep,,\n", importing.Pulls, []string{"2A refused_by_book"}, "ahead of now"},
		{"a row that says it is a total", pulls + "2026-07-06,Mill,12,deep,,\nTotal,,12,,,\n", importing.Pulls, []string{"3 looks_like_a_total"}, "sum of the others"},
		{"a last row that sums and does not say so", pulls + "2026-07-06,Mill,12,deep,,\n2026-07-07,Mill,9,deep,,\n,,21,,,\n", importing.Pulls, []string{"4 looks_like_a_total"}, ""},
		{"a run that is a month's total", "Date,Run,Tank,Honey kg\n2026-07-06,A,sump,210\n2026-07-31,Total July,sump,210\n", importing.Runs, []string{"3 looks_like_a_total"}, "call it something else"},
		{"a drum that is the total", "Date,Lot,Tank,Drum,Type,Net kg\n2026-07-06,OLD,sump,D-1,drum,290\n2026-07-31,OLD,sump,Total,drum,290\n", importing.Containers, []string{"3 looks_like_a_total"}, ""},
		{"a count that is the total", "Date,Yard,Count,Hives\n2026-06-07,Ridge,June total,70\n", importing.HiveCounts, []string{"2 looks_like_a_total"}, ""},
		{"a subtotal by its note", "Date,From,To,Amount kg,Note\n2026-07-06,sump,large tank,100,\n2026-07-08,sump,large tank,200,Subtotal\n", importing.Transfers, []string{"3 looks_like_a_total"}, ""},
		{"a time of day beside a date that has another", "Date,Time,Tank,Temp C\n2026-07-06 09:00,10:00,sump,38\n", importing.TemperatureLogs, []string{"2B two_values"}, "has a time of day of its own"},
		{"a decimal comma with room behind it", "Date,Tank,Temp C,\n2026-07-06 10:00,sump,38,5\n", importing.TemperatureLogs, []string{"2D too_many_fields"}, "Does a comma part"},
		{"a comma that parts thousands, with a note left out", "Date,Yard,Supers,Kind,Gross kg,Note\n2026-07-06,Mill,40,deep,1,432\n", importing.Pulls, []string{"2F too_many_fields"}, "Does a comma part"},
		{"headings again without the unit", "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,12,deep,432\nDate,Yard,Supers,Kind,Gross\n2026-07-08,Mill,12,deep,950\n", importing.Pulls, []string{"3 two_values"}, "not all of them are those of their columns"},
		{"headings again with one more column", "Date,Yard,Supers,Kind,Gross kg,\n2026-07-06,Mill,12,deep,432,\nDate,Yard,Supers,Kind,,Gross lb\n2026-07-08,Mill,12,deep,,950\n", importing.Pulls, []string{"3 two_values"}, "Headings stand here again"},
		{"more boxes than there are, as where 3-4 was taken for a date", pulls + "2026-07-06,Mill,46085,deep,,\n2026-07-07,Mill,40 420,deep,,\n", importing.Pulls, []string{"2C out_of_range", "3C out_of_range"}, "from 0 to 9999"},
		{"am or pm in a column of its own", "Date,Time,AM/PM,Tank,Temp C\n2026-07-06,2:00,PM,sump,38\n", importing.TemperatureLogs, []string{"2B no_date"}, "write it behind the time"},
		{"a logger in a tank and a room", "Date,Tank,Room,Temp C\n2026-07-06 10:00,sump,store,38\n2026-07-06 11:00,sump,store,38\n", importing.TemperatureLogs, []string{"2C two_values"}, "names a tank and a room"},
		{"headings again in other words and another order", "Date,Yard,Supers,Hives,Kind\n2026-07-06,Mill,12,30,deep\nDay,Apiary,Colonies,Boxes,Size\n2026-07-08,Mill,30,12,deep\n", importing.Pulls, []string{"3 two_values"}, "Headings stand here again"},
		{"several drums in a row", "Date,Lot,Tank,Drum,Type,Net kg\n2026-07-06,OLD,sump,D-1 to D-12,drum,290\n2026-07-06,OLD,sump,\"D-13, D-14\",drum,290\n", importing.Containers, []string{"2D two_values", "3D two_values"}, "names several"},
		{"tare and net the wrong way round", "Date,Lot,Tank,Drum,Type,Gross kg,Tare kg,Net kg\n2026-07-06,OLD,sump,D-1,drum,307,290,17\n", importing.Containers, []string{"2G out_of_range"}, "The tare is above the net"},
		{"a mark for what is above in a lot's product", "Date,Lot,Product\n2026-07-06,L1,clover\n2026-07-07,L2,\"\"\"\"\n", importing.Lots, []string{"3C missing"}, "This stands for what is above it"},
		{"a formula for a yard", pulls + "2026-07-06,\"=cmd|' /C calc'!A0\",12,deep,,\n", importing.Pulls, []string{"2B formula"}, "no name"},
		{"net above gross", "Drum,Lot,Date,Tank,Type,Gross lb,Net lb\nD-1,OLD,2026-07-06,sump,drum,600,650\n", importing.Containers, []string{"2G out_of_range"}, "the wrong way round"},
		{"a moisture ten times too much", "Date,Tank,Moisture\n2026-07-06,sump,178\n", importing.Readings, []string{"2C refused_by_book"}, "did you mean 17.8?"},
		{"Brix for moisture", "Date,Tank,Moisture\n2026-07-06,sump,81.2\n", importing.Readings, []string{"2C refused_by_book"}, "degrees Brix"},
		{"a drum twice", drums + "D-1,OLD,2026-07-06,sump,drum,680,40\nD-1,OLD,2026-07-07,sump,drum,690,40\n", importing.Containers, []string{"3A refused_by_book"}, "in use"},
		{"a drum too heavy to be", drums + "D-1,OLD,2026-07-06,sump,drum,1680,40\n", importing.Containers, []string{"2F refused_by_book"}, "holds at most"},
		{"a temperature of neither unit", "Date,Tank,Temp\n2026-07-06 10:00,sump,38\n", importing.TemperatureLogs, []string{"2C no_unit"}, "In which unit"},
		{"a logger on fire", "Date,Tank,Temp C\n2026-07-06 10:00,sump,380\n", importing.TemperatureLogs, []string{"2C out_of_range"}, ""},
		{"two temperatures at once", "Date,Tank,Temp C\n2026-07-06 10:00,sump,38\n2026-07-06 10:00,sump,39\n", importing.TemperatureLogs, []string{"3C two_values"}, "already has 38"},
		{"HMF without its method", "Date,Tank,HMF\n2026-07-06,sump,12\n", importing.Readings, []string{"2C refused_by_book"}, "method"},
		{"dates of both orders", "Date,Yard,Supers,Kind\n13/7/2026,Mill,1,deep\n7/14/2026,Mill,1,deep\n6/7/2026,Mill,1,deep\n", importing.Pulls, []string{"4A two_dates"}, "others the month"},
		{"a day's number in a text file", pulls + "46209,Mill,12,deep,,\n", importing.Pulls, []string{"2A no_date"}, "by which a spreadsheet keeps a day"},
		{"two columns of one name that say two things", "Date,Yard,Supers,Kind,Gross kg,Gross kg\n2026-07-06,Mill,12,deep,600,610\n", importing.Pulls, []string{"0F two_values"}, "Columns E and F"},
		{"two tables side by side", "Date,Yard,Supers,Kind,,Date,Yard,Supers,Kind\n2026-07-06,Mill,12,deep,,2026-07-07,Ridge,3,deep\n", importing.Pulls, []string{"0F two_values", "0G two_values", "0H two_values"}, "only one can be"},
		{"a column twice for a kind of super", "Date,Yard,Deep,Deep\n2026-07-06,Mill,12,3\n", importing.Pulls, []string{"0D two_values"}, "supers deep"},
		{"a decimal comma between commas", "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,12,deep,600,5\n", importing.Pulls, []string{"2F too_many_fields"}, "6 fields, for 5 headings"},
		{"a comma in a note", pulls + "2026-07-06,Mill,12,deep,,rain, then sun\n", importing.Pulls, []string{"2G too_many_fields"}, "in quotes"},
		{"headings and nothing below", "Date,Yard,Supers,Kind\n", importing.Pulls, []string{"1 missing"}, "no row to read"},
		{"honey that goes nowhere", "Date,Run,Honey kg\n2026-07-10,first,500\n", importing.Runs, []string{"2C missing"}, "Into which tank"},
		{"a table without headings", "2026-07-06,Mill,12,deep\n2026-07-07,Ridge,3,deep\n", importing.Pulls, []string{"0 missing"}, "supers"},
		{"yards side by side", "Date,Mill,Ridge,Supers,Kind\n2026-07-06,12,3,15,deep\n", importing.Pulls, []string{"0 wide_sheet"}, "Say what the cells are"},
		{"a name with a character that steers", "Yard\nAlder\x1b Bend\n", importing.Yards, []string{"2A out_of_range"}, "U+001B"},
		{"half a place", "Yard,Lat,Long\nAlder Bend,49.5,\n", importing.Yards, []string{"2C missing"}, "a latitude and a longitude"},
		{"a yard of the book with another registration", "Yard,Reg no\nMill,XX-1\n", importing.Yards, []string{"2B two_values"}, "is in the book"},
		{"a yard twice with two registrations", "Yard,Reg no\nAlder Bend,A\nAlder  bend,B\n", importing.Yards, []string{"3B two_values"}, "in a row above"},
		{"a yard named like a sum", "Yard\nTotal Acres\n", importing.Yards, []string{"2A looks_like_a_total"}, "a yard's name"},
		{"a lot twice with two dates", "Lot,Date\nL-1,2026-07-06\nL-1,2026-07-08\n", importing.Lots, []string{"3B two_values"}, "with something else"},
		{"a humidity that is a part of one", "Date,Tank,Temp C,RH\n2026-07-06 10:00,sump,38,0.55\n", importing.TemperatureLogs, []string{"2D out_of_range"}, "in per cent"},
		{"a column that is missing", "Date,Supers,Kind\n2026-07-06,12,deep\n", importing.Pulls, []string{"0 missing"}, "yard"},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			h.SetUp(&ledger.Room{Name: "store", Use: ledger.Store})
			h.Write(24, &ledger.Lot{Code: "OLD"})
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

// Midnight behind a date is no time of day where a column of its own has one.
func TestATimeOfDayInItsColumnStandsAboveMidnightBehindTheDate(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.TemperatureLogs, "Date,Time,Tank,Temp C\n2026-07-06 00:00:00,14:30,sump,38\n2026-07-07 09:00,09:00:20,sump,39\n")
	var got []string
	for _, l := range bodies[ledger.TemperatureLog](h) {
		for _, p := range l.Points {
			got = append(got, p.At.UTC().Format("02 15:04:05"))
		}
	}
	if want := []string{"06 14:30:00", "07 09:00:00"}; !reflect.DeepEqual(got, want) {
		t.Errorf("the logger's times are %v, and should be %v", got, want)
	}
}

// A yard named like a sum is one where that is said of its name.
func TestAYardNamedLikeASumComesInWhenThatIsSaid(t *testing.T) {
	t.Parallel()
	h := newHouse()
	r := h.bring(t, importing.Yards, "Yard\nMean Hill\nTotal\n", func(m *importing.Mapping) {
		m.LeaveOutTotals = true
		m.Names = map[importing.Noun]map[string]importing.Choice{"yard": {"Mean Hill": {Create: &importing.Thing{}}}}
	})
	if got := bodies[ledger.Yard](h); len(got) != 1 || got[0].Name != "Mean Hill" || r.LeftOut != 1 {
		t.Errorf("%+v, %d left out", got, r.LeftOut)
	}
	if importing.NounOf(importing.Yards, importing.FieldName) != importing.NounYard {
		t.Error("the page cannot ask what a yard in a table of yards is")
	}
}

// A time that no clock showed is asked about; the hour that clocks show twice is
// told by the order of a log's rows.
func TestAnHourThatIsMissingOrComesTwiceIsReadAsItWas(t *testing.T) {
	t.Parallel()
	winnipeg, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	h := newHouse()
	read := func(kind importing.Kind, text string) *importing.Result {
		book, err := ledger.Open(winnipeg, h.Entries)
		if err != nil {
			t.Fatal(err)
		}
		m, err := importing.Guess(book, table(t, text), kind)
		if err != nil {
			t.Fatal(err)
		}
		r, err := importing.Take(book.Ahead(), table(t, text), m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := read(importing.Readings, "Date,Time,Tank,Moisture\n2026-03-08,2:30,sump,17.4\n2026-03-08,3:30,sump,17.4\n")
	if got := problems(r); !reflect.DeepEqual(got, []string{"2B no_date"}) || !strings.Contains(said(r)[0], "02:30-06:00") {
		t.Errorf("%v %v", got, said(r))
	}
	r = read(importing.Readings, "Date,Tank,Moisture\n2026-03-08 02:30-0600,sump,17.4\n2026-03-08 02:30 -06,sump,17.5\n")
	if r.AllProblems > 0 || !r.First[0].Entry.OccurredAt.Equal(time.Date(2026, 3, 8, 8, 30, 0, 0, time.UTC)) {
		t.Errorf("%v %v", problems(r), r.First)
	}
	r = read(importing.TemperatureLogs, "\"#\",\"Date Time, GMT-06:00\",\"Temp, °F (LGR S/N: 1234567, SEN S/N: 1234567)\",Tank\n1,07/16/26 01:05:00 PM,86,sump\n2,03/08/26 02:30:00 AM,68,sump\n")
	if points := r.First[0].Entry.Body.(*ledger.TemperatureLog).Points; r.AllProblems > 0 || points[0].TemperatureC != 20 || !points[0].At.Equal(time.Date(2026, 3, 8, 8, 30, 0, 0, time.UTC)) {
		t.Errorf("a logger that says its offset in the heading: %v %v", said(r), points)
	}
	var log strings.Builder
	log.WriteString("Timestamp,Tank,Temp C\n")
	for i, at := range []string{"00:30", "01:00", "01:30", "01:00", "01:30", "02:00"} {
		fmt.Fprintf(&log, "2026-11-01 %s,sump,%d\n2026-11-01 %s,large tank,%d\n", at, 20+i, at, 30+i)
	}
	r = read(importing.TemperatureLogs, log.String())
	if r.AllProblems > 0 || len(r.First) != 2 {
		t.Fatalf("%v %v", problems(r), said(r))
	}
	for _, taken := range r.First {
		points := taken.Entry.Body.(*ledger.TemperatureLog).Points
		if len(points) != 6 {
			t.Fatalf("%d points", len(points))
		}
		for i, p := range points {
			if want := time.Date(2026, 11, 1, 5, 30+30*i, 0, 0, time.UTC); !p.At.Equal(want) || int(p.TemperatureC)%10 != i {
				t.Errorf("point %d: %v at %s, and it was at %s", i, p.TemperatureC, p.At, want)
			}
		}
	}
}

func said(r *importing.Result) (out []string) {
	for _, p := range r.Problems {
		out = append(out, p.Message.String())
	}
	return out
}

// A problem that many rows have is said once, and its rows are counted.
func TestAProblemOfManyRowsIsSaidOnce(t *testing.T) {
	t.Parallel()
	h := newHouse()
	text := "Date,Yard,Supers,Kind\n" + strings.Repeat("2026-07-06,Mlil,12,deep\n", 300)
	r := h.check(t, text, h.guess(t, importing.Pulls, text))
	if len(r.Problems) != 1 || r.Problems[0].More != 299 || r.AllProblems != 300 {
		t.Errorf("%d problems, the first of %d rows more", len(r.Problems), r.Problems[0].More)
	}
}

// What mends a problem is said in its mapping, and then mends it.
func TestWhatIsAskedCanBeAnswered(t *testing.T) {
	t.Parallel()
	const text = "Date,Yard,Supers,Kind,Gross\n6/7/24,Mlil,12,deep,600\n\n6/8/24,Birchwood,5,ten-frame deep,250\nTotal,,17,,850\n"
	h := newHouse()
	m := h.guess(t, importing.Pulls, text)
	r := h.check(t, text, m)
	if got := problems(r); !reflect.DeepEqual(got, []string{"2A two_dates", "5 looks_like_a_total"}) {
		t.Fatalf("%v", got)
	}
	m.Dates, m.LeaveOutTotals, m.MakeSeasons = tables.DayFirst, true, true
	m.Columns[4].Unit = importing.Pounds
	m.Names = map[importing.Noun]map[string]importing.Choice{
		"yard":       {"Mlil": {Is: "Mill"}, "birchwood": {Create: &importing.Thing{}}},
		"super_kind": {"ten-frame deep": {Create: &importing.Thing{TareKg: 13, UsualNetKg: 27, FullestNetKg: 36}}},
	}
	r = h.check(t, text, m)
	if r.AllProblems > 0 {
		t.Fatalf("%v", said(r))
	}
	want := map[ledger.Kind]int64{ledger.KindSeason: 1, ledger.KindYard: 1, ledger.KindSuperKind: 1, ledger.KindPull: 2}
	if !reflect.DeepEqual(r.Entries, want) || r.LeftOut != 1 || r.Rows != 3 || r.Sums["supers"] != 17 {
		t.Errorf("%v, %d left out of %d rows, %v", r.Entries, r.LeftOut, r.Rows, r.Sums)
	}
	if len(r.First) != 5 || r.First[0].Row != 2 || r.First[0].Entry.Kind != ledger.KindSeason {
		t.Errorf("the first: %+v", r.First)
	}
}

// Two new yards spelt alike are asked about, though all new yards are to be set up.
func TestTwoYardsSpeltAlikeAreNeverTakenForTwoSilently(t *testing.T) {
	t.Parallel()
	const text = "Date,Yard,Supers,Kind\n2026-07-06,Birch Hollow,12,deep\n2026-07-07,Birch Holow,5,deep\n"
	h := newHouse()
	m := h.guess(t, importing.Pulls, text)
	m.Names = map[importing.Noun]map[string]importing.Choice{"yard": {"*": {Create: &importing.Thing{}}}}
	r := h.check(t, text, m)
	if got := problems(r); !reflect.DeepEqual(got, []string{"3B alike_names"}) || r.Problems[0].DidYouMean[0] != "Birch Hollow" {
		t.Fatalf("%v", got)
	}
	m.Names["yard"]["Birch Holow"] = importing.Choice{Create: &importing.Thing{}}
	if r := h.check(t, text, m); r.AllProblems > 0 || r.Entries[ledger.KindYard] != 2 {
		t.Errorf("%v", said(r))
	}
	r = h.check(t, "Yard\nBirch Hollow\nBirch-Hollow\n", h.guess(t, importing.Yards, "Yard\nBirch Hollow\nBirch-Hollow\n"))
	if got := problems(r); !reflect.DeepEqual(got, []string{"3A alike_names"}) {
		t.Errorf("%v", got)
	}
}

// A text that begins like a formula is kept as the text that it is.
func TestANoteThatBeginsLikeAFormulaIsKeptAsText(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Pulls, "Date,Yard,Supers,Kind,Note\n2026-07-06,Mill,12,deep,\"=cmd|' /C calc'!A0\"\n")
	if got := bodies[ledger.Pull](h); len(got) != 1 || got[0].Note != "=cmd|' /C calc'!A0" {
		t.Errorf("%+v", got)
	}
}

func TestASheetOfTwoHundredColumnsIsReadByThoseThatMatter(t *testing.T) {
	t.Parallel()
	h := newHouse()
	head, row := []string{"Date", "Yard", "Supers", "Kind"}, []string{"2026-07-06", "Mill", "12", "deep"}
	for i := range 196 {
		head, row = append(head, fmt.Sprint("field ", i)), append(row, fmt.Sprint(i*7))
	}
	r := h.bring(t, importing.Pulls, strings.Join(head, ",")+"\n"+strings.Join(row, ",")+"\n")
	if r.New() != 1 || len(r.Mapping.Columns) != 200 || r.Mapping.Columns[199].Column != "GR" {
		t.Errorf("%d new, %d columns", r.New(), len(r.Mapping.Columns))
	}
}

// A heading that is repeated, as on each printed page, is no row.
func TestHeadingsThatAreRepeatedAreLeftOut(t *testing.T) {
	t.Parallel()
	h := newHouse()
	r := h.bring(t, importing.Pulls, "Date,Yard,Supers,Kind\n2026-07-06,Mill,12,deep\nDATE,YARD,SUPERS,KIND\n2026-07-08,Mill,1,deep\n")
	if r.New() != 2 || r.LeftOut != 1 {
		t.Errorf("%d new, %d left out", r.New(), r.LeftOut)
	}
}

// Whatever is in a table, it is read to the end, and what is emitted opens as a
// book.
func FuzzTake(f *testing.F) {
	f.Add("readings", "Date,Tank,Moisture\n2026-07-06,sump,17.4\n")
	f.Add("pulls", "Date,Yard,Deep,Gross lb\n6/7/26,Mill,12,\"1,234\"\nTotal,,12,\n")
	f.Add("containers", "Drum,Lot,Date,Tank,Type,Gross lb\nD1,,2026-07-06,sump,drum,600 kg\n")
	f.Add("temperature_logs", "t,date,tank\n38 C,2026-07-06T10:00:00Z,sump\n")
	f.Add("yards", "name;lat\nñ;91\n")
	f.Add("hive_counts", "Date,Yard,Hives,Count\n2026-06-20,Mill,24,main flow\n2026-06-20,Mill,24,main flow\n")
	f.Add("run_supers", "Run date,Run,Yard,Pulled,Deep,Shallow\n2026-07-02,1,Mill,2026-07-01,20,3\n,1,Mill,,4,\n")
	f.Add("transfers", "Date,From,To,kg\n2026-07-06,sump,large tank,100 kg\n2026-07-06,large tank,sump,1 lb\n")
	f.Add("sales", "Date,Buyer,Drum,Lot,How many,Net kg\n2025-10-01,packer,D1 to D3,OLD,3,900\n2025-10-01,packer,,OLD,,\n")
	f.Fuzz(func(t *testing.T, kind, text string) {
		h := newHouse()
		run, pull := h.Run(24, "1"), h.Pull(0, h.Mill, 20, 0)
		h.Supers(24, run, pull, 3)
		lot := h.Lot(25, "OLD")
		for _, number := range []string{"D1", "D2", "D3", "2-3"} {
			h.Fill(26, lot, h.Settling, number, 290_000)
		}
		found, _, err := tables.CSV([]byte(text))
		if err != nil {
			return
		}
		m, err := importing.Guess(h.book(t), found, importing.Kind(kind))
		if err != nil {
			return
		}
		m.MakeSeasons = true
		m.Names = map[importing.Noun]map[string]importing.Choice{"yard": {"*": {Create: &importing.Thing{}}}, "lot": {"*": {Create: &importing.Thing{}}}}
		m.Fixed = map[importing.Field]string{}
		r, err := importing.Take(h.book(t).Ahead(), found, m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, func(e *ledger.Entry) error {
			h.Put(*e)
			return nil
		})
		if err != nil {
			return
		}
		if r.HadRows+r.LeftOut > r.Rows {
			t.Errorf("%d rows, %d had, %d left out", r.Rows, r.HadRows, r.LeftOut)
		}
		h.book(t)
	})
}
