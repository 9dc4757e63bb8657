package importing

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
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
	year, value := k.yearAgainst(called), k.fixedAgainst(called)
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

// fixedAgainst is a value that is said to hold for all rows, where a text names another one: a yard, a kind
// of box, a day.
func (k *taking) fixedAgainst(text string) string {
	values := map[Field]string{}
	for field, value := range k.Mapping.Fixed {
		if c := k.columns[field]; c != nil && c.index < 0 {
			values[field] = value
		}
	}
	if k.wide != nil && k.Mapping.Wide.Of != "" {
		values[FieldSuperKind] = k.Mapping.Wide.Of
	}
	for _, field := range slices.Sorted(maps.Keys(values)) {
		value, info := values[field], infoOf(k.Mapping.Of, field)
		switch {
		case info == nil:
		case info.measure == dates && k.isOtherDay(text, value), info.noun != "" && k.namesOther(text, info.noun, value):
			return value
		}
	}
	return ""
}

// isOtherDay reports whether a text has a day or a month in it, and not that of a day.
func (k *taking) isOtherDay(text, day string) bool {
	said, err := tables.ParseDate(day, k.Mapping.Dates, k.Mapping.Year)
	if err != nil {
		return false
	}
	const longest = 4
	year, words := cmp.Or(k.Mapping.Year, said.Year), strings.Fields(text)
	for length := min(len(words), longest); length > 0; length-- { // 6 July 2026 before 6 July
		for from := range len(words) - length + 1 {
			part := strings.Trim(strings.Join(words[from:from+length], " "), ".,:;()")
			if isMonth(part) {
				part = ofMonth(part, said.Day, year)
			} else if !isDay(part, k.table) {
				continue
			}
			if other, err := tables.ParseDate(part, k.Mapping.Dates, year); err == nil {
				return other.Year != said.Year || other.Month != said.Month || other.Day != said.Day
			}
		}
	}
	return false
}

// namesOther reports whether a text names another thing of the outfit than one, and not that one.
func (k *taking) namesOther(text string, noun Noun, one string) bool {
	if noun == NounLot || noun == NounContainer {
		return false // numbers, and many texts hold some
	}
	const longest = 3
	words := strings.Fields(text)
	other := noun == NounSuperKind && slices.ContainsFunc(wordsOf(text), func(word string) bool { return boxSizes[word] && !slices.Contains(wordsOf(one), word) })
	for from := range words {
		for to := from + 1; to <= min(len(words), from+longest); to++ {
			part := strings.Trim(strings.Join(words[from:to], " "), ".,:;()")
			if spelling.Plain(part) == spelling.Plain(one) || noun == NounSuperKind && isKind(sameName(part), one) {
				return false
			}
			_, known := k.book.Names(kindOf[noun], sameName(part))
			other = other || known
		}
	}
	return other
}
