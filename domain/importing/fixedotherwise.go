package importing

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// methods are those of HMF, as a title has them.
var methods = []string{"hplc", "white", "winkler"}

// fixedAgainst is what was given for all rows as one of some fields, where a text names another yard,
// tank, lot, kind of box, day or method, and not that one; empty where it does not.
func (k *taking) fixedAgainst(text string, fields []Field) string {
	for _, f := range fields {
		value, info := k.fixedValue(f), infoOf(k.Mapping.Of, f)
		switch {
		case info == nil:
		case f == FieldHMFMethod && namesOtherMethod(text, value), info.measure == dates && k.isOtherDay(text, value),
			info.noun != "" && k.namesOther(text, info.noun, value):
			return value
		}
	}
	return ""
}

// fixedValue is what was given for all rows as a field, or for all cells of a wide sheet as their kind of box.
func (k *taking) fixedValue(f Field) string {
	if f == FieldSuperKind && k.wide != nil && k.Mapping.Wide.Of != "" {
		return k.Mapping.Wide.Of
	}
	return k.Mapping.Fixed[f]
}

// fixedAlone are the fields that are the same in all rows, without a column that says it of some.
func (k *taking) fixedAlone() []Field {
	fields := slices.DeleteFunc(slices.Sorted(maps.Keys(k.Mapping.Fixed)), func(f Field) bool {
		return slices.ContainsFunc(k.Mapping.Columns, func(c Column) bool { return c.Field == f })
	})
	if k.wide != nil && k.Mapping.Wide.Of != "" && !slices.Contains(fields, FieldSuperKind) {
		fields = append(fields, FieldSuperKind)
	}
	return fields
}

// hasName reports whether a text has a name in it, whatever the accents and marks of either.
func hasName(text, name string) bool {
	name = spelling.Plain(name)
	return name != "" && strings.Contains(" "+spelling.Plain(text)+" ", " "+name+" ")
}

func namesOtherMethod(text, method string) bool {
	return hasName(text, "hmf") && !hasName(text, method) && slices.ContainsFunc(methods, func(m string) bool { return hasName(text, m) })
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

// namesOther reports whether a text names another thing of the outfit than one, and not that one. Lots are
// numbers, which many texts have: they count where the text says that it is about a lot, or is nothing else.
func (k *taking) namesOther(text string, noun Noun, one string) bool {
	if noun == NounContainer || noun == NounLot && !k.isAboutLot(text) || hasName(text, one) {
		return false
	}
	if choice, _ := k.choice(noun, one); choice.Is != "" {
		if one = choice.Is; hasName(text, one) {
			return false
		}
	}
	words := wordsOf(text)
	if noun == NounSuperKind {
		if slices.ContainsFunc(words, func(word string) bool { return isKind(word, one) }) {
			return false
		}
		if slices.ContainsFunc(words, func(word string) bool { return boxSizes[word] && !slices.Contains(wordsOf(one), word) }) {
			return true
		}
	}
	other := false
	k.book.InForceOf(kindOf[noun], func(root ledger.ID, _ *ledger.Entry) bool {
		other = hasName(text, k.book.Name(root))
		return !other
	})
	return other
}

func (k *taking) isAboutLot(text string) bool {
	info := infoOf(k.Mapping.Of, FieldLot)
	return len(strings.Fields(text)) == 1 || info != nil && slices.ContainsFunc(info.headings, func(heading string) bool { return hasName(text, heading) })
}

// headsOthers asks about a row that is passed over or left out and has nothing but the name of
// another yard or lot than was given for all rows, or another day: what stands below it may be of
// that one.
func (k *taking) headsOthers() bool {
	const few = 2
	fixed := slices.Sorted(maps.Keys(k.Mapping.Fixed)) // rows below may leave their column empty
	if k.wide != nil || len(fixed) == 0 || k.answered("") != "" {
		return false
	}
	filled, said := 0, ""
	for _, cell := range k.cells {
		if cell == "" {
			continue
		}
		if filled++; k.fixedAgainst(cell, fixed) != "" {
			said = cell
		}
	}
	if said == "" || filled > few {
		return false
	}
	k.problem(DoubtfulRow, nil, message.F("The row says %s, and another one was given for all rows. Are the rows below it of that one? Put it into a column, or bring them in as a sheet of their own; or say that it changes nothing%s.", message.Quoted(clip(said)), message.Option("rows: another")), string(Another))
	return true
}
