package importing

import (
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/message"
)

// nameRow stands for the sheet's name among what is said of rows, which are counted from 1.
const nameRow = 0

// askCalled asks about what the sheet is called, where that says of its rows what nothing else does, or
// something else than a person said of all of them. A workbook has a sheet for each year, yard or day, and
// what was said of one does not hold for the next.
func (k *taking) askCalled() {
	called := k.table.Name
	if called == "" || k.Mapping.Rows[nameRow] == LeftAside {
		return
	}
	p := Problem{Code: TwoValues, Sent: called, DidYouMean: []string{string(LeftAside)}}
	option := message.Option("rows: 0")
	year, value := k.yearAgainst(called), k.fixedAgainst(called, k.fixedAlone())
	switch {
	case year != "":
		p.Message = message.F("The sheet is called %s, and dates without a year are said to be of %s. Put one of them right, or say that the name says nothing of the rows%s.", message.Quoted(clip(called)), year, option)
	case value != "":
		p.Message = message.F("The sheet is called %s, and %s is said to hold for all its rows. Put one of them right, or say that the name says nothing of the rows%s.", message.Quoted(clip(called)), message.Quoted(value), option)
	case k.wide != nil && k.wide.saysUnitOfOthers(called):
		p.Message = message.F("The sheet is called %s, and its cells are read in another unit. Put one of them right, or say that the name says nothing of the rows%s.", message.Quoted(clip(called)), option)
	case k.calledOtherwise(called):
		p.Message = message.F("The sheet is called %s, and nothing else in it says so. Do its rows belong in the book? If they do, say that the name says nothing of them%s; else bring in another sheet.", message.Quoted(clip(called)), option)
	default:
		return
	}
	k.add(p)
}

// whichWords say in a sheet's name which one it is, and of a figure what it is.
var whichWords = wordSet("old new last previous prev before after far set on per ultimo ultima anterior antes despues nuevas")

// calledOtherwise reports whether a sheet's name says that its figures are none that were weighed or counted,
// or of boxes and hives that something else became of.
func (k *taking) calledOtherwise(called string) bool {
	words := wordsOf(called)
	if slices.ContainsFunc(words, func(word string) bool { return notAsItWas[word] }) {
		return true
	}
	moved := k.Mapping.Of == Pulls || k.Mapping.Of == HiveCounts
	return moved && !slices.ContainsFunc(words, func(word string) bool { return whichWords[word] }) && titledOtherwise(called)
}

// yearAgainst is the year of which dates without one are said to be, where a text speaks of another one
// alone; empty where it does not.
func (k *taking) yearAgainst(text string) string {
	said := strconv.Itoa(k.Mapping.Year)
	if years := yearsIn(strings.ReplaceAll(text, "_", " ")); k.Mapping.Year == 0 || len(years) == 0 || slices.Contains(years, said) {
		return ""
	}
	return said
}
