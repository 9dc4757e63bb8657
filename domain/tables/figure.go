package tables

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Mark is the sign before the decimals of a column's figures.
type Mark byte

// The marks; MarkUnknown where nothing says which.
const (
	MarkUnknown Mark = 0
	MarkPoint   Mark = '.'
	MarkComma   Mark = ','
)

// Figure is a number as a cell holds it.
type Figure struct {
	Value float64
	// Unit is what stood behind the number, in lower case: "lb".
	Unit string
	// LessThan is true for "<3".
	LessThan bool
}

// TwoFigures says that a figure can be read two ways.
type TwoFigures struct {
	Text string
	// Decimal and Grouped are the readings: 1,234 is 1.234 or 1234.
	Decimal, Grouped float64
}

func (t *TwoFigures) Error() string {
	return fmt.Sprintf("%q can be %s or %s", t.Text, plain(t.Decimal), plain(t.Grouped))
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// FigureError says that a text is no figure.
type FigureError struct{ Text string }

func (e *FigureError) Error() string { return fmt.Sprintf("%q is no figure", e.Text) }

// vulgar are the fractions that one sign writes.
var vulgar = map[rune]float64{
	'½': 1. / 2, '¼': 1. / 4, '¾': 3. / 4, '⅓': 1. / 3, '⅔': 2. / 3, '⅛': 1. / 8, '⅜': 3. / 8, '⅝': 5. / 8, '⅞': 7. / 8,
}

// ParseFigure reads a figure: 17.4, 17,4, 1 234,5, 61 lb, 40½, <3. mark is the column's
// decimal mark. Where it is not known, and the text does not say by itself, the
// error is *TwoFigures; a text that is no figure gives *FigureError.
func ParseFigure(text string, mark Mark) (Figure, error) {
	if x, err := strconv.ParseFloat(text, 64); err == nil && digitsOnly(text) && !(mark != MarkPoint && grouping(text, '.')) {
		return Figure{Value: x}, nil
	}
	f, number, part, ok := split(text)
	if !ok {
		return f, &FigureError{text}
	}
	if part > 0 {
		return withPart(f, text, number, part)
	}
	var err error
	f.Value, err = valueOf(number, mark)
	if two, is := err.(*TwoFigures); is {
		two.Text = text
		return f, two
	}
	if err != nil || math.IsInf(f.Value, 0) {
		return f, &FigureError{text}
	}
	return f, nil
}

// withPart is a whole number and the fraction behind it, or a fraction alone.
func withPart(f Figure, text, number string, part float64) (Figure, error) {
	number, below := strings.CutPrefix(strings.TrimRight(number, " \u00a0\u202f"), "-")
	whole := 0.
	if number != "" {
		n, err := strconv.ParseUint(number, 10, 32)
		if err != nil {
			return f, &FigureError{text}
		}
		whole = float64(n)
	}
	if f.Value = whole + part; below {
		f.Value = -f.Value
	}
	return f, nil
}

// IsPlain reports whether a text is a figure as programs write it, with digits and a
// decimal point alone: nothing of it was a matter of reading.
func IsPlain(text string) bool {
	return digitsOnly(text) && strings.Count(text, ".") <= 1 && strings.Trim(text, "-.") != ""
}

var alike = strings.NewReplacer("O", "0", "o", "0", "l", "1", "I", "1")

// Mistyped is a text with letters that look like digits made into those, where that
// makes a figure of it: 4O is 40.
func Mistyped(text string) (figure string, is bool) {
	text = strings.TrimSpace(text)
	figure = alike.Replace(text)
	return figure, figure != text && digitsOnly(strings.Replace(figure, ",", ".", 1)) && figure != "."
}

// digitsOnly keeps ParseFloat from reading "1e5", "Inf", "0x1p-2" and "1_000".
func digitsOnly(text string) bool {
	for i := range len(text) {
		if c := text[i]; (c < '0' || c > '9') && c != '.' && (c != '-' || i > 0) {
			return false
		}
	}
	return text != ""
}

// grouping reports whether the only mark in a text parts thousands, or may.
func grouping(text string, mark byte) bool {
	i := strings.IndexByte(text, mark)
	if i < 0 {
		return false
	}
	whole := strings.TrimPrefix(text[:i], "-")
	return len(text)-i-1 == 3 && 1 <= len(whole) && len(whole) <= 3 && whole[0] != '0'
}

// MayBeGrouped reports whether a text is a figure like 1.234 or 1,234 lb, whose mark may
// part thousands.
func MayBeGrouped(text string) bool {
	if digitsOnly(text) {
		return strings.Count(text, ".") == 1 && grouping(text, '.')
	}
	_, number, part, ok := split(text)
	if !ok || part > 0 || strings.Count(number, ".")+strings.Count(number, ",") != 1 {
		return false
	}
	return grouping(number, '.') || grouping(number, ',')
}

// split parts a text into its number, the fraction that one sign writes behind it, and
// its unit.
func split(text string) (f Figure, number string, part float64, ok bool) {
	text = strings.TrimSpace(text)
	text = strings.TrimPrefix(text, "'") // a spreadsheet's mark for text
	if rest, found := strings.CutPrefix(text, "<"); found {
		f.LessThan, text = true, strings.TrimSpace(rest)
	}
	end, unit := 0, 0
	for i, r := range text {
		digit := '0' <= r && r <= '9'
		if digit {
			end = i + 1
			unit = end
			continue
		}
		if part = vulgar[r]; part > 0 {
			end, unit = i, i+utf8.RuneLen(r)
			break
		}
		// Between digits: marks and the blanks and apostrophes that part thousands.
		if (r == '-' || r == '+') && i == 0 || strings.ContainsRune(".,' \u00a0\u202f\u2019", r) {
			continue
		}
		break
	}
	f.Unit = strings.ToLower(strings.Trim(text[unit:], " \u00a0.,"))
	number = strings.TrimPrefix(text[:end], "+")
	if unit == 0 || utf8.RuneCountInString(f.Unit) > longestUnit || !utf8.ValidString(f.Unit) || !isUnit(f.Unit) {
		return f, "", 0, false
	}
	return f, number, part, true
}

// longestUnit is in letters.
const longestUnit = 20

// isUnit tells a unit from the rest of a date, a time or a second figure: it has digits
// only behind "per", as g/100 g has.
func isUnit(text string) bool {
	before, _, per := strings.Cut(text, "/")
	if per && before != "" {
		text = before
	}
	return !strings.ContainsAny(text, "0123456789/:")
}

var blanks = strings.NewReplacer(" ", "", "\u00a0", "", "\u202f", "", "'", "", "\u2019", "")

// valueOf reads digits with their marks.
func valueOf(number string, mark Mark) (float64, error) {
	compact := blanks.Replace(number)
	if len(compact) != len(number) && !wholeGroups(number) {
		return 0, &FigureError{number}
	}
	commas, points := strings.Count(compact, ","), strings.Count(compact, ".")
	switch {
	case commas > 0 && points > 0:
		// The last one is before the decimals, the other parts thousands.
		mark = MarkPoint
		if strings.LastIndexByte(compact, ',') > strings.LastIndexByte(compact, '.') {
			mark = MarkComma
		}
	case commas > 1:
		mark = MarkPoint
	case points > 1:
		mark = MarkComma
	case commas == 1 && !grouping(compact, ','):
		mark = MarkComma
	case points == 1 && !grouping(compact, '.'):
		mark = MarkPoint
	case commas == 1 && mark == MarkUnknown, points == 1 && mark == MarkUnknown:
		decimal, _ := strconv.ParseFloat(strings.Replace(compact, ",", ".", 1), 64)
		grouped, err := strconv.ParseFloat(strings.NewReplacer(",", "", ".", "").Replace(compact), 64)
		if err != nil {
			return 0, err
		}
		return 0, &TwoFigures{number, decimal, grouped}
	}
	return withMark(compact, mark)
}

func withMark(compact string, mark Mark) (float64, error) {
	group, decimal := ",", "."
	if mark == MarkComma {
		group, decimal = ".", ","
	}
	whole, fraction, _ := strings.Cut(compact, decimal)
	if strings.Contains(fraction, group) || strings.Contains(fraction, decimal) {
		return 0, &FigureError{compact}
	}
	if parts := strings.Split(strings.TrimPrefix(whole, "-"), group); len(parts) > 1 {
		for i, p := range parts {
			if i == 0 && (p == "" || len(p) > 3) || i > 0 && len(p) != 3 {
				return 0, &FigureError{compact}
			}
		}
		whole = strings.ReplaceAll(whole, group, "")
	}
	if fraction != "" {
		whole += "." + fraction
	}
	return strconv.ParseFloat(whole, 64)
}

// groupBlanks makes a blank of whatever parts thousands and is neither point nor comma.
var groupBlanks = strings.NewReplacer("\u00a0", " ", "\u202f", " ", "'", " ", "\u2019", " ")

// wholeGroups reports whether blanks part a number into thousands.
func wholeGroups(number string) bool {
	number = groupBlanks.Replace(strings.TrimPrefix(number, "-"))
	whole, _, _ := strings.Cut(strings.ReplaceAll(number, ",", "."), ".")
	for i, group := range strings.Split(whole, " ") {
		if i == 0 && (group == "" || len(group) > 3) || i > 0 && len(group) != 3 {
			return false
		}
	}
	return !strings.Contains(number[len(whole):], " ")
}

// Marks is what a column's figures say of its decimal mark.
type Marks struct{ Points, Commas int }

// Note takes a cell into account. Figures like 1,234 and 1.234 say nothing.
func (m *Marks) Note(text string) {
	if strings.IndexByte(text, '.') < 0 && strings.IndexByte(text, ',') < 0 {
		return
	}
	_, number, part, ok := split(text)
	if !ok || part > 0 {
		return
	}
	compact := blanks.Replace(number)
	comma, point := strings.LastIndexByte(compact, ','), strings.LastIndexByte(compact, '.')
	switch {
	case comma >= 0 && point >= 0:
		if comma > point {
			m.Commas++
		} else {
			m.Points++
		}
	case comma >= 0 && strings.Count(compact, ",") > 1:
		m.Points++
	case point >= 0 && strings.Count(compact, ".") > 1:
		m.Commas++
	case comma >= 0 && grouping(compact, ','), point >= 0 && grouping(compact, '.'):
	case comma >= 0:
		m.Commas++
	case point >= 0:
		m.Points++
	}
}

// Mark is the column's decimal mark as its figures prove it; MarkUnknown where
// they prove none, or both.
func (m *Marks) Mark() Mark {
	switch {
	case m.Commas > 0 && m.Points == 0:
		return MarkComma
	case m.Points > 0 && m.Commas == 0:
		return MarkPoint
	}
	return MarkUnknown
}
