package importing

import (
	"slices"

	"pullbook/domain/message"
)

// notAsItWas are words of a title by which the figures below it are none that were weighed or
// counted, in the languages of the headings; common practice.
var notAsItWas = anyOf(plannedWords, meanWords, roughWords, wordSet(`
	draft example template borrador ejemplo plantilla entwurf estimes brouillon rascunho`))

// netWords say of weights that what held the honey is taken off, and zoneWords of times that they
// are of no place's clocks.
var (
	netWords  = wordSet("net neto netos netto nettogewichte liquido liquidos")
	zoneWords = wordSet("utc gmt zulu")
)

// noteAbove asks about a row above the headings that says of the figures what their headings do
// not: that they are a plan, or net, or that times are of another zone.
func (k *taking) noteAbove(row int, cells []string) {
	if row >= k.Mapping.HeadingRow || k.leaveOut[row] || k.wide != nil {
		return
	}
	for _, cell := range cells {
		words := wordsOf(cell)
		if slices.ContainsFunc(k.Mapping.Columns, func(c Column) bool { return cell != "" && c.Field != "" && isOfHeading(cell, c.Heading) }) {
			continue // of a group of columns, and part of their headings
		}
		switch {
		case slices.ContainsFunc(words, func(word string) bool { return notAsItWas[word] }):
		case slices.ContainsFunc(words, func(word string) bool { return netWords[word] }) && k.columns[FieldGross] != nil && k.columns[FieldNet] == nil:
		case slices.ContainsFunc(words, func(word string) bool { return zoneWords[word] }) && k.columns[FieldTime] != nil && k.zoneOfColumns() == nil:
		default:
			continue
		}
		k.add(Problem{Code: TwoValues, Row: row, Sent: cell, Message: message.F("Above the table stands %s, and the headings say nothing of it. If it is not about the rows that are to be brought in, leave this row out%s; else put into the headings, or the figures, what it says.", message.Quoted(clip(cell)), message.Option("leave_out_rows"))})
		return
	}
}
