package heat_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pullbook/domain/heat"
)

var prague = func() *time.Location {
	l, err := time.LoadLocation("Europe/Prague")
	if err != nil {
		return time.FixedZone("CEST", 2*3600)
	}
	return l
}()

func TestLoggerFilesAsLoggersWriteThem(t *testing.T) {
	t.Parallel()
	first := time.Date(2026, 7, 13, 14, 30, 0, 0, prague)
	for _, c := range []struct {
		name, file string
		options    heat.CSVOptions
	}{
		{"comma, unit in the heading", "Time,Temperature (°C)\n2026-07-13 14:30,35.5\n2026-07-13 14:40:00,36\n", heat.CSVOptions{Location: prague}},
		{"semicolon and decimal comma", "Datum;Teplota °C\n13.07.2026 14:30;35,5\n13.07.2026 14:40;36,0\n", heat.CSVOptions{Location: prague}},
		{"tab, Fahrenheit in the heading", "when\ttemp_F\n2026/07/13 14:30\t95.9\n2026/07/13 14:40\t96.8\n", heat.CSVOptions{Location: prague}},
		{"Fahrenheit told", "time,temp\n2026-07-13 14:30,95.9\n2026-07-13 14:40,96.8\n", heat.CSVOptions{Location: prague, Unit: heat.Fahrenheit}},
		{"RFC 3339 needs no place", "time,celsius\n2026-07-13T12:30:00Z,35.5\n2026-07-13T14:40:00+02:00,36\n", heat.CSVOptions{}},
		{"month first with PM, proved by the file", "#,Date Time,Temp °C\n1,07/13/2026 02:30:00 PM,35.5\n2,07/13/2026 02:40:00 PM,36\n", heat.CSVOptions{Location: prague}},
		{"day first, proved by the file", "Date;Temp (C)\n13/07/2026 14:30;35,5\n13/07/2026 14:40;36\n", heat.CSVOptions{Location: prague}},
		{"date and clock apart, lines about the logger first", "Logger,tank 2\nSerial,0042\n\nNo.,Date,Time,Temperature C,Humidity %\n1,2026-07-13,14:30:00,35.5,60\n2,2026-07-13,14:40:00,36.0,61\n", heat.CSVOptions{Location: prague}},
		{"byte order mark and quotes", "\xef\xbb\xbf\"Time\",\"Temp, °C\"\r\n\"2026-07-13 14:30\",\"35,5\"\r\n\"2026-07-13 14:40\",\"36,0\"\r\n", heat.CSVOptions{Location: prague}},
		{"no heading at all", "2026-07-13 14:30,35.5\n2026-07-13 14:40,36\n", heat.CSVOptions{Location: prague, Unit: heat.Celsius}},
		{"one of two probes", "time;T1 °C;T2 °C\n2026-07-13 14:30;20;35,5\n2026-07-13 14:40;20;36\n", heat.CSVOptions{Location: prague, Column: "t2 °c"}},
		{"unit behind the figures", "time,temp\n2026-07-13 14:30,35.5 °C\n2026-07-13 14:40,36 °C\n", heat.CSVOptions{Location: prague, Unit: heat.Celsius}},
		{"semicolons in half of the lines, none with a reading", "Logger;tank 2\nSerial;0042\n2026-07-13 14:30,35.5\n2026-07-13 14:40,36\n", heat.CSVOptions{Location: prague, Unit: heat.Celsius}},
		{"a row of nothing but separators", "time;temp C\n2026-07-13 14:30;35,5\n;\n2026-07-13 14:40;36\n", heat.CSVOptions{Location: prague}},
		{"a column said twice, of which the first counts", "time;T1 °C;T1 °C\n2026-07-13 14:30;35,5;20\n2026-07-13 14:40;36;20\n", heat.CSVOptions{Location: prague, Column: "T1 °C"}},
		{"two-digit year", "time,temp C\n13.07.26 14:30,35.5\n13.07.26 14:40,36\n", heat.CSVOptions{Location: prague}},
	} {
		log, err := heat.ReadCSV(strings.NewReader(c.file), c.options)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if len(log.Points) != 2 || !log.Points[0].At.Equal(first) || !log.Points[1].At.Equal(first.Add(10*time.Minute)) ||
			math.Abs(log.Points[0].TemperatureC-35.5) > 1e-9 || math.Abs(log.Points[1].TemperatureC-36) > 1e-9 {
			t.Errorf("%s: read %v", c.name, log.Points)
		}
	}
}

func TestLoggerFilesThatLeaveADoubtAreAskedAbout(t *testing.T) {
	t.Parallel()
	here := heat.CSVOptions{Location: prague}
	for _, c := range []struct {
		name, says, file string
		options          heat.CSVOptions
	}{
		{"nothing", "time column", "", here},
		{"only a heading", "time column", "time,temp C\n", here},
		{"no temperature", "no temperature beside it", "2026-07-13 14:30,dry\n", here},
		{"unit unknown", "C or F", "time,temp\n2026-07-13 14:30,35\n", here},
		{"unit contradicts", "one of them is wrong", "time,temp F\n2026-07-13 14:30,95\n", heat.CSVOptions{Location: prague, Unit: heat.Celsius}},
		{"unit no one knows", "say C or F", "time,temp\n2026-07-13 14:30,95\n", heat.CSVOptions{Location: prague, Unit: "K"}},
		{"day or month", "day or the month first", "time,temp C\n03/04/2026 14:30,35\n03/05/2026 14:30,35\n", here},
		{"day or month, date apart", "day or the month first", "date,time,temp C\n03/04/2026,14:30,35\n03/05/2026,14:30,35\n", here},
		{"no order fits", "do not all fit", "time,temp C\n13/04/2026 14:30,35\n04/13/2026 14:30,35\n", here},
		{"told an order that does not fit", "do not all fit", "time,temp C\n13/04/2026 14:30,35\n", heat.CSVOptions{Location: prague, DateOrder: heat.MonthFirst}},
		{"told no order", "unknown", "time,temp C\n13/04/2026 14:30,35\n", heat.CSVOptions{Location: prague, DateOrder: "ymd"}},
		{"no time zone", "time zone", "time,temp C\n2026-07-13 14:30,35\n", heat.CSVOptions{}},
		{"two probes", "say which one", "time,T1 °C,T2 °C\n2026-07-13 14:30,20,35\n", here},
		{"no such probe", "no column", "time,T1 °C\n2026-07-13 14:30,20\n", heat.CSVOptions{Location: prague, Column: "T9"}},
		{"a probe called as the time is", "no column", "time,T1 °C\n2026-07-13 14:30,20\n", heat.CSVOptions{Location: prague, Column: "time"}},
		{"a cab is no Celsius", "C or F", "time,temp cab\n2026-07-13 14:30,35\n", here},
		{"a country is no Celsius", "C or F", "time,temp CZ\n2026-07-13 14:30,35\n", here},
		{"thousands with a comma", "no figure", "time;temp C\n2026-07-13 14:30;1,035.5\n", here},
		{"figures without names", "2 figures", "2026-07-13 14:30,20,35\n", heat.CSVOptions{Location: prague, Unit: heat.Celsius}},
		{"Fahrenheit under a Celsius heading", "line 3: temperature 113", "time,temp C\n2026-07-13 14:30,45\n2026-07-13 14:40,113\n", here},
		{"a word for a temperature", "line 2: the temperature \"warm\"", "time,temp C\n2026-07-13 14:30,warm\n", here},
		{"a word for a time", "line 3: the time", "time,temp C\n2026-07-13 14:30,35\nlater,36\n", here},
		{"30 February", "no such day", "time,temp C\n2026-02-30 14:30,35\n", here},
		{"year 202", "time column", "time,temp C\n202-02-03 14:30,35\n", here},
		{"year 1926", "1990 to 2100", "time,temp C\n1926-02-03 14:30,35\n", here},
		{"decimal comma between commas", "decimal comma", "time,temp C\n2026-07-13 14:30,35,5\n", here},
		{"only missing readings", "no temperature that can be read", "time,temp C\n2026-07-13 14:30,---\n", here},
	} {
		log, err := heat.ReadCSV(strings.NewReader(c.file), c.options)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: read %v with error %v, expected words on %q", c.name, log.Points, err, c.says)
		}
	}
}

func TestDayAndMonthAreReadAsTold(t *testing.T) {
	t.Parallel()
	for order, month := range map[heat.DateOrder]time.Month{heat.DayFirst: time.April, heat.MonthFirst: time.March} {
		log, err := heat.ReadCSV(strings.NewReader("time,temp C\n03/04/2026 14:30,35\n"), heat.CSVOptions{Location: prague, DateOrder: order})
		if err != nil || log.Points[0].At.Month() != month {
			t.Errorf("%s: %v, %v", order, log.Points, err)
		}
	}
}

func TestMissingReadingsAreSkippedAndFlagged(t *testing.T) {
	t.Parallel()
	log, err := heat.ReadCSV(strings.NewReader("time,temp C\n2026-07-13 14:30,35\n2026-07-13 14:40,\n2026-07-13 14:50,ERR\n2026-07-13 15:00,36\n"), heat.CSVOptions{Location: prague})
	if err != nil {
		t.Fatal(err)
	}
	if len(log.Points) != 2 {
		t.Errorf("read %v", log.Points)
	}
	wantFlag(t, log.Flags, heat.FlagSkippedRows)
	if !strings.Contains(log.Flags[0].Detail, "2 rows") || !strings.Contains(log.Flags[0].Detail, "line 3") {
		t.Errorf("the flag says %q", log.Flags[0].Detail)
	}
}

func TestALogReadFromAFileBecomesAHistory(t *testing.T) {
	t.Parallel()
	log, err := heat.ReadCSV(strings.NewReader("Zeit;Temperatur °C\n01.07.2026 06:00;45,0\n01.07.2026 18:00;45,0\n"), heat.CSVOptions{Location: time.UTC})
	if err != nil {
		t.Fatal(err)
	}
	h, err := heat.FromPoints(log.Points, nil)
	if err != nil {
		t.Fatal(err)
	}
	k := heat.Default()
	closeTo(t, "HMF of half a day at 45 C", k.HMF.Exposure(h), k.HMFRate(45)/2, 1e-12)
}

func FuzzReadCSV(f *testing.F) {
	f.Add("Time,Temperature (°C)\n2026-07-13 14:30,35.5\n", "", "", "")
	f.Add("Datum;Teplota °C\n13.07.2026 14:30;35,5\n", "", "", "")
	f.Add("date\ttime\ttemp_F\n07/13/2026\t02:30 PM\t95.9\n", "F", "month_first", "temp_F")
	f.Add("\xef\xbb\xbf\"a\n\"\n2026-07-13T12:30:00Z,1e400\n", "C", "day_first", "")
	f.Fuzz(func(t *testing.T, file, unit, order, column string) {
		log, err := heat.ReadCSV(strings.NewReader(file), heat.CSVOptions{Unit: heat.Unit(unit), DateOrder: heat.DateOrder(order), Column: column, Location: time.UTC})
		if err != nil {
			if log.Points != nil || err.Error() == "" {
				t.Fatalf("an error %q came with points %v", err, log.Points)
			}
			return
		}
		if len(log.Points) == 0 {
			t.Fatal("no error and no points")
		}
		for _, p := range log.Points {
			if !(p.TemperatureC >= heat.ColdestC && p.TemperatureC <= heat.HottestC) || p.At.Year() < 1989 || p.At.Year() > 2101 {
				t.Fatalf("read %+v", p)
			}
		}
	})
}

func BenchmarkReadCSVOfAYear(b *testing.B) {
	var file strings.Builder
	file.WriteString("time,temp C\n")
	at := midsummer
	for range 52_560 {
		file.WriteString(at.Format("2006-01-02 15:04:05") + ",35.5\n")
		at = at.Add(10 * time.Minute)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := heat.ReadCSV(strings.NewReader(file.String()), heat.CSVOptions{Location: time.UTC}); err != nil {
			b.Fatal(err)
		}
	}
}
