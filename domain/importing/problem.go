package importing

import (
	"strings"

	"pullbook/domain/message"
)

// Code says what sort of problem it is, for programs.
type Code string

// The sorts of problem.
const (
	TwoDates      Code = "two_dates"
	TwoFigures    Code = "two_figures"
	NoDate        Code = "no_date"
	NoYear        Code = "no_year"
	NoSeason      Code = "no_season"
	TurnedDates   Code = "turned_dates"
	NoFigure      Code = "no_figure"
	NoUnit        Code = "no_unit"
	TextBehind    Code = "text_behind_figure"
	SheetError    Code = "sheet_error"
	UnknownName   Code = "unknown_name"
	AlikeNames    Code = "alike_names"
	RowTakenOut   Code = "row_taken_out"
	LooksLikeSum  Code = "looks_like_a_total"
	Formula       Code = "formula"
	MissingField  Code = "missing"
	OutOfRange    Code = "out_of_range"
	RefusedByBook Code = "refused_by_book"
	OtherThanHad  Code = "imported_otherwise"
	LikeRecorded  Code = "like_recorded"
	StandsTwice   Code = "stands_twice"
	AsLastTime    Code = "as_last_time"
	TwoValues     Code = "two_values"
	TooManyFields Code = "too_many_fields"
	WideSheet     Code = "wide_sheet"
	OtherTotal    Code = "other_total"
	DoubtfulRow   Code = "doubtful_row"
)

// Problem is something in a sheet that has to be put right before it is brought
// in.
type Problem struct {
	Code Code
	// Row is the sheet's row, from 1; 0 where the problem is of a whole column or
	// of the sheet. Column is its name, C, and Heading what stands above it; empty
	// where the problem is of a whole row.
	Row             int
	Column, Heading string
	// Field is what the column is taken for.
	Field Field
	// Sent is what the cell holds.
	Sent string
	// Message says what is wrong and what would mend it.
	Message message.Text
	// DidYouMean are values that may have been meant.
	DidYouMean []string
	// OfHeadings is true where its row has headings: leaving that row out mends nothing, since what
	// stands below it is of what the headings say.
	OfHeadings bool
	// More is how many further rows have the same problem with the same cell.
	More int64

	cell string // of a wide sheet's row
	once bool   // one answer mends it in all rows and columns
}

// mostProblems bounds the list: beyond, problems are only counted. Nobody puts more
// right before asking again.
const mostProblems = 1000

type problems struct {
	list []*Problem
	same map[sameProblem]*Problem
	all  int64
	// noting, where it is set, gets what is added as well.
	noting *[]Problem
	// shownRows are those that are shown, with their problems.
	shownRows map[shownKey]*ShownRow
}

type sameProblem struct {
	code         Code
	column, sent string
	message      string
}

// ofColumn are the sorts of problem that one answer mends for the whole column. Its first
// cell stands for all.
var ofColumn = map[Code]bool{TwoDates: true, NoYear: true, TwoFigures: true}

// add lists a problem, or counts it with one that is the same.
func (p *problems) add(x Problem) {
	p.all++
	x.Sent, x.Heading = clip(x.Sent), clip(x.Heading)
	if p.noting != nil {
		*p.noting = append(*p.noting, x)
	}
	p.shownRows[shownKey{x.Row, x.cell}].isAsked(&x)
	key := sameProblem{x.Code, x.Column, x.Sent, x.Message.String()}
	if ofColumn[x.Code] {
		key.sent, key.message = "", ""
	}
	if x.once {
		key.sent, key.column = "", ""
	}
	if had := p.same[key]; had != nil && x.Code != RefusedByBook {
		had.More++
		return
	}
	if p.full() {
		return
	}
	if p.same == nil {
		p.same = map[sameProblem]*Problem{}
	}
	p.same[key] = &x
	p.list = append(p.list, &x)
}

// clip shortens what a cell holds to what tells it from others.
func clip(text string) string {
	const most = 200
	n := 0
	for i := range text {
		if n++; n > most {
			return strings.Clone(text[:i]) + "…"
		}
	}
	return text
}

// full reports whether no further problem is listed.
func (p *problems) full() bool { return len(p.list) >= mostProblems }

// text is what a noun is called in a sentence.
func (n Noun) text() message.Text {
	switch n {
	case NounYard:
		return message.F("yard")
	case NounRoom:
		return message.F("room")
	case NounTank:
		return message.F("tank")
	case NounSuperKind:
		return message.F("kind of super")
	case NounContainerKind:
		return message.F("kind of container")
	case NounInstrument:
		return message.F("instrument")
	case NounLot:
		return message.F("lot")
	case NounBuyer:
		return message.F("buyer")
	}
	return message.F("container")
}

// columnName names a column by its letter and heading.
func columnName(letter, heading string) string {
	heading = clip(heading)
	if heading == "" {
		return letter
	}
	return letter + " (" + heading + ")"
}
