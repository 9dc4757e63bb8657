package importing

import (
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
)

// quantities are headings of a column that says how many a row is, in the languages of the headings.
var quantities = wordSet("qty quantity count number units pieces pcs drums containers buckets pails barrels cantidad cant unidades envases tambores anzahl menge stuck quantite quantidade")

// askQuantity asks about a row of a container beside which an unread column says that it is
// several.
func (k *taking) askQuantity() {
	for _, i := range k.headedBy(&k.quantities, isQuantity) {
		c, cell := &k.Mapping.Columns[i], cellAt(k.cells, i)
		if !isWhole(cell) || cell == "0" || cell == "1" {
			continue
		}
		k.problem(TwoValues, &column{Column: c, index: i, info: infoOf(k.Mapping.Of, FieldNote)}, message.F("Column %s says %s here, and the row names one container. Is it one, or are they %s? Give each of several a row of its own with its own weight, or empty this cell.", columnName(c.Column, c.Heading), cell, cell))
	}
}

// headedBy are the columns that are not read whose headings say something. They are kept in found,
// since rows do not change them.
func (k *taking) headedBy(found *[]int, says func(heading string) bool) []int {
	if *found == nil {
		*found = []int{}
		for i, c := range k.Mapping.Columns {
			if c.Field == "" && says(c.Heading) {
				*found = append(*found, i)
			}
		}
	}
	return *found
}

// isQuantity reports whether a heading says no more than that its column counts: qty, no. of drums.
func isQuantity(heading string) bool {
	words := wordsOf(heading)
	return len(words) > 0 && !slices.ContainsFunc(words, func(word string) bool {
		return !quantities[word] && word != "of" && word != "de" && word != "no" && word != "n"
	}) &&
		slices.ContainsFunc(words, func(word string) bool { return quantities[word] })
}

// askSum asks about a row whose kinds of super do not come to what an unread column says that
// they do.
func (k *taking) askSum(supers []ledger.SuperCount) {
	if k.wide != nil || k.bad || len(k.supers) < 2 {
		return
	}
	sum := 0
	for _, s := range supers {
		sum += s.Supers
	}
	for _, i := range k.headedBy(&k.sumsOfKinds, k.headsSum) {
		c, cell := &k.Mapping.Columns[i], cellAt(k.cells, i)
		if !isWhole(cell) || strings.TrimLeft(cell, "0") == strconv.Itoa(sum) {
			continue
		}
		k.problem(TwoValues, &column{Column: c, index: i, info: infoOf(k.Mapping.Of, FieldNote)}, message.F("Column %s says %s supers, and those of each kind come to %s: put right which one is wrong, or empty this cell.", columnName(c.Column, c.Heading), cell, sum))
	}
}

// headsSum reports whether a heading names all supers, of whichever kind.
func (k *taking) headsSum(heading string) bool {
	words := slices.DeleteFunc(slices.Clone(wordsOf(heading)), func(word string) bool { return word == "total" || word == "all" || word == "todas" })
	return slices.ContainsFunc(fieldsByHeading[k.Mapping.Of][strings.Join(words, " ")], func(f *fieldInfo) bool { return f.field == FieldSupers }) ||
		len(words) == 0 && spelling.Plain(heading) == "total"
}
