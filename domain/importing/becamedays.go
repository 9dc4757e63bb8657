package importing

import (
	"strconv"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// becameDays asks about cells of the row at hand that a spreadsheet shows as days and that are
// taken for something else: it keeps a number for a day, and no longer what was typed.
func (k *taking) becameDays() bool {
	if k.wide != nil {
		return false
	}
	before := k.all
	for _, c := range k.reads {
		if c.index < 0 || c.info.measure == dates || c.info.measure == clocks || k.itself(c) == "" {
			continue
		}
		switch text := k.itself(c); {
		case k.table.IsDated(k.row, c.index) && tables.IsPlain(text):
			k.problem(TwoValues, c, message.F("A spreadsheet shows %s here and keeps the number %s for it, as it does where it takes what was typed for a day: type what was meant, and have the cell shown like the others of its column.", k.dayOfSerial(text), text))
		case k.Mapping.Of == Containers && (c.Field == FieldContainer || c.Field == FieldSeal) && isShortDay(text):
			k.problem(TwoValues, c, message.F("A spreadsheet makes %s of a number such as 2-1, as it does where it takes what was typed for a day: type what the number is.", message.Quoted(text)))
		}
	}
	return k.all > before
}

// dayOfSerial is the day that a number stands for, or that it is a day where it is none of these
// times.
func (k *taking) dayOfSerial(text string) message.Text {
	serial, err := strconv.ParseFloat(text, 64)
	if w, is := tables.FromSerial(serial, k.table.Epoch1904); err == nil && is {
		return message.F("%s", day(w))
	}
	return message.F("a day")
}

// isShortDay reports whether a text is a day as spreadsheets write one that had no year, 2-Jan or
// Jan-02, or as text files have it then: 2/1/2026.
func isShortDay(text string) bool {
	if strings.Count(text, "/") == 2 && isDate(text) {
		return true
	}
	before, behind, found := strings.Cut(text, "-")
	if !found {
		return false
	}
	if !isWhole(before) {
		before, behind = behind, before
	}
	const most = 2 // figures
	return isWhole(before) && len(before) <= most && shortMonths[strings.ToLower(strings.TrimSuffix(behind, "."))]
}

// shortMonths are the months as spreadsheets shorten them, in English and Spanish.
var shortMonths = wordSet("jan feb mar apr may jun jul aug sep sept oct nov dec ene abr ago dic")
