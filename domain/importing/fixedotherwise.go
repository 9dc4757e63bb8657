package importing

import (
	"maps"
	"slices"
	"strings"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// methods are those of HMF, as a title has them.
var methods = []string{"hplc", "white", "winkler"}

// otherThanFixed reports whether a text names another yard, tank, lot, kind or day than the one that
// was given for all rows as one of some fields, and not that one.
func (k *taking) otherThanFixed(text string, fields []Field) bool {
	plain := " " + spelling.Plain(text) + " "
	has := func(name string) bool {
		name = spelling.Plain(name)
		return name != "" && strings.Contains(plain, " "+name+" ")
	}
	return slices.ContainsFunc(fields, func(f Field) bool {
		fixed := k.Mapping.Fixed[f]
		noun := NounOf(k.Mapping.Of, f)
		switch {
		case has(fixed):
			return false
		case f == FieldDate:
			return isOtherDay(text, fixed)
		case f == FieldHMFMethod:
			return has("hmf") && slices.ContainsFunc(methods, has)
		case kindOf[noun] == "" || noun == NounContainer:
			return false
		}
		if choice, _ := k.choice(noun, fixed); choice.Is != "" {
			fixed = choice.Is
		}
		if has(fixed) {
			return false
		}
		found := false
		k.book.InForceOf(kindOf[noun], func(root ledger.ID, _ *ledger.Entry) bool {
			found = found || has(k.book.Name(root))
			return !found
		})
		return found
	})
}

// fixedAlone are the fields that are the same in all rows, without a column that says it of some.
func (k *taking) fixedAlone() []Field {
	return slices.DeleteFunc(slices.Sorted(maps.Keys(k.Mapping.Fixed)), func(f Field) bool {
		return slices.ContainsFunc(k.Mapping.Columns, func(c Column) bool { return c.Field == f })
	})
}

// isOtherDay reports whether a text is a day, and another one than that given for all rows,
// whichever of its numbers is the month.
func isOtherDay(text, fixed string) bool {
	given, err := time.Parse(time.DateOnly, fixed)
	if err != nil {
		return false
	}
	is := false
	for _, order := range [...]tables.Order{tables.DayFirst, tables.MonthFirst} {
		w, err := tables.ParseDate(text, order, given.Year())
		if err == nil && w.Year == given.Year() && w.Month == int(given.Month()) && w.Day == given.Day() {
			return false
		}
		is = is || err == nil
	}
	return is
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
		if filled++; k.otherThanFixed(cell, fixed) {
			said = cell
		}
	}
	if said == "" || filled > few {
		return false
	}
	k.problem(DoubtfulRow, nil, message.F("The row says %s, and another one was given for all rows. Are the rows below it of that one? Put it into a column, or bring them in as a sheet of their own; or say that it changes nothing%s.", message.Quoted(clip(said)), message.Option("rows: another")), string(Another))
	return true
}
