package bringin_test

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/importing"
)

// mangle is a way in which sheets come to be untidy. One that is harmless leaves what each
// cell says as plain as it was.
type mangle struct {
	name     string
	harmless bool
	do       func(t *rapid.T, s *sheet)
}

// mangles are the ways that are tried; common practice, all of them.
var mangles = []mangle{
	{"columns in another order", true, shuffled},
	{"a column that is none of ours", true, anotherColumn},
	{"titles above", true, titled},
	{"units below the headings", true, unitsBelow},
	{"blank rows", true, blankRows},
	{"names in capitals or with blanks", true, names},
	{"units behind the figures", true, unitsBehind},
	{"the heading says pounds, the cells kilograms", true, unitOutranks},
	{"days from 1904", true, func(_ *rapid.T, s *sheet) { s.from1904 = s.only(true) }},
	{"thousands parted by a narrow blank", true, blankThousands},
	{"halves as one sign", true, halves},
	{"figures that were typed as texts", true, texts},
	{"headings again, as on a new page", true, headingsAgain},

	{"decimal commas", false, decimalCommas},
	{"thousands parted by commas", false, thousands(",", ".")},
	{"thousands parted by points", false, thousands(".", ",")},
	{"thousands parted by points, decimals where there are some", false, onlyThousands(".")},
	{"thousands parted by commas, decimals where there are some", false, onlyThousands(",")},
	{"a letter for a digit", false, letterForDigit},
	{"a word behind a figure", false, wordBehind},
	{"a sum in a cell", false, sumInACell},
	{"a sign about a figure", false, signAbout},
	{"a broken cell", false, brokenCell},
	{"a mark for nothing", false, nothing},
	{"dates day first", false, datesWritten("2/1/2006", "02.01.06", "2-1-06", "2. 1. 2006")},
	{"dates month first", false, datesWritten("1/2/2006", "01-02-06")},
	{"dates without a year", false, datesWritten("2 January", "2/1", "1-2")},
	{"dates turned round by a program", false, datesTurned},
	{"dates as numbers", false, datesAsNumbers},
	{"dates by their first row alone", false, datesOnce},
	{"a row twice", false, rowTwice},
	{"a row of sums", false, sums},
	{"a row of sums that does not say so", false, quietSums},
	{"rows hidden", false, func(t *rapid.T, s *sheet) { oneOf(t, "hidden", s.rows).hidden = s.only(true) }},
	{"rows struck through", false, func(t *rapid.T, s *sheet) { oneOf(t, "struck", s.rows).struck = s.only(true) }},
	{"a row marked void", false, void},
	{"a name spelt wrongly", false, misspelt},
	{"two columns of one heading", false, twoColumns},
	{"a cell parted by a comma that no quotes keep together", false, partedCell},
}

func shuffled(t *rapid.T, s *sheet) {
	order := rapid.Permutation(upTo(len(s.heads))).Draw(t, "order")
	heads, roles, units := make([]string, len(order)), make([]role, len(order)), make([]any, len(order))
	for to, from := range order {
		heads[to], roles[to] = s.heads[from], s.roles[from]
		if s.units != nil {
			units[to] = s.units[from]
		}
	}
	s.heads, s.roles = heads, roles
	if s.units != nil {
		s.units = units
	}
	for _, r := range s.rows {
		cells := make([]any, len(order))
		for to, from := range order {
			if from < len(r.cells) {
				cells[to] = r.cells[from]
			}
		}
		if len(r.cells) > len(order) {
			cells = append(cells, r.cells[len(order):]...)
		}
		r.cells = cells
	}
}

func upTo(n int) (out []int) {
	for i := range n {
		out = append(out, i)
	}
	return out
}

func anotherColumn(t *rapid.T, s *sheet) {
	at := rapid.IntRange(0, len(s.heads)).Draw(t, "where")
	s.heads, s.roles = slices.Insert(s.heads, at, "Driver"), slices.Insert(s.roles, at, someWords)
	if s.units != nil {
		s.units = slices.Insert(s.units, at, any(nil))
	}
	for _, r := range s.rows {
		if at <= len(r.cells) {
			r.cells = slices.Insert(r.cells, at, any("Bo"))
		}
	}
}

func titled(t *rapid.T, s *sheet) {
	s.above = append(s.above, []any{"Our honey 2026"}, []any{nil})
}

func unitsBelow(t *rapid.T, s *sheet) {
	s.units = make([]any, len(s.heads))
	any := false
	for _, i := range s.columns(aMass) {
		if head, had := strings.CutSuffix(s.heads[i], " kg"); had {
			s.heads[i], s.units[i], any = head, "kg", true
		}
	}
	if !any {
		s.units = nil
	}
}

func blankRows(t *rapid.T, s *sheet) { oneOf(t, "blank before", s.rows).blankBefore = true }

func headingsAgain(t *rapid.T, s *sheet) {
	at := rapid.IntRange(1, len(s.rows)).Draw(t, "again at")
	cells := make([]any, len(s.heads))
	for i, h := range s.heads {
		cells[i] = h
	}
	s.rows = slices.Insert(s.rows, at, &sheetRow{cells: cells})
}

func names(t *rapid.T, s *sheet) {
	how := oneOf(t, "how", []func(string) string{strings.ToUpper, strings.ToLower,
		func(n string) string { return "  " + n + " " }, func(n string) string { return n + "\u00a0" }, func(n string) string { return strings.ReplaceAll(n, " ", "  ") }})
	for _, r := range s.rows {
		for _, i := range s.columns(aName) {
			if name, is := cellText(r, i); is {
				r.cells[i] = how(name)
			}
		}
	}
}

func cellText(r *sheetRow, i int) (string, bool) {
	if i >= len(r.cells) {
		return "", false
	}
	text, is := r.cells[i].(string)
	return text, is
}

func cellNumber(r *sheetRow, i int) (float64, bool) {
	if i >= len(r.cells) {
		return 0, false
	}
	x, is := r.cells[i].(float64)
	return x, is
}

// written writes the figures of columns as a text each, where how gives one. It leaves a
// sheet alone whose figures were written in some way before: people have one way.
func (s *sheet) written(how func(x float64, of role) string, of ...role) {
	if s.wayOfFigures {
		return
	}
	s.wayOfFigures = true
	for _, r := range s.rows {
		for _, i := range s.columns(of...) {
			if x, is := cellNumber(r, i); is {
				if text := how(x, s.roles[i]); text != "" {
					r.cells[i] = text
				}
			}
		}
	}
}

func plainly(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func unitsBehind(t *rapid.T, s *sheet) {
	unit := oneOf(t, "unit", []string{" kg", "kg", " Kg", " kilos", "\u00a0kg."})
	s.written(func(x float64, _ role) string { return plainly(x) + unit }, aMass)
}

func unitOutranks(t *rapid.T, s *sheet) {
	if s.wayOfFigures {
		return
	}
	for _, i := range s.columns(aMass) {
		s.heads[i] = strings.Replace(s.heads[i], " kg", " lb", 1)
	}
	for i := range s.units {
		if s.units[i] == "kg" {
			s.units[i] = "lb"
		}
	}
	s.written(func(x float64, _ role) string { return plainly(x) + " kg" }, aMass)
}

func blankThousands(t *rapid.T, s *sheet) {
	blank := oneOf(t, "blank", []string{"\u00a0", "\u202f", " ", "\u2019"})
	s.written(func(x float64, _ role) string {
		if x < 1000 {
			return ""
		}
		whole := int(x)
		text := fmt.Sprintf("%d%s%03d", whole/1000, blank, whole%1000)
		if tenth := int(math.Round(x*10)) % 10; tenth > 0 {
			text += "." + strconv.Itoa(tenth)
		}
		return text
	}, aMass)
}

func halves(t *rapid.T, s *sheet) {
	s.written(func(x float64, _ role) string {
		if whole, part := math.Modf(x); part == 0.5 {
			return plainly(whole) + oneOf(t, "half", []string{"½", " ½"})
		}
		return ""
	}, aMass, aFigure)
}

func texts(t *rapid.T, s *sheet) {
	s.written(func(x float64, of role) string { return plainly(x) }, aMass, aFigure, aCount)
}

func decimalCommas(t *rapid.T, s *sheet) {
	s.written(func(x float64, of role) string { return strings.Replace(plainly(x), ".", ",", 1) }, aMass, aFigure)
}

func thousands(group, mark string) func(*rapid.T, *sheet) {
	return func(t *rapid.T, s *sheet) {
		places := rapid.IntRange(1, 3).Draw(t, "places")
		s.written(func(x float64, _ role) string { return parted(x, group, mark, places) }, aMass)
	}
}

func onlyThousands(group string) func(*rapid.T, *sheet) {
	return func(t *rapid.T, s *sheet) {
		s.written(func(x float64, _ role) string {
			if x != math.Trunc(x) {
				return strings.Replace(plainly(x), ".", map[string]string{".": ",", ",": "."}[group], 1)
			}
			return parted(x, group, "", 0)
		}, aMass)
	}
}

func parted(x float64, group, mark string, places int) string {
	whole, part, _ := strings.Cut(strconv.FormatFloat(x, 'f', places, 64), ".")
	if len(whole) > 3 {
		whole = whole[:len(whole)-3] + group + whole[len(whole)-3:]
	}
	if places == 0 {
		return whole
	}
	return whole + mark + part
}

// put changes one cell of a role.
func put(t *rapid.T, s *sheet, how func(text string) string, of ...role) {
	if row, column, ok := s.aCell(t, of...); ok {
		if text := how(inText(row.cells[column])); text != "" {
			row.cells[column] = text
		}
	}
}

func letterForDigit(t *rapid.T, s *sheet) {
	put(t, s, func(text string) string {
		for _, of := range [][2]string{{"0", "O"}, {"0", "o"}, {"1", "l"}, {"1", "I"}, {"5", "S"}, {"8", "B"}} {
			if i := strings.Index(text, of[0]); i >= 0 {
				return text[:i] + of[1] + text[i+1:]
			}
		}
		return ""
	}, aMass, aFigure, aCount)
}

func wordBehind(t *rapid.T, s *sheet) {
	word := oneOf(t, "word", []string{" pallets", " dozen", " med", "?", " approx", " (2 wet)", " x 2", " ea", "*", " doz.", "k", " stone", " cwt", "%"})
	put(t, s, func(text string) string {
		if word == "%" && strings.Contains(strings.Join(s.heads, " "), "%") {
			return "" // which it is
		}
		return text + word
	}, aMass, aFigure, aCount)
}

func sumInACell(t *rapid.T, s *sheet) {
	more := oneOf(t, "more", []string{"+2", " + 2", "/2", " 2", "-2", ";2", " & 2", "\n2", ":30", "=2"})
	put(t, s, func(text string) string { return text + more }, aMass, aFigure, aCount)
}

func signAbout(t *rapid.T, s *sheet) {
	how := oneOf(t, "sign", []string{"-%s", "\u2212%s", "(%s)", "%s-", "~%s", "ca. %s", ">%s", "\u2248%s", "[%s]", "$%s", "no. %s", "--%s", "%sE1", "#%s"})
	if how == "-%s" && s.kind == importing.TemperatureLogs {
		return // which is another temperature
	}
	put(t, s, func(text string) string { return fmt.Sprintf(how, text) }, aMass, aFigure, aCount)
}

func brokenCell(t *rapid.T, s *sheet) {
	put(t, s, func(string) string {
		return oneOf(t, "broken", []string{"#REF!", "#N/A", "#VALUE!", "Err:508", "#DIV/0!", "####"})
	}, aMass, aFigure, aCount, aDate, aName)
}

// nothing leaves a cell out that a row need not have; what it said is then not said.
func nothing(t *rapid.T, s *sheet) {
	mark := oneOf(t, "mark", []string{"", "-", "n/a", "?", ".", "x"})
	row, column, ok := s.aCell(t, aDate, aName, aCount)
	if !ok || s.heads[column] == "Hives" {
		return // a pull without them is one
	}
	row.cells[column] = mark
}

func datesWritten(forms ...string) func(*rapid.T, *sheet) {
	return func(t *rapid.T, s *sheet) {
		form := oneOf(t, "form", forms)
		if turned(s) {
			return // the program shows them as it took them
		}
		for _, r := range s.rows {
			for _, i := range s.columns(aDate) {
				if i < len(r.cells) {
					if day, is := r.cells[i].(time.Time); is {
						r.cells[i] = day.Format(form)
					}
				}
			}
		}
	}
}

// datesTurned types days day first into a program that expects the month first: it takes
// what it can for dates, and leaves the others as texts.
func datesTurned(t *rapid.T, s *sheet) {
	left := false
	for _, r := range s.rows {
		if day, is := r.cells[s.columns(aDate)[0]].(time.Time); is && day.Day() > 12 {
			left = true
		}
	}
	if !left {
		return // no text is left that could say so
	}
	for _, r := range s.rows {
		i := s.columns(aDate)[0]
		day, is := r.cells[i].(time.Time)
		switch {
		case !is:
		case day.Day() > 12:
			r.cells[i] = day.Format("2/1/2006")
		default:
			r.cells[i] = time.Date(day.Year(), time.Month(day.Day()), int(day.Month()), 0, 0, 0, 0, time.UTC)
		}
	}
}

// turned reports whether texts of dates say that the others were turned round.
func turned(s *sheet) bool {
	return slices.ContainsFunc(s.rows, func(r *sheetRow) bool {
		_, is := cellText(r, s.columns(aDate)[0])
		return is && r.fact != ""
	})
}

func datesAsNumbers(t *rapid.T, s *sheet) {
	if !s.only(false) {
		return
	}
	for _, r := range s.rows {
		for _, i := range s.columns(aDate) {
			if day, is := r.cells[i].(time.Time); is {
				r.cells[i] = day.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
			}
		}
	}
}

func datesOnce(t *rapid.T, s *sheet) {
	if turned(s) {
		return // the text that says so may be the one that is left out
	}
	for _, r := range s.rows[1:] {
		if i := s.columns(aDate)[0]; i < len(r.cells) && rapid.Bool().Draw(t, "left out") {
			r.cells[i] = nil
		}
	}
}

func rowTwice(t *rapid.T, s *sheet) {
	row := *oneOf(t, "twice", s.rows)
	row.cells = slices.Clone(row.cells)
	at := rapid.IntRange(0, len(s.rows)).Draw(t, "again at")
	s.rows = slices.Insert(s.rows, at, &row)
}

// summed are the sums of the columns of figures.
func summed(s *sheet) []any {
	cells := make([]any, len(s.heads))
	for _, i := range s.columns(aMass, aCount) {
		sum := 0.
		for _, r := range s.rows {
			if x, is := cellNumber(r, i); is {
				sum += x
			}
		}
		if sum != 0 {
			cells[i] = math.Round(sum*10) / 10
		}
	}
	return cells
}

func sums(t *rapid.T, s *sheet) {
	cells := summed(s)
	at := slices.IndexFunc(cells, func(c any) bool { return c == nil })
	if at < 0 {
		return
	}
	cells[at] = oneOf(t, "word", []string{"Total", "TOTAL:", "Sum", "Suma", "Average"})
	s.rows = append(s.rows, &sheetRow{cells: cells, blankBefore: rapid.Bool().Draw(t, "blank")})
}

func quietSums(t *rapid.T, s *sheet) {
	s.rows = append(s.rows, &sheetRow{cells: summed(s)})
}

func void(t *rapid.T, s *sheet) {
	columns := s.columns(someWords)
	if len(columns) == 0 || s.heads[columns[0]] == "Drum no" {
		return
	}
	row := oneOf(t, "void", s.rows)
	if columns[0] < len(row.cells) {
		row.cells[columns[0]] = oneOf(t, "word", []string{"VOID", "void", "anulado", "(cancelled)"})
	}
}

func misspelt(t *rapid.T, s *sheet) {
	put(t, s, func(name string) string {
		if len(name) < 3 {
			return ""
		}
		at := rapid.IntRange(0, len(name)-1).Draw(t, "letter")
		return oneOf(t, "how", []string{name[:at] + name[at+1:], name[:at] + "z" + name[at:], name + " 2"})
	}, aName)
}

func twoColumns(t *rapid.T, s *sheet) {
	column := oneOf(t, "column", s.columns(aMass, aFigure, aCount))
	s.heads, s.roles = append(s.heads, s.heads[column]), append(s.roles, someWords)
	if s.units != nil {
		s.units = append(s.units, s.units[column])
	}
	for _, r := range s.rows {
		for len(r.cells) < len(s.heads)-1 {
			r.cells = append(r.cells, nil)
		}
		if x, is := cellNumber(r, column); is {
			r.cells = append(r.cells, x+1)
		}
	}
}

// partedCell writes a decimal comma into a file of commas without quotes: its row has a
// field more, and what stands behind is a column off.
func partedCell(t *rapid.T, s *sheet) {
	row, column, ok := s.aCell(t, aMass, aFigure)
	if !ok {
		return
	}
	x, is := cellNumber(row, column)
	whole, part := math.Modf(x)
	if !is || part == 0 || !s.only(false) {
		return
	}
	row.cells[column] = plainly(whole)
	row.cells = slices.Insert(row.cells, column+1, any(plainly(math.Round(part*10))))
}
