package feeds

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// withApostrophe returns a text as CSV has it for a spreadsheet program: behind an apostrophe
// where a program would make something else of it, a formula's result, a figure, a day or a
// time. The drum 00123 became 123, the lot 2026E07 became 20260000000, and 1/2 a day. Quotes do
// not help: most programs look past them.
func withApostrophe(text string) string {
	if startsFormula(text) || turns(text) {
		return "'" + text
	}
	return text
}

// formulaStarts are the characters with which a spreadsheet may take a text for
// a formula; seen in LibreOffice 7.4, the rest as common practice has it, also as
// wide as an ideograph.
const (
	formulaStarts = "=+-@\t\r\n"
	wideStarts    = "＝＋－＠"
)

// startsFormula reports whether a spreadsheet that reads CSV might run a text.
func startsFormula(text string) bool {
	if text == "" || text[0] < utf8.RuneSelf {
		return text != "" && strings.IndexByte(formulaStarts, text[0]) >= 0
	}
	first, _ := utf8.DecodeRuneInString(text)
	return strings.ContainsRune(wideStarts, first)
}

const (
	// longestTurned is longer than a day with its time, in bytes.
	longestTurned = 40
	// mostDigits are what a spreadsheet keeps of a figure (IEEE 754).
	mostDigits = 15
	// inTurned are the characters of figures, days and times beside digits and words.
	inTurned = " .,:/-'%()$€£¥\u00a0\u202f\u2019"
)

// turns reports whether a spreadsheet that reads CSV would show a text as something else, in one
// region or another: figures and what may part them, with at most one word, which is a month, am,
// pm, or the e of an exponent. A whole number that stays as it is does not count. LibreOffice 7.4
// was seen to turn most such texts, set to one or another of nine regions; months without blanks, as in
// MAR1 and 3-Sep, are turned by other programs, as common practice has it.
func turns(text string) bool {
	if len(text) > longestTurned || !strings.ContainsAny(text, "0123456789") {
		return false
	}
	text = strings.TrimSpace(text)
	from, to, figures, marks := 0, 0, 0, 0
	for at, r := range text {
		switch {
		case '0' <= r && r <= '9':
			figures++
		case unicode.IsLetter(r):
			if to == 0 {
				from = at
			} else if at > to {
				return false // a second word
			}
			to = at + utf8.RuneLen(r)
		case strings.ContainsRune(inTurned, r):
			marks++
		default:
			return false
		}
	}
	switch {
	case to > 0:
		return wordTurns(strings.ToLower(text), strings.ToLower(text[from:to]), figures)
	case marks == 0:
		return figures > mostDigits || figures > 1 && text[0] == '0'
	}
	return marksTurn(text)
}

// wordTurns is turns for figures with one word, both in small letters.
func wordTurns(text, word string, figures int) bool {
	switch rest, behind := strings.CutSuffix(text, word); word {
	case "e":
		return figures > 1 && text[0] != 'e' && !behind
	case "am", "pm":
		return behind
	case "a", "p":
		return behind && strings.HasSuffix(rest, " ")
	}
	return monthWords[word]
}

// marksTurn is turns for figures with marks between them. Two or three that a stroke or hyphen
// parts are a day where one of them may be its month, and none is neither day nor year.
func marksTurn(text string) bool {
	const monthsAYear, ofADay, ofAYear = 12, 2, 4
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == '/' || r == '-' })
	if len(parts) < 2 {
		return true
	}
	month := false
	for _, part := range parts {
		part = strings.TrimSpace(part)
		n, err := strconv.Atoi(part)
		if err == nil && len(part) > ofADay && len(part) != ofAYear {
			return false
		}
		month = month || err != nil || n <= monthsAYear // a time, or a figure with a mark of its own, may be turned too
	}
	return month && len(parts) <= 3
}

// monthWords are the months as programs set to English, German, Spanish or French know them.
var monthWords = func() map[string]bool {
	words := map[string]bool{}
	for _, word := range strings.Fields(`
		jan january feb february mar march apr april may jun june jul july aug august sep sept september oct october nov november dec december
		januar jänner februar märz mär mrz mai juni juli okt oktober dez dezember
		ene enero febrero marzo abr abril mayo junio julio ago agosto set septiembre octubre noviembre dic diciembre
		janv janvier févr fév février mars avr avril juin juil juillet août septembre octobre déc décembre`) {
		words[word] = true
	}
	return words
}()
