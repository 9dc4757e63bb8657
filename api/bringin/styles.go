package bringin

import (
	"encoding/xml"
	"errors"
	"regexp"
	"strconv"
	"strings"

	"pullbook/domain/fault"
)

const stylesPart = "xl/styles.xml"

// style is what a cell's style says of its value.
type style struct {
	// before and unit are what the program shows before and behind a number: D- of "D-"000,
	// lb of 0.0" lb".
	before, unit string
	// zeros is how many figures a whole number has at least.
	zeros int
	// percent is true where it shows a number a hundred times as large, with %.
	percent bool
	// dated is true where it shows a number as a date or time.
	dated bool
	// struck is true where it strikes the cell through.
	struck bool
	// unseen is true where its format shows nothing of a number, as ;;; does.
	unseen bool
}

// mostStyles bounds the formats, fonts and styles of a workbook each; spreadsheet programs
// keep 64,000 styles at most. mostFormat bounds a format, in bytes; programs let people
// type 255 letters (from memory).
const (
	mostStyles = 65_536
	mostFormat = 2048
)

// styles are those of the workbook's cells, by their numbers.
func (p *parts) styles() ([]style, error) {
	var s styleReader
	err := p.read(stylesPart, mostStyled, element{start: s.start, end: s.end})
	if errors.Is(err, errNotThere) {
		err = nil
	}
	return s.styles, err
}

type styleReader struct {
	within []string
	// formats are what number formats say, by their ids, and struck the fonts that strike
	// through.
	formats map[string]style
	struck  []bool
	styles  []style
}

func (s *styleReader) start(name string, attributes []xml.Attr) error {
	s.within = append(s.within, name)
	switch {
	case s.at("fonts", "font"):
		s.struck = append(s.struck, false)
	case s.at("font", "strike") && len(s.struck) > 0:
		on := attribute(attributes, "val")
		s.struck[len(s.struck)-1] = on != "0" && on != "false"
	case s.at("numFmts", "numFmt"):
		if s.formats == nil {
			s.formats = map[string]style{}
		}
		code := attribute(attributes, "formatCode")
		if len(code) > mostFormat {
			return fault.New(fault.TooLarge, "A number format of the workbook is longer than %s letters, and no spreadsheet program writes such: it was not read. Save the sheet as CSV.", mostFormat)
		}
		s.formats[attribute(attributes, "numFmtId")] = format(code)
	case s.at("cellXfs", "xf"):
		s.styles = append(s.styles, s.style(attributes))
	}
	if len(s.struck) > mostStyles || len(s.formats) > mostStyles || len(s.styles) > mostStyles {
		return fault.New(fault.TooLarge, "The workbook has more than %s styles of cells: no workbook of a honey house does. Save the sheet as CSV.", mostStyles)
	}
	return nil
}

func (s *styleReader) end(string) error {
	s.within = s.within[:len(s.within)-1]
	return nil
}

func (s *styleReader) at(above, name string) bool {
	n := len(s.within)
	return n > 1 && s.within[n-2] == above && s.within[n-1] == name
}

func (s *styleReader) style(attributes []xml.Attr) (out style) {
	switch id := attribute(attributes, "numFmtId"); id {
	case "9", "10": // 0% and 0.00%, which no workbook writes down (ECMA-376 part 1, 18.8.30)
		out.percent = true
	case "14", "15", "16", "17", "18", "19", "20", "21", "22", "45", "46", "47": // dates and times
		out.dated = true
	default:
		out = s.formats[id]
	}
	if font, err := strconv.Atoi(attribute(attributes, "fontId")); err == nil && 0 <= font && font < len(s.struck) {
		out.struck = s.struck[font]
	}
	return out
}

// Parts of a number format: colours and conditions in brackets, texts in quotes or behind
// a backslash, blanks as wide as a letter, and repeated letters (ECMA-376 part 1, 18.8.31).
var (
	inBrackets = regexp.MustCompile(`\[[^\]]*\]`)
	blank      = regexp.MustCompile(`_.`)
	repeated   = regexp.MustCompile(`\*.`)
	literal    = regexp.MustCompile(`"([^"]*)"|\\(.)`)
)

// format is what a number format says of positive numbers.
func format(code string) (out style) {
	code = blank.ReplaceAllString(inBrackets.ReplaceAllString(code, ""), " ")
	hide := func(text string) string { return strings.Repeat("\x00", len(text)) }
	bare, _, _ := strings.Cut(literal.ReplaceAllStringFunc(code, hide), ";")
	bare = repeated.ReplaceAllStringFunc(bare, hide)
	if strings.ContainsAny(strings.ToLower(bare), "dmyhs") {
		return style{dated: true}
	}
	first, last := strings.IndexAny(bare, "0#?"), strings.LastIndexAny(bare, "0#?")
	if first < 0 {
		return style{unseen: strings.HasPrefix(strings.TrimSpace(code), ";")}
	}
	for _, at := range literal.FindAllStringSubmatchIndex(code[:len(bare)], -1) {
		text := ""
		for _, group := range [][2]int{{at[2], at[3]}, {at[4], at[5]}} {
			if group[0] >= 0 {
				text += code[group[0]:group[1]]
			}
		}
		switch {
		case at[0] < first:
			out.before += text
		case at[0] > last:
			out.unit += text
		}
	}
	whole, _, _ := strings.Cut(bare, ".")
	out.before, out.unit = strings.TrimSpace(out.before), strings.TrimSpace(out.unit)
	out.zeros, out.percent = strings.Count(whole, "0"), strings.Contains(bare, "%")
	return out
}

// mostZeros is more than any number of a container has.
const mostZeros = 20

func allDigits(text string) bool { return strings.Trim(text, "0123456789") == "" }

// shows is a number as the program shows it, but with all its decimals.
func (s style) shows(number string) string {
	if s.before == "" && s.unit == "" && s.zeros < 2 && !s.percent {
		return number
	}
	x, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return number
	}
	if s.percent {
		const digits = 15 // what a spreadsheet program keeps
		x, _ = strconv.ParseFloat(strconv.FormatFloat(x*100, 'g', digits, 64), 64)
		number = strconv.FormatFloat(x, 'f', -1, 64) + " %"
	}
	if more := s.zeros - len(number); more > 0 && allDigits(number) {
		number = strings.Repeat("0", min(more, mostZeros)) + number
	}
	return strings.TrimSpace(s.before + number + " " + s.unit)
}
