package tables_test

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"pgregory.net/rapid"

	"pullbook/domain/fault"
	"pullbook/domain/tables"
)

// rows reads a file as rows behind their numbers.
func rows(t testing.TB, data []byte) (out []string) {
	t.Helper()
	table, _, err := tables.CSV(data)
	if err != nil {
		t.Fatal(err)
	}
	if err := table.Rows(func(row int, cells []string) bool {
		out = append(out, fmt.Sprint(row, ": ", strings.Join(cells, " | ")))
		return true
	}); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestATableIsReadInWhateverEncodingItWasSaved(t *testing.T) {
	t.Parallel()
	const text = "Colmenar;Peso\r\nPeñón;17,4\r\n"
	want := []string{"1: Colmenar | Peso", "2: Peñón | 17,4"}
	for _, row := range []struct {
		found string
		with  encoding.Encoding
		mark  string
	}{
		{tables.UTF8, encoding.Nop, ""},
		{tables.UTF8, encoding.Nop, "\xef\xbb\xbf"},
		{tables.UTF16LE, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), ""},
		{tables.UTF16BE, unicode.UTF16(unicode.BigEndian, unicode.UseBOM), ""},
		{tables.UTF16LE, unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), ""},
		{tables.UTF16BE, unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM), ""},
		{tables.Windows1252, charmap.Windows1252, ""},
	} {
		data, err := row.with.NewEncoder().Bytes([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		data = append([]byte(row.mark), data...)
		_, found, err := tables.CSV(data)
		if err != nil || found != row.found {
			t.Errorf("%s was taken for %s, %v", row.found, found, err)
		}
		if got := rows(t, data); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %q", row.found, got)
		}
	}
	if _, _, err := tables.CSV([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")); !errors.Is(err, tables.ErrNoText) {
		t.Errorf("a picture was taken for a table: %v", err)
	}
}

func TestFieldsArePartedByWhateverPartsThem(t *testing.T) {
	t.Parallel()
	want := []string{"1: Yard | net lb | moisture", "2: Mill, Race | 17,4 | 18", "5: Alder | 9 | 17"}
	for separator, text := range map[string]string{
		",":   "Yard,net lb,moisture\n\"Mill, Race\",\"17,4\",18\n\n\nAlder,9,17\n",
		";":   "Yard;net lb;moisture\nMill, Race;17,4;18\n;;\n\nAlder;9;17\n",
		"\t":  "Yard\tnet lb\tmoisture\nMill, Race\t17,4\t18\n\n\t\t\nAlder\t9\t17\n",
		"|":   "Yard|net lb|moisture\nMill, Race|17,4|18\n\n\nAlder|9|17\n",
		"sep": "sep=;\nYard;net lb;moisture\nMill, Race;17,4;18\n\n\nAlder;9;17",
	} {
		got := rows(t, []byte(text))
		expected := want
		if separator == "sep" {
			expected = []string{"2: Yard | net lb | moisture", "3: Mill, Race | 17,4 | 18", "6: Alder | 9 | 17"}
		}
		if !reflect.DeepEqual(got, expected) {
			t.Errorf("%q: %q", separator, got)
		}
	}
}

// What stands in quotes parts nothing, and a decimal comma parts less than what is
// between the figures.
func TestTheSeparatorIsWhatPartsMost(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]rune{
		"Date,Yard,Note\n6 Jul 2026,Mill,\"a;b;c\"\n7 Jul 2026,Mill,\"d;e;f\"\n":      ',',
		"Yard;kg;lb\nMill;17,4;38,4\nAlder;9,5;20,9\nRidge, the;1,5;3,3\n":            ';',
		"Yard;Note\nMill;by, the, road\nAlder;on, a, hill\n":                          ';',
		"Sedge Hollow, the house\nYard\tNote\nMill\tby, the road\nAlder\twet, cold\n": '\t',
		"Yard\nMill\n": ',',
	} {
		table, _, err := tables.CSV([]byte(text))
		if err != nil || table.Separator != want {
			t.Errorf("%q is parted by %q, %v", text, table.Separator, err)
		}
	}
}

// A line that is broken within quotes is one row, as in a spreadsheet.
func TestRowsAreCountedAsASpreadsheetCountsThem(t *testing.T) {
	t.Parallel()
	got := rows(t, []byte("yard,note\nMill,\"wet\nwindy\"\nAlder,dry\n"))
	if !reflect.DeepEqual(got, []string{"1: yard | note", "2: Mill | wet\nwindy", "3: Alder | dry"}) {
		t.Errorf("%q", got)
	}
}

// An old Macintosh ends its lines with a carriage return alone.
func TestLinesEndAsThereAndThenTheyEnded(t *testing.T) {
	t.Parallel()
	for _, end := range []string{"\n", "\r\n", "\r"} {
		got := rows(t, []byte(strings.Join([]string{"yard;note", "Mill;wet", "", "Alder;dry", ""}, end)))
		if !reflect.DeepEqual(got, []string{"1: yard | note", "2: Mill | wet", "4: Alder | dry"}) {
			t.Errorf("%q: %q", end, got)
		}
	}
}

// What is wrong with a text as a table is said with its row or line.
func TestATextThatIsNoTableIsRefusedWithItsRow(t *testing.T) {
	t.Parallel()
	for what, row := range map[string]struct{ text, says string }{
		"a quote that is never closed": {"yard,note\nMill,\"wet\nAlder,dry\nRidge,dry\n", "opened in row 2"},
		"too many columns":             {"yard\n" + strings.Repeat(",", 1200) + "\n", "Row 2 has 1201 columns"},
	} {
		table, _, err := tables.CSV([]byte(row.text))
		if err != nil {
			t.Fatal(err)
		}
		err = table.Rows(func(int, []string) bool { return true })
		if fault.CodeOf(err) != fault.Malformed || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: %v", what, err)
		}
	}
	_, _, err := tables.CSV([]byte("yard\nMill\nAl\x00der\n"))
	if zeroBytes := new(tables.ZeroBytesError); !errors.As(err, &zeroBytes) || zeroBytes.Line != 3 {
		t.Errorf("zero bytes: %v", err)
	}
	if got := rows(t, []byte("yard,note\nMill,6 5/8\" boxes\nAlder,\"wet\nwindy\"\n")); len(got) != 3 {
		t.Errorf("an inch and a broken line: %q", got)
	}
}

func TestFiguresAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		text  string
		mark  tables.Mark
		value float64
		unit  string
		less  bool
	}{
		{"17.4", 0, 17.4, "", false}, {"17,4", 0, 17.4, "", false}, {" 17,4 % ", 0, 17.4, "%", false},
		{"61 lb", 0, 61, "lb", false}, {"61lbs.", 0, 61, "lbs", false}, {"-3", 0, -3, "", false},
		{"1,234.5 kg", 0, 1234.5, "kg", false}, {"1.234,5", 0, 1234.5, "", false}, {"1 234,5", 0, 1234.5, "", false},
		{"1 234 567", 0, 1234567, "", false}, {"1'234.50", 0, 1234.5, "", false}, {"1,234,567", 0, 1234567, "", false},
		{"1,234", '.', 1234, "", false}, {"1,234", ',', 1.234, "", false}, {"1.234", ',', 1234, "", false}, {"1.234", '.', 1.234, "", false},
		{"0,125", 0, 0.125, "", false}, {"0.125", 0, 0.125, "", false}, {"<3", 0, 3, "", true}, {"< 1.5 mg/kg", 0, 1.5, "mg/kg", true},
		{"40½", 0, 40.5, "", false}, {"17 ½ lb", 0, 17.5, "lb", false}, {"½", 0, 0.5, "", false}, {"-2¼", 0, -2.25, "", false}, {"1⅓ kg", 0, 4. / 3, "kg", false},
		{"80½ LB", ',', 80.5, "lb", false}, {"17.4 g/100 g", 0, 17.4, "g/100 g", false},
		// What stands behind a figure is told, whatever it may mean.
		{"4O", 0, 4, "o", false}, {"17.O", 0, 17, "o", false}, {"3 dozen", 0, 3, "dozen", false}, {"17²", 0, 17, "²", false},
		{"'61", 0, 61, "", false}, {"38 °C", 0, 38, "°c", false}, {"1234.567", 0, 1234.567, "", false}, {",5", 0, 0.5, "", false},
	} {
		got, err := tables.ParseFigure(row.text, row.mark)
		if want := (tables.Figure{Value: row.value, Unit: row.unit, LessThan: row.less}); err != nil || got != want {
			t.Errorf("%q with the mark %q gives %+v, %v; it is %+v", row.text, row.mark, got, err, want)
		}
	}
	for _, text := range []string{"", "lb", "#REF!", "17-4", "6/7/26", "1e5", "0x10", "Inf", "NaN", "1,23,4", "1.2.3", "12 34", "=1+1", "1_000", "--5", "3 1/2", "1/2", "6/7", "17.4½", "1,000½", "12 of 14", "14:30"} {
		if got, err := tables.ParseFigure(text, 0); err == nil {
			t.Errorf("%q gives %+v", text, got)
		}
	}
}

func TestAFigureThatCanBeTwoThingsIsAskedAbout(t *testing.T) {
	t.Parallel()
	_, err := tables.ParseFigure("1,234 lb", 0)
	var two *tables.TwoFigures
	if !errors.As(err, &two) || two.Decimal != 1.234 || two.Grouped != 1234 || two.Text != "1,234 lb" {
		t.Errorf("%v", err)
	}
}

func TestAColumnSaysWhichMarkItsDecimalsHave(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		cells string
		mark  tables.Mark
	}{
		{"1,234 17,4", ','}, {"1,234 17.4", '.'}, {"1,234", 0}, {"1.234", 0}, {"17 18", 0}, {"1.234,5", ','}, {"17,4 17.5", 0}, {"1.234.567", ','},
	} {
		var m tables.Marks
		for _, cell := range strings.Fields(row.cells) {
			m.Note(cell)
		}
		if got := m.Mark(); got != row.mark {
			t.Errorf("%s: %q", row.cells, got)
		}
	}
}

func TestDatesAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	const day = "2026-07-06"
	for _, row := range []struct {
		text  string
		order tables.Order
		want  string
	}{
		{"2026-07-06", "", day}, {"2026/7/6", "", day}, {"2026.07.06", "", day}, {"20260706", "", day},
		{"6/7/26", tables.DayFirst, day}, {"7/6/26", tables.MonthFirst, day}, {"7/7/26", "", "2026-07-07"},
		{"6.7.2026", tables.DayFirst, day}, {"7.6.26", tables.MonthFirst, day}, {"13.7.26", "", "2026-07-13"}, {"6. 7. 2026", "", day}, {"6 Jul 2026", "", day}, {"6-jul-26", "", day}, {"6 julio 2026", "", day},
		{"July 6, 2026", "", day}, {"Mon, 6 Jul 2026", "", day}, {"Monday, July 6th, 2026", "", day}, {"lunes 6 de julio de 2026", "", day},
		{"13/7/2026", "", "2026-07-13"}, {"7/13/2026", "", "2026-07-13"}, {"1-ene-2026", "", "2026-01-01"},
		{"2026-Jul-06", "", day},
	} {
		w, err := tables.ParseDate(row.text, row.order, 0)
		if got := w.In(time.UTC).Format(time.DateOnly); err != nil || got != row.want || w.HasClock {
			t.Errorf("%q: %s, %v", row.text, got, err)
		}
	}
	for text, want := range map[string]string{
		"2026-07-06 14:30":          "2026-07-06T14:30:00+02:00",
		"2026-07-06T14:30:05.250":   "2026-07-06T14:30:05+02:00",
		"13.7.2026 2:30 PM":         "2026-07-13T14:30:00+02:00",
		"2026-07-06T14:30:00Z":      "2026-07-06T14:30:00Z",
		"2026-07-06 14:30:00-05:00": "2026-07-06T14:30:00-05:00",
		"13/7/2026 12:05 a.m.":      "2026-07-13T00:05:00+02:00",
		"2026-10-25 03:30":          "2026-10-25T03:30:00+01:00", // the clocks went back at three
	} {
		w, err := tables.ParseDate(text, "", 0)
		madrid, _ := time.LoadLocation("Europe/Madrid")
		if got := w.In(madrid).Format(time.RFC3339); err != nil || got != want {
			t.Errorf("%q: %s, %v; it is %s", text, got, err, want)
		}
	}
	for _, text := range []string{"", "6/7", "31/2/2026", "13/13/2026", "2026-13-01", "0/0/2026", "yesterday", "6/7/2026/8", "2026-07-06 25:00", "14:30", "6 Foo 2026", "1e3", "2026-02-30"} {
		if w, err := tables.ParseDate(text, "", 0); err == nil {
			t.Errorf("%q gives %+v", text, w)
		}
	}
}

func TestADateWithoutAYearIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		text  string
		order tables.Order
		want  string
	}{
		{"14 July", "", "2025-07-14"}, {"July 14", "", "2025-07-14"}, {"14-jul", "", "2025-07-14"}, {"14 de julio", "", "2025-07-14"},
		{"7-14", "", "2025-07-14"}, {"14/7", "", "2025-07-14"}, {"14.7.", "", "2025-07-14"}, {"6/7", tables.DayFirst, "2025-07-06"},
	} {
		_, err := tables.ParseDate(row.text, row.order, 0)
		if none := new(tables.NoYearError); !errors.As(err, &none) || none.Text != row.text {
			t.Errorf("%q: %v", row.text, err)
		}
		w, err := tables.ParseDate(row.text, row.order, 2025)
		if got := w.In(time.UTC).Format(time.DateOnly); err != nil || got != row.want {
			t.Errorf("%q in 2025: %s, %v", row.text, got, err)
		}
	}
	if w, err := tables.ParseDate("29 Feb", "", 2025); err == nil {
		t.Errorf("2025 has a 29 February: %+v", w)
	}
	for _, text := range []string{"7.14", "17.4", "14", "July", "26-001", "2026-07"} {
		none := new(tables.NoYearError)
		if _, err := tables.ParseDate(text, "", 0); errors.As(err, &none) {
			t.Errorf("%q is taken for a day of some year", text)
		}
	}
}

func TestADateThatCanBeTwoDaysIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"7.6.25", "7-6", "7.6.2025"} {
		_, err := tables.ParseDate(text, "", 0)
		if two := new(tables.TwoDates); !errors.As(err, &two) {
			t.Errorf("%q: %v", text, err)
		}
	}
	_, err := tables.ParseDate("6/7/26", "", 0)
	var two *tables.TwoDates
	if !errors.As(err, &two) || err.Error() != `"6/7/26" can be 6 July 2026 or 7 June 2026` {
		t.Errorf("%v", err)
	}
	var o tables.Orders
	for _, cell := range []string{"6/7/26", "8/9/26"} {
		o.Note(cell)
	}
	if o.Order() != tables.OrderUnknown || o.Open != 2 {
		t.Errorf("%+v", o)
	}
	o.Note("21/7/26")
	if o.Order() != tables.DayFirst {
		t.Errorf("21/7/26 proves the day first: %+v", o)
	}
	o.Note("7/21/26")
	if o.Order() != tables.OrderUnknown {
		t.Errorf("both orders in one column prove nothing: %+v", o)
	}
}

// The serial numbers are those that spreadsheet programs document: 1 January 2008
// is 39448, and 25 June 2026 at noon 46198.5 (worked out by Python's datetime from
// 30 December 1899).
func TestSerialNumbersAreDates(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		serial float64
		from04 bool
		want   string
	}{{39448, false, "2008-01-01 12:00:00"}, {46198.5, false, "2026-06-25 12:00:00"}, {39448 - 1462, true, "2008-01-01 12:00:00"}, {46198.604166666664, false, "2026-06-25 14:30:00"}} {
		w, ok := tables.FromSerial(row.serial, row.from04)
		if got := w.In(time.UTC).Format(time.DateTime); !ok || got != row.want {
			t.Errorf("%v is %s", row.serial, got)
		}
	}
	for _, no := range []float64{0, 17.4, 652, -1, math.NaN(), math.Inf(1), 1e9} {
		if _, ok := tables.FromSerial(no, false); ok {
			t.Errorf("%v was taken for a date", no)
		}
	}
}

func TestCellsThatAreNoDataAreKnown(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"#REF!", "#N/A", "#DIV/0!", "#VALUE!", "#¡REF!", "####", "Err:508", "#NAME?"} {
		if !tables.IsError(text) {
			t.Errorf("%s passes", text)
		}
	}
	for _, text := range []string{"", "#12", "Mill", "D-1", "Errol"} {
		if tables.IsError(text) {
			t.Errorf("%s is no fault of the sheet", text)
		}
	}
	for text, want := range map[string]bool{"=cmd|' /C calc'!A0": true, "+1+1": true, "@SUM(A1)": true, "-2+3": true, "-3": false, "-": false, "+5": false, "Mill": false} {
		if tables.IsFormula(text) != want {
			t.Errorf("%s: %v", text, !want)
		}
	}
	for text, want := range map[string]bool{"Total": true, "TOTAL:": true, "Total lb": true, "Grand total": true, "Suma": true, "Promedio": true, "Season total": true, "July total": true, "July totality": false, "Totality": false, "Season Farm": false, "Mill": false} {
		if tables.IsTotal(text) != want {
			t.Errorf("%s: %v", text, !want)
		}
	}
}

func TestColumnsAreNamedAsASpreadsheetNamesThem(t *testing.T) {
	t.Parallel()
	for n, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 199: "GR", 701: "ZZ", 702: "AAA"} {
		if got := tables.Column(n); got != want {
			t.Errorf("column %d is %s", n, got)
		}
	}
}

// Whatever figure is written with either mark, grouped or not, is read back.
func TestAFigureWrittenIsReadBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		cents := rapid.Int64Range(-1e11, 1e11).Draw(t, "hundredths")
		grouped := rapid.Bool().Draw(t, "grouped")
		mark := rapid.SampledFrom([]tables.Mark{tables.MarkPoint, tables.MarkComma}).Draw(t, "mark")
		text := strconv.FormatFloat(float64(cents)/100, 'f', 2, 64)
		whole, fraction, _ := strings.Cut(text, ".")
		if grouped {
			sign := strings.HasPrefix(whole, "-")
			whole = strings.TrimPrefix(whole, "-")
			for i := len(whole) - 3; i > 0; i -= 3 {
				whole = whole[:i] + map[tables.Mark]string{'.': ",", ',': "."}[mark] + whole[i:]
			}
			if sign {
				whole = "-" + whole
			}
		}
		written := whole + string(rune(mark)) + fraction
		got, err := tables.ParseFigure(written+rapid.SampledFrom([]string{"", " lb", "kg"}).Draw(t, "unit"), mark)
		if err != nil || got.Value != float64(cents)/100 {
			t.Fatalf("%s is read as %v, %v", written, got.Value, err)
		}
	})
}

// Whatever date is written in an order is read back when the order is told.
func TestADateWrittenIsReadBack(t *testing.T) {
	t.Parallel()
	layouts := map[string]tables.Order{
		"2/1/2006": tables.DayFirst, "02-01-06": tables.DayFirst, "1/2/2006": tables.MonthFirst, "2006-01-02": "", "2 Jan 2006": "", "2.1.2006": tables.DayFirst, "2. 1. 2006": "",
		"20060102": "", "2006-01-02 15:04": "", "2/1/2006 3:04 PM": tables.DayFirst, time.RFC3339: "",
	}
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(946_684_800, 3_000_000_000).Draw(t, "at"), 0).UTC().Truncate(time.Minute)
		for layout, order := range layouts {
			w, err := tables.ParseDate(at.Format(layout), order, 0)
			got := w.In(time.UTC).UTC()
			want := at
			if !strings.Contains(layout, "04") {
				want = time.Date(at.Year(), at.Month(), at.Day(), 12, 0, 0, 0, time.UTC)
			}
			if err != nil || !got.Equal(want) {
				t.Fatalf("%s is read as %s, %v", at.Format(layout), got, err)
			}
		}
	})
}

func FuzzFigure(f *testing.F) {
	for _, seed := range []string{"17,4", "61 lb", "1.234,5", "<3", "1 234", "-", "'", "1e309", "\u00a0", "9999999999999999999999"} {
		f.Add(seed, byte('.'))
	}
	f.Fuzz(func(t *testing.T, text string, mark byte) {
		if mark != '.' && mark != ',' {
			mark = 0
		}
		got, err := tables.ParseFigure(text, tables.Mark(mark))
		if err == nil && (math.IsNaN(got.Value) || math.IsInf(got.Value, 0)) {
			t.Errorf("%q gives %v", text, got.Value)
		}
		if err == nil && got.Unit == "" && !got.LessThan {
			again, err := tables.ParseFigure(strconv.FormatFloat(got.Value, 'f', -1, 64), tables.MarkPoint)
			if err != nil || again.Value != got.Value {
				t.Errorf("%q gives %v, and that written out %v, %v", text, got.Value, again.Value, err)
			}
		}
		var m tables.Marks
		m.Note(text)
	})
}

func FuzzDate(f *testing.F) {
	for _, seed := range []string{"6/7/26", "2026-07-06T14:30:00Z", "6 Jul 26", "20260706", "6.7.2026 2:30 PM", "::", "//"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var o tables.Orders
		o.Note(text)
		for _, order := range []tables.Order{"", tables.DayFirst, tables.MonthFirst} {
			w, err := tables.ParseDate(text, order, 0)
			if err != nil {
				continue
			}
			if at := w.In(time.UTC); at.Month() != time.Month(w.Month) || at.Day() != w.Day || at.Year() != w.Year {
				t.Errorf("%q gives %+v, which is %s", text, w, at)
			}
		}
	})
}

func FuzzCSV(f *testing.F) {
	for _, seed := range []string{"a,b\n1,2\n", "sep=;\na;b", "\xff\xfea\x00,\x00b\x00", "\"a\n\",b\n", "a\t\"b", ";;;\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		table, _, err := tables.CSV(data)
		if err != nil {
			return
		}
		last := 0
		_ = table.Rows(func(row int, cells []string) bool {
			if row <= last || len(cells) == 0 {
				t.Errorf("row %d follows row %d with %d cells", row, last, len(cells))
			}
			last = row
			return true
		})
	})
}
