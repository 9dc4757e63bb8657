package importing

import (
	"slices"

	"pullbook/domain/message"
)

// notAsItWas are words of a title by which the figures below it are none that were weighed or
// counted, in the languages of the headings; common practice.
var notAsItWas = anyOf(plannedWords, meanWords, roughWords, wordSet(`
	draft example template borrador ejemplo plantilla entwurf estimes brouillon rascunho`))

// correctedWords say of what a refractometer showed that it is as at its usual temperature, of which
// the sample's own temperature would have it corrected again.
var correctedWords = wordSet("corrected compensated atc corregido corregida compensado compensada korrigiert kompensiert corrige corrigee corrigido corrigida")

// netWords say of weights that what held the honey is taken off, loadWords that what carried it is not, and
// zoneWords of times that they are of no place's clocks.
var (
	loadWords = wordSet("pallet pallets skid skids trailer palet palets pale tarima tarimas remolque palette paletten palettes anhanger remorque palete")
	netWords  = wordSet("net neto netos netto nettogewichte liquido liquidos")
	zoneWords = wordSet("utc gmt zulu")
)

// noteAbove asks about a row above the headings that says of the figures what their headings do
// not: that they are a plan, or net, or that times are of another zone.
func (k *taking) noteAbove(row int, cells []string) {
	if row >= k.Mapping.HeadingRow || k.leaveOut[row] || k.wide != nil && row == k.wide.headingRow() {
		return
	}
	for _, cell := range cells {
		if k.titleAgainst(row, cell) {
			return
		}
		if slices.ContainsFunc(k.Mapping.Columns, func(c Column) bool { return cell != "" && c.Field != "" && isOfHeading(cell, c.Heading) }) {
			continue // of a group of columns, and part of their headings
		}
		if !k.saysOfFigures(wordsOf(cell)) {
			continue
		}
		k.add(Problem{Code: TwoValues, Row: row, Sent: cell, Message: message.F("Above the table stands %s, and the headings say nothing of it. If it is not about the rows that are to be brought in, leave this row out%s; else put into the headings, or the figures, what it says.", message.Quoted(clip(cell)), message.Option("leave_out_rows"))})
		return
	}
}

// saysOfFigures reports whether the words of a title say of the figures below what their headings
// do not.
func (k *taking) saysOfFigures(words []string) bool {
	has := func(set map[string]bool) bool {
		return slices.ContainsFunc(words, func(word string) bool { return set[word] })
	}
	return has(notAsItWas) ||
		has(netWords) && k.columns[FieldGross] != nil && k.columns[FieldNet] == nil ||
		has(loadWords) && k.columns[FieldGross] != nil && slices.ContainsFunc(words, isOfWeights) ||
		has(zoneWords) && k.columns[FieldTime] != nil && k.zoneOfColumns() == nil ||
		has(correctedWords) && k.columns[FieldSampleC] != nil
}

// askOfTable asks about the name of the file and comments on the headings that say of the figures
// what the headings do not.
func (k *taking) askOfTable() {
	row := k.Mapping.HeadingRow
	if k.wide != nil || row < 1 || k.Mapping.Rows[row] != "" {
		return
	}
	texts := []string{k.File}
	for i := 1; i <= row; i++ {
		texts = append(texts, k.table.Remarks[i]...)
	}
	for _, text := range texts {
		if k.saysOfFigures(wordsOf(text)) || k.fixedAgainst(text, k.fixedAlone()) != "" {
			k.add(Problem{Code: DoubtfulRow, Row: row, Sent: text, DidYouMean: []string{string(Another)},
				Message: message.F("The name of the file, or a comment on the headings, says %s, and neither the headings nor what was given for all rows do. Put what it says into the headings, the figures or that; or say that the rows hold as they stand%s.", message.Quoted(clip(text)), message.Option("rows: another"))})
			return
		}
	}
}

// askCorrected asks about what a refractometer showed whose heading says that it is corrected, where
// the sample's temperature would have it corrected again.
func (k *taking) askCorrected() {
	sample := k.columns[FieldSampleC]
	if sample == nil || k.wide != nil {
		return
	}
	for _, f := range [...]Field{FieldMoisture, FieldRefractive, FieldBrix} {
		c := k.columns[f]
		if c == nil || !slices.ContainsFunc(wordsOf(c.Heading), func(word string) bool { return correctedWords[word] }) {
			continue
		}
		k.add(Problem{Code: TwoValues, Field: FieldSampleC, Column: sample.Column.Column, Heading: sample.Heading,
			Message: message.F("Column %s says that it is corrected for temperature, and the temperatures of column %s would have it corrected again: leave those unread, or say which column has what the refractometer showed.",
				columnName(c.Column.Column, c.Heading), columnName(sample.Column.Column, sample.Heading))})
	}
}

// titleAgainst asks about a title that names another year, yard, kind of box or day than the one that is said
// to hold for all rows.
func (k *taking) titleAgainst(row int, title string) bool {
	p := Problem{Code: TwoValues, Row: row, Sent: title}
	year, value := "", ""
	if k.wide == nil { // of a wide sheet's years and kinds it is asked where they stand
		year, value = k.yearAgainst(title), k.fixedAgainst(title, k.fixedAlone())
	}
	switch {
	case year != "":
		p.Message = message.F("Above the table stands %s, and dates without a year are said to be of %s. Put one of them right, or leave this row out%s.", message.Quoted(clip(title)), year, message.Option("leave_out_rows"))
	case value != "":
		p.Message = message.F("Above the table stands %s, and %s is said to hold for all its rows. Put one of them right, or leave this row out%s.", message.Quoted(clip(title)), message.Quoted(value), message.Option("leave_out_rows"))
	default:
		return false
	}
	k.add(p)
	return true
}

// isOfWeights reports whether a word of a title is about weights: pallets alone are what stood on them.
func isOfWeights(word string) bool {
	_, isUnit := unitWords[word]
	return isUnit || aboutWeights[word] || weighed[word]
}

// weighed are further words of such titles, in the languages of the headings.
var weighed = wordSet("weighed weighing pesado pesados pesada gewogen gewichte gewicht pese peses poids incl including incluye")
