package heat

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"pullbook/domain/units"
)

// Unit is a temperature unit that a file is told to be in.
type Unit string

// The units; UnitOfHeader reads it from the column's heading.
const (
	UnitOfHeader Unit = ""
	Celsius      Unit = "C"
	Fahrenheit   Unit = "F"
)

// DateOrder says how dates like 03/04/2026 are meant.
type DateOrder string

// The orders; DateOrderOfFile takes what the file itself proves.
const (
	DateOrderOfFile DateOrder = ""
	DayFirst        DateOrder = "day_first"
	MonthFirst      DateOrder = "month_first"
)

// CSVOptions say what a logger's file leaves open.
type CSVOptions struct {
	Unit      Unit
	DateOrder DateOrder
	// Location is where the logger's clock ran; needed when the times carry no
	// offset.
	Location *time.Location
	// Column is the heading of the temperature column, when there are several.
	Column string
}

// CSVLog is what was read from a logger's file.
type CSVLog struct {
	Points []Point
	Flags  []Flag
}

// MostCSVBytes is the largest file that is read: several years of a reading a
// minute.
const MostCSVBytes = 64 << 20

// ReadCSV reads a temperature log as data loggers write it: any lines about
// the instrument first, a heading, then rows with a time (or a date column and
// a time column) and a temperature, separated by comma, semicolon or tab, with
// decimal point or decimal comma.
//
// Times are RFC 3339, '2026-07-01 14:30[:05]', or day and month with slashes,
// dots or hyphens, 24 hours or AM and PM. Dates with dots have the day first;
// others must prove their order by a day above 12 somewhere in the file, or be
// told it. A reading that is empty or marked as missing is skipped and
// flagged; everything else that cannot be read is an error naming the line.
// The order of the points is left to FromPoints.
func ReadCSV(r io.Reader, options CSVOptions) (CSVLog, error) {
	data, err := readUpTo(MostCSVBytes, r)
	if err != nil {
		return CSVLog{}, err
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	separator := separatorOf(data)
	table, err := rowsOf(data, separator)
	if err != nil {
		return CSVLog{}, err
	}
	layout, err := layoutOf(table, options)
	if err != nil {
		return CSVLog{}, err
	}
	points, flags, err := layout.points(table, options)
	return CSVLog{points, flags}, err
}

func readUpTo(most int, r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, int64(most)+1))
	if err != nil {
		return nil, fmt.Errorf("the file cannot be read: %w", err)
	}
	if len(data) > most {
		return nil, fmt.Errorf("the file is larger than %d MB: send it in parts", most>>20)
	}
	return data, nil
}

type row struct {
	line   int
	fields []string
}

// separatorOf takes the candidate that occurs in most lines; a semicolon or a
// tab wins over a comma, which may be the decimal comma.
func separatorOf(data []byte) rune {
	lines := 0
	with := map[rune]int{}
	scanner := bufio.NewScanner(bytes.NewReader(data))
	for scanner.Scan() && lines < 200 {
		lines++
		for _, candidate := range ";\t," {
			if strings.ContainsRune(scanner.Text(), candidate) {
				with[candidate]++
			}
		}
	}
	for _, candidate := range ";\t" {
		if 2*with[candidate] > lines {
			return candidate
		}
	}
	return ','
}

func rowsOf(data []byte, separator rune) ([]row, error) {
	reader := csv.NewReader(bytes.NewReader(data))
	reader.Comma, reader.FieldsPerRecord, reader.LazyQuotes = separator, -1, true
	var table []row
	for {
		fields, err := reader.Read()
		if errors.Is(err, io.EOF) {
			return table, nil
		}
		if err != nil {
			return nil, fmt.Errorf("the file is no table: %w", err)
		}
		for i := range fields {
			fields[i] = strings.TrimSpace(fields[i])
		}
		line, _ := reader.FieldPos(0)
		table = append(table, row{line, fields})
	}
}

// layout is where the columns of a log are.
type layout struct {
	first             int // index of the first row with a reading
	width             int // columns that have a heading, 0 without one
	date, clock, temp int // clock is -1 when date holds the time too
	unit              Unit
	order             DateOrder
}

func layoutOf(table []row, options CSVOptions) (layout, error) {
	for i, r := range table {
		for column := range r.fields {
			date, clock, found := timeColumns(r.fields, column)
			if !found {
				continue
			}
			l := layout{first: i, date: date, clock: clock}
			var heading []string
			if i > 0 {
				heading = table[i-1].fields
			}
			if err := l.findTemperature(heading, table[i:], options); err != nil {
				return layout{}, err
			}
			var err error
			l.order, err = dateOrder(table[i:], l.date, options.DateOrder)
			return l, err
		}
	}
	return layout{}, errors.New("no row of the file has a time: it needs a time column like 2026-07-01 14:30 and a temperature column")
}

func timeColumns(fields []string, column int) (date, clock int, found bool) {
	text := fields[column]
	if _, ok := splitTime(text); ok {
		return column, -1, true
	}
	if column+1 < len(fields) {
		if _, ok := splitTime(text + " " + fields[column+1]); ok {
			return column, column + 1, true
		}
	}
	return 0, 0, false
}

func (l *layout) findTemperature(heading []string, rows []row, options CSVOptions) error {
	var named, numeric []int
	for column := range max(len(heading), len(rows[0].fields)) {
		if column == l.date || column == l.clock {
			continue
		}
		title := field(heading, column)
		if options.Column != "" && strings.EqualFold(title, options.Column) {
			named = []int{column}
			break
		}
		if options.Column == "" && (strings.Contains(strings.ToLower(title), "temp") || unitOf(title) != UnitOfHeader) {
			named = append(named, column)
		}
		if _, err := number(field(rows[0].fields, column)); err == nil && column > l.date {
			numeric = append(numeric, column)
		}
	}
	switch {
	case options.Column != "" && len(named) == 0:
		return fmt.Errorf("the file has no column %q: its heading is %q", options.Column, strings.Join(heading, " | "))
	case len(named) == 1:
		l.temp = named[0]
	case len(named) > 0:
		return fmt.Errorf("the file has %d temperature columns (%q): say which one by its heading", len(named), titles(heading, named))
	case len(numeric) == 1:
		l.temp = numeric[0]
	case len(numeric) == 0:
		return fmt.Errorf("line %d has a time but no temperature beside it", rows[0].line)
	default:
		return fmt.Errorf("line %d has %d figures and no heading says which is the temperature: say which column by its heading", rows[0].line, len(numeric))
	}
	if field(heading, l.temp) != "" {
		l.width = len(heading)
	}
	return l.settleUnit(field(heading, l.temp), options.Unit)
}

func (l *layout) settleUnit(title string, told Unit) error {
	read := unitOf(title)
	switch {
	case told != UnitOfHeader && told != Celsius && told != Fahrenheit:
		return fmt.Errorf("the unit %q is unknown: say C or F", told)
	case read == UnitOfHeader && told == UnitOfHeader:
		return fmt.Errorf("the heading %q does not say whether the temperatures are in C or F: say which", title)
	case read != UnitOfHeader && told != UnitOfHeader && read != told:
		return fmt.Errorf("the heading %q says %s but %s was asked for: one of them is wrong", title, read, told)
	case read != UnitOfHeader:
		l.unit = read
	default:
		l.unit = told
	}
	return nil
}

func titles(heading []string, columns []int) string {
	var list []string
	for _, c := range columns {
		list = append(list, field(heading, c))
	}
	return strings.Join(list, ", ")
}

// unitOf reads the unit off a heading such as 'Temp (°F)' or 'temperature_c'.
// The letter must stand by itself, so that 'Fridge' is no Fahrenheit.
func unitOf(title string) Unit {
	lower := strings.ToLower(title)
	words := strings.FieldsFunc(lower, func(r rune) bool { return r < 'a' || r > 'z' })
	for _, word := range words {
		switch word {
		case "c", "degc", "celsius":
			return Celsius
		case "f", "degf", "fahrenheit":
			return Fahrenheit
		}
	}
	return UnitOfHeader
}

func field(fields []string, column int) string {
	if column < 0 || column >= len(fields) {
		return ""
	}
	return fields[column]
}

// number reads a figure with a decimal point or a decimal comma.
func number(text string) (float64, error) {
	text = strings.TrimRight(text, " °CFcf")
	return strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
}

// missing recognises how loggers write that a sensor gave nothing.
func missing(text string) bool {
	switch strings.ToLower(text) {
	case "", "-", "--", "---", "na", "n/a", "nan", "null", "err", "error", "open", "no data":
		return true
	}
	return false
}

func (l layout) points(table []row, options CSVOptions) ([]Point, []Flag, error) {
	points := make([]Point, 0, len(table))
	skipped, firstSkipped := 0, 0
	for _, r := range table[l.first:] {
		if strings.Join(r.fields, "") == "" {
			continue
		}
		text := field(r.fields, l.temp)
		if missing(text) {
			if skipped++; skipped == 1 {
				firstSkipped = r.line
			}
			continue
		}
		p, err := l.point(r, options.Location)
		if err != nil {
			return nil, nil, fmt.Errorf("line %d: %w", r.line, err)
		}
		points = append(points, p)
	}
	if len(points) == 0 {
		return nil, nil, errors.New("the file has times but no temperature that can be read")
	}
	if skipped == 0 {
		return points, nil, nil
	}
	return points, []Flag{{FlagSkippedRows, fmt.Sprintf("%d rows without a temperature were skipped, the first on line %d", skipped, firstSkipped)}}, nil
}

func (l layout) point(r row, location *time.Location) (Point, error) {
	if l.width > 0 && strings.Join(r.fields[min(l.width, len(r.fields)):], "") != "" {
		return Point{}, errors.New("it has more fields than the heading: a decimal comma in a file separated by commas must stand in quotes")
	}
	at, err := l.instant(r, location)
	if err != nil {
		return Point{}, err
	}
	text := field(r.fields, l.temp)
	celsius, err := number(text)
	if err != nil {
		return Point{}, fmt.Errorf("the temperature %q is no figure", text)
	}
	if l.unit == Fahrenheit {
		celsius = units.Celsius(celsius)
	}
	if err := checkTemperature("temperature", celsius); err != nil {
		return Point{}, err
	}
	return Point{At: at, TemperatureC: celsius}, nil
}

func (l layout) instant(r row, location *time.Location) (time.Time, error) {
	text := strings.TrimSpace(field(r.fields, l.date) + " " + field(r.fields, l.clock))
	parts, ok := splitTime(text)
	if !ok {
		return time.Time{}, fmt.Errorf("the time %q cannot be read: write it like 2026-07-01 14:30", text)
	}
	at, err := parts.in(l.order, location)
	if err != nil {
		return time.Time{}, fmt.Errorf("the time %q: %w", text, err)
	}
	return at, nil
}
