// Package bringintest makes files that were meant to fill the memory of whoever opens
// them, and large files as honey houses have them, for tests and for measuring.
package bringintest

import (
	"bufio"
	"crypto/sha256"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"pullbook/domain/importing"
)

// Sheet is a file. The same one is written each time.
type Sheet struct {
	Name string
	// Kind is the kind of table that it is brought in as.
	Kind importing.Kind
	// Answers is what is said of it beside the file: a mapping without columns, as JSON;
	// empty where nothing is.
	Answers string
	// Write writes the file.
	Write func(io.Writer) error
	// Quick is true for one of the worst that are cheap enough to try before each commit.
	Quick bool
	// Real is true for a file as a honey house has it, which has to come in.
	Real bool
}

// Sheets lists all files.
func Sheets() []Sheet { return slices.Concat(workbooks(), texts(), real()) }

// megabyte is what the bounds of a file are told in.
const megabyte = 1 << 20

// text is a sheet of text that is written through a buffer.
func text(name string, kind importing.Kind, write func(*bufio.Writer)) Sheet {
	return Sheet{Name: name, Kind: kind, Write: func(to io.Writer) error {
		out := bufio.NewWriterSize(to, megabyte)
		write(out)
		return out.Flush()
	}}
}

// repeated writes a text again and again, as often as it fits into so many bytes.
func repeated(out io.Writer, s string, bytes int) {
	const block = 1 << 16
	times := bytes / len(s)
	some := max(1, min(times, block/len(s)))
	many := []byte(strings.Repeat(s, some))
	for ; times >= some; times -= some {
		_, _ = out.Write(many)
	}
	_, _ = out.Write(many[:times*len(s)])
}

// most is the largest file of text, in bytes: what a form has beside it fits as well.
const most = 256*megabyte - 8192

// texts are files of text.
func texts() []Sheet {
	const row = "2026-07-06,Mill,3,deep\n"
	const heads = "Date,Yard,Supers,Kind\n"
	all := []Sheet{
		text("short rows, UTF-8", importing.Yards, func(out *bufio.Writer) {
			_, _ = out.WriteString("Yard\n")
			repeated(out, "Yard\n", 2_000_000)
			repeated(out, "\n", most-2_000_100)
		}),
		text("as large as may be, UTF-8", importing.Pulls, func(out *bufio.Writer) {
			_, _ = out.WriteString(heads)
			repeated(out, strings.Repeat(" ", 200)+row, most-100)
		}),
		text("as large as may be, UTF-16", importing.Pulls, func(out *bufio.Writer) {
			_, _ = out.WriteString("\xff\xfe" + wide(heads))
			repeated(out, wide("ñ"+strings.Repeat(" ", 200)+row), most-100)
		}),
		text("as large as may be, Windows-1252", importing.Pulls, func(out *bufio.Writer) {
			_, _ = out.WriteString(heads)
			repeated(out, "\xf1"+strings.Repeat(" ", 200)+row, most-100)
		}),
		text("a line of 200 MB", importing.Pulls, func(out *bufio.Writer) {
			_, _ = out.WriteString(heads)
			repeated(out, "no end of line ", 200*megabyte)
		}),
		text("a million columns", importing.Pulls, func(out *bufio.Writer) { repeated(out, "a,", 2_000_000) }),
		text("nothing but separators", importing.Pulls, func(out *bufio.Writer) { repeated(out, ",", most) }),
		text("nothing but quotation marks", importing.Pulls, func(out *bufio.Writer) { repeated(out, `"`, most) }),
		text("a quotation mark left open", importing.Pulls, func(out *bufio.Writer) {
			_, _ = out.WriteString(heads + `"`)
			repeated(out, row, most-100)
		}),
		text("a million short rows", importing.Pulls, func(out *bufio.Writer) {
			_, _ = out.WriteString(heads)
			repeated(out, row, 1_000_000*len(row))
		}),
		text("rows of a megabyte", importing.Pulls, func(out *bufio.Writer) {
			_, _ = out.WriteString(heads)
			repeated(out, "2026-07-06,Mill,3,deep,"+strings.Repeat("x", megabyte-8192)+"\n", most-100)
		}),
		text("a long heading above all columns", importing.Pulls, func(out *bufio.Writer) {
			_, _ = out.WriteString("," + strings.Repeat("x", megabyte-8192) + ",x\nDate,Yard,Supers,Kind")
			repeated(out, ",x", 1_990)
			repeated(out, "\n2026-07-06,Mill,3,deep", 100_000)
		}),
		text("names that nobody knows", importing.Readings, func(out *bufio.Writer) {
			_, _ = out.WriteString("Date,Container,Moisture %\n")
			for i := range 1_190_000 {
				fmt.Fprintf(out, "2026-07-06,D%07d,17.4,%0130d\n", i, 0)
			}
		}),
		text("old Macintosh", importing.Yards, func(out *bufio.Writer) {
			_, _ = out.WriteString("Yard\r")
			repeated(out, strings.Repeat(" ", 220)+"Yard\r", most-100)
		}),
	}
	lots := text("as many new lots as may be", importing.Lots, func(out *bufio.Writer) {
		_, _ = out.WriteString("Date,Lot,Product\n")
		for i := range 100_000 {
			fmt.Fprintf(out, "2026-07-06,26-%06d,clover\n", i)
		}
	})
	containers := text("as many new containers as may be", importing.Containers, func(out *bufio.Writer) {
		_, _ = out.WriteString("Date,Lot,Tank,Container,Container kind,Gross kg,Tare kg\n")
		for i := range 49_990 {
			fmt.Fprintf(out, "2026-07-06,26-%06d,sump,D%06d,drum,300,18\n", i, i)
		}
	})
	containers.Answers = `{"names":{"lot":{"*":{"create":{}}},"tank":{"*":{"create":{"use":"sump","capacity_kg":1000}}},"container_kind":{"*":{"create":{"volume_l":200,"tare_kg":18,"usual_net_kg":290}}}}}`
	return append(all, lots, containers)
}

// wide is a text as UTF-16 has it, the low byte first.
func wide(s string) string {
	var out strings.Builder
	for _, r := range s {
		out.WriteByte(byte(r))
		out.WriteByte(byte(r >> 8))
	}
	return out.String()
}

// Readings is how many readings the large real files have.
const Readings = 1_000_000

// zone is that of the clocks that the readings were taken by.
var zone = func() *time.Location {
	zone, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		panic(err) // Go brings the zones along
	}
	return zone
}()

// readingRow gives the cells of one of a million readings, one a minute, of a tank that
// Answers sets up.
func readingRow(i int) (at time.Time, moisture float64, sampleC int) {
	at = time.Date(2022, time.January, 1, 0, 0, 0, 0, zone).Add(time.Duration(i) * time.Minute)
	return at, 16 + float64(i%30)/10, 18 + i%9
}

// answersOfReadings sets up what the readings name.
const answersOfReadings = `{"make_seasons":true,"names":{"tank":{"*":{"create":{"use":"settling","capacity_kg":4500}}}}}`

// readings is a text file of so many readings, all moisture so much higher.
func readings(name string, n int, higher float64) Sheet {
	out := text(name, importing.Readings, func(out *bufio.Writer) {
		_, _ = out.WriteString("Date,Tank,Point,Moisture %,Sample temp C,Note\n")
		for i := range n {
			at, moisture, sampleC := readingRow(i)
			fmt.Fprintf(out, "%s,large tank,gate,%.1f,%d,\n", at.Format("2006-01-02 15:04"), moisture+higher, sampleC)
		}
	})
	out.Answers = answersOfReadings
	return out
}

// widePulls has 990 yards across and 1,010 days down, and a figure in each cell.
func widePulls() Sheet {
	const yards, days = 990, 1010
	out := text("a million cells of a wide sheet", importing.Pulls, func(out *bufio.Writer) {
		_, _ = out.WriteString("Supers")
		for i := range yards {
			_, _ = out.WriteString("," + farApart(i))
		}
		for i := range days {
			_, _ = out.WriteString("\n" + time.Date(2022, time.January, 1+i, 0, 0, 0, 0, zone).Format(time.DateOnly))
			for j := range yards {
				fmt.Fprintf(out, ",%d", 1+(i*i+7*j)%40)
			}
		}
	})
	out.Real = true
	out.Answers = `{"make_seasons":true,"wide":{"across":"yard","cells":"supers","of":"deep"},"names":{"yard":{"*":{"create":{}}}}}`
	return out
}

// farApart is a name of twelve letters that is like no other one.
func farApart(i int) string {
	sum := sha256.Sum256([]byte{byte(i), byte(i >> 8)})
	letters := make([]byte, 12)
	for j := range letters {
		letters[j] = 'a' + sum[j]%26
	}
	return string(letters)
}

// Twice is a file of so many readings to be brought in and looked at again, and one that
// says otherwise of all of them.
func Twice(n int) (s, otherwise Sheet) {
	s = readings("readings that the book has", n, 0)
	s.Real = true
	return s, readings("readings of which the book says otherwise", n, 0.1)
}

// real are large files as honey houses have them.
func real() []Sheet {
	csv := readings("a million readings, CSV", Readings, 0)
	xlsx := Sheet{Name: "a million readings, workbook", Kind: importing.Readings, Write: packed(map[string]func(io.Writer){
		sheetPart: func(out io.Writer) {
			_, _ = io.WriteString(out, begin+`<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c><c r="C1" t="s"><v>2</v></c><c r="D1" t="s"><v>3</v></c><c r="E1" t="s"><v>4</v></c></row>`)
			for i := range Readings {
				at, moisture, sampleC := readingRow(i)
				_, offset := at.Zone()
				const epoch = -2209161600 // 30 December 1899, in seconds of Unix time
				fmt.Fprintf(out, `<row r="%[1]d"><c r="A%[1]d" s="1"><v>%.10[2]f</v></c><c r="B%[1]d" t="s"><v>5</v></c><c r="C%[1]d" t="s"><v>6</v></c><c r="D%[1]d"><v>%.1[3]f</v></c><c r="E%[1]d"><v>%[4]d</v></c></row>`, i+2, float64(at.Unix()+int64(offset)-epoch)/86400, moisture, sampleC)
			}
			_, _ = io.WriteString(out, end)
		},
		textsPart: written(head + `<sst><si><t>Date</t></si><si><t>Tank</t></si><si><t>Point</t></si><si><t>Moisture %</t></si><si><t>Sample temp C</t></si><si><t>large tank</t></si><si><t>gate</t></si></sst>`),
	})}
	log := text("a million points of a logger, CSV", importing.TemperatureLogs, func(out *bufio.Writer) {
		_, _ = out.WriteString("Date,Tank,Temp C,RH %\n")
		for i := range Readings {
			at, moisture, sampleC := readingRow(i)
			fmt.Fprintf(out, "%s,large tank,%d.5,%.1f\n", at.Format("2006-01-02 15:04"), sampleC, 2*moisture)
		}
	})
	out := []Sheet{csv, xlsx, log}
	for i := range out {
		out[i].Real, out[i].Answers = true, answersOfReadings
	}
	return append(out, widePulls())
}
