// Package importing turns tables of older records into entries of a book: years of
// clipboard and spreadsheet, taken over in one go.
//
// A Mapping says what each column is. It is guessed from headings and values, and
// may be put right by whoever brings the sheet in; nothing that can mean two things
// is guessed: it is a Problem, with what would mend it. The book checks what comes
// in like any other entry.
package importing

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"

	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// Kind is the kind of table: what each of its rows is.
type Kind string

// The kinds of table.
const (
	Yards           Kind = "yards"
	Pulls           Kind = "pulls"
	Runs            Kind = "runs"
	Readings        Kind = "readings"
	Lots            Kind = "lots"
	Containers      Kind = "containers"
	TemperatureLogs Kind = "temperature_logs"
	HiveCounts      Kind = "hive_counts"
	RunSupers       Kind = "run_supers"
	Transfers       Kind = "transfers"
	Sales           Kind = "sales"
)

// Kinds lists the kinds of table.
func Kinds() []Kind {
	return []Kind{Yards, Pulls, Runs, Readings, Lots, Containers, TemperatureLogs, HiveCounts, RunSupers, Transfers, Sales}
}

// Mapping says what each column of a sheet is.
type Mapping struct {
	Of    Kind   `json:"of"`
	Sheet string `json:"sheet,omitempty"`
	// HeadingRow is the row with the headings, from 1; 0 where there are none.
	HeadingRow int      `json:"heading_row"`
	Columns    []Column `json:"columns"`
	// Dates is the order of day and month; empty where the dates say it themselves.
	Dates tables.Order `json:"dates,omitempty"`
	// Year is that of dates without one; 0 where it is not said.
	Year int `json:"year,omitempty"`
	// Turned says of real dates among texts whether the program had turned their day and
	// month round; empty where it is not said.
	Turned Turned `json:"turned_dates,omitempty"`
	// Fixed is what holds for all rows: the kind of box, the tank.
	Fixed map[Field]string `json:"fixed,omitempty"`
	// Names says what names in the sheet mean, by noun ("yard") and name; the name
	// * is for all that are not known.
	Names map[Noun]map[string]Choice `json:"names,omitempty"`
	// LeaveOutTotals leaves rows of sums out, LeaveOutRows others by their numbers.
	LeaveOutTotals bool  `json:"leave_out_totals,omitempty"`
	LeaveOutRows   []int `json:"leave_out_rows,omitempty"`
	// TakenOut says what becomes of rows that were hidden, struck through, marked void or said not to have happened;
	// empty where it is not said.
	TakenOut TakenOut `json:"rows_taken_out,omitempty"`
	// Alike says what rows are that are like an entry of the book but for a figure, a note
	// or a time, and Twice what those are that say the same as a row above; empty where they
	// are asked about. Rows says it of single ones, by their numbers.
	Alike Alike         `json:"alike_rows,omitempty"`
	Twice Alike         `json:"twice_rows,omitempty"`
	Rows  map[int]Alike `json:"rows,omitempty"`
	// Cells says it of single cells of a wide sheet, by their names: D7.
	Cells map[string]Alike `json:"cells,omitempty"`
	// Wide says how the cells of a wide sheet are read; nil where each row is one thing.
	Wide *Wide `json:"wide,omitempty"`
	// MakeSeasons sets up a season for each year that has none, with the first and last day that
	// the outfit's own have; the calendar year where it has none.
	MakeSeasons bool `json:"make_seasons,omitempty"`
	// AsLastTime says whether the answers of the last sheet with the same headings hold for
	// this one too; nil where it is not said. Settle takes it into account.
	AsLastTime *bool `json:"as_last_time,omitempty"`
}

// Answer takes over what another mapping says beside its columns, where it says
// something.
func (m *Mapping) Answer(a Mapping) {
	if a.Dates != "" {
		m.Dates = a.Dates
	}
	if a.Year != 0 {
		m.Year = a.Year
	}
	if a.Turned != "" {
		m.Turned = a.Turned
	}
	if a.Alike != "" {
		m.Alike = a.Alike
	}
	if a.Twice != "" {
		m.Twice = a.Twice
	}
	if a.Rows != nil {
		m.Rows = a.Rows
	}
	if a.Cells != nil {
		m.Cells = a.Cells
	}
	m.answerWide(a.Wide)
	if a.TakenOut != "" {
		m.TakenOut = a.TakenOut
	}
	if a.Fixed != nil {
		m.Fixed = a.Fixed
	}
	if a.Names != nil {
		m.Names = a.Names
	}
	if a.LeaveOutRows != nil {
		m.LeaveOutRows = a.LeaveOutRows
	}
	if a.AsLastTime != nil {
		m.AsLastTime = a.AsLastTime
	}
	m.LeaveOutTotals = m.LeaveOutTotals || a.LeaveOutTotals
	m.MakeSeasons = m.MakeSeasons || a.MakeSeasons
}

// Turned says whether a spreadsheet program took days for months where it could.
type Turned string

// What may be said of real dates among texts.
const (
	AsTheyStand Turned = "as_they_stand"
	TurnedRound Turned = "turned_round"
)

// Column says what one column is.
type Column struct {
	// Column is its name, as a spreadsheet shows it: C.
	Column string `json:"column"`
	// Heading is what stands above it.
	Heading string `json:"heading,omitempty"`
	// Field is what it holds; empty where it is not read.
	Field Field `json:"field,omitempty"`
	// Under is what runs across above the column in a wide sheet, where its heading says
	// more than that.
	Under string `json:"under,omitempty"`
	// Of is the kind of super that a count is of, where each kind has its column; of
	// an own_parameter its name in the rule set.
	Of string `json:"of,omitempty"`
	// Unit is one of the units of the field, or of the own parameter; empty where each cell says its own.
	Unit Unit `json:"unit,omitempty"`
	// DecimalMark is point or comma; empty where the figures say it themselves.
	DecimalMark DecimalMark `json:"decimal_mark,omitempty"`
	// From says what it was taken for by: heading, values, or kept, which is what
	// it was the last time, and somebody said that it is again.
	From string `json:"from,omitempty"`
}

// DecimalMark is the name of a decimal mark.
type DecimalMark string

// The names of the marks.
const (
	Point DecimalMark = "point"
	Comma DecimalMark = "comma"
)

func (d DecimalMark) mark() tables.Mark {
	switch d {
	case Point:
		return tables.MarkPoint
	case Comma:
		return tables.MarkComma
	}
	return tables.MarkUnknown
}

// Noun is a kind of thing that rows name.
type Noun string

// The nouns.
const (
	NounYard          Noun = "yard"
	NounRoom          Noun = "room"
	NounTank          Noun = "tank"
	NounSuperKind     Noun = "super_kind"
	NounContainerKind Noun = "container_kind"
	NounInstrument    Noun = "instrument"
	NounLot           Noun = "lot"
	NounContainer     Noun = "container"
	NounBuyer         Noun = "buyer"
)

// Choice says what a name means: a thing that the outfit has, by its own name, or
// one that is to be set up.
type Choice struct {
	Is     string `json:"is,omitempty"`
	Create *Thing `json:"create,omitempty"`
}

// Thing is what has to be said of a thing that is set up; a yard, a lot and a buyer
// need nothing.
type Thing struct {
	// Use of a tank (sump, settling, heated, bulk) or room (hot_room, store).
	Use string `json:"use,omitempty"`
	// CapacityKg of a tank.
	CapacityKg float64 `json:"capacity_kg,omitempty"`
	// TareKg and UsualNetKg of a kind of super or container, FullestNetKg of a
	// super, VolumeL of a container.
	TareKg       float64 `json:"tare_kg,omitempty"`
	UsualNetKg   float64 `json:"usual_net_kg,omitempty"`
	FullestNetKg float64 `json:"fullest_net_kg,omitempty"`
	VolumeL      float64 `json:"volume_l,omitempty"`
	// Scale of an instrument is what it shows, as ledger.Instrument has it.
	// CompensatesTemperature says whether it corrects for the sample's temperature; nil where
	// nobody says it. Its standard uncertainty, in its own scale, and how long a good check
	// holds need not be said.
	Scale                  string   `json:"scale,omitempty"`
	CompensatesTemperature *bool    `json:"compensates_temperature,omitempty"`
	StdUncertainty         *float64 `json:"std_uncertainty,omitempty"`
	CheckEveryDays         int      `json:"check_every_days,omitempty"`
}

// Headings is the digest of a sheet's headings, by which a mapping is found again.
func Headings(columns []Column) string {
	h := sha256.New()
	for _, c := range columns {
		h.Write([]byte(spelling.Plain(c.Heading) + "\n"))
	}
	return hex.EncodeToString(h.Sum(nil))
}

// sameName is a name as names are told from each other.
func sameName(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }
