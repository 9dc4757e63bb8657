package pages

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/domain/fault"
	"pullbook/domain/standard"
)

// sentLimits is a form of a buyer's limits that was sent, and what is wrong with it, by the
// name of the field.
type sentLimits struct {
	locale.Voice
	typed url.Values
	start *limitsStart
	// correcting is where the form changes the rule set that it starts from.
	correcting bool
	wrong      map[string]string
	// lineOf is the parameter whose fields made a line of the entry, and stepOf the row
	// that made a step of its price.
	lineOf map[int]plainLimit
	stepOf []int
}

func (s *sentLimits) one(name string) string { return strings.TrimSpace(s.typed.Get(name)) }

// figure is what was typed in a field, as decimal text; empty where nothing was, or where it
// cannot be read.
func (s *sentLimits) figure(name string) string {
	if s.one(name) == "" {
		return ""
	}
	figure, err := s.Decimal(s.one(name))
	if err != nil {
		s.wrong[name] = form.SayError(s.Voice, err)
	}
	return figure
}

// entry is the entry that the form asks for, as the contract has it.
func (s *sentLimits) entry() map[string]any {
	value := cloned(s.start.value)
	s.needs("/name")
	s.needs("/citation")
	if s.correcting {
		s.needs("/reason")
	}
	for _, name := range []string{"name", "buyer_id", "citation", "in_force_from", "in_force_to", "note"} {
		delete(value, name)
		if typed := s.one("/" + name); typed != "" {
			value[name] = typed
		}
	}
	delete(value, "measured_within_days")
	if days := s.figure("/measured_within_days"); days != "" {
		n, err := strconv.Atoi(days)
		if err != nil {
			s.wrong["/measured_within_days"] = s.Say("It is a number of whole days.")
		}
		value["measured_within_days"] = n
	}
	limits := s.limits()
	value["limits"] = limits
	if len(limits) == 0 {
		s.wrong[plainLimits[0].most] = s.Say("Write at least one limit.")
	}
	s.keepNamed(value, limits)
	delete(value, "price")
	if price := s.price(); price != nil {
		value["price"] = price
	}
	return value
}

// needs says that a field has to be filled in, with whatever else is wrong.
func (s *sentLimits) needs(name string) {
	if s.one(name) == "" {
		s.wrong[name] = s.Say("This is missing.")
	}
}

// limits are the lines of the entry: those of the start that stay, as the fields have them now,
// and then those that are new.
func (s *sentLimits) limits() []any {
	out := []any{}
	add := func(line map[string]any, d plainLimit) {
		if line != nil {
			s.lineOf[len(out)] = d
			out = append(out, line)
		}
	}
	if s.start.set != nil {
		for i := range s.start.set.Limits {
			switch d := s.asked(i); {
			case d.parameter != "":
				add(s.plainLine(d, s.start.line(i)), d)
			case slices.Contains(s.typed["keep"], strconv.Itoa(i)):
				add(s.takenLine(i), plainLimit{})
			}
		}
	}
	for _, d := range plainLimits {
		if s.start.plain(d) < 0 {
			add(s.plainLine(d, map[string]any{"parameter": d.parameter, "unit": d.unit}), d)
		}
	}
	return out
}

// asked is the parameter whose fields show a line of the start; an empty one where none do.
func (s *sentLimits) asked(line int) plainLimit {
	for _, d := range plainLimits {
		if s.start.plain(d) == line {
			return d
		}
	}
	return plainLimit{}
}

// plainLine is a line with what the fields of its parameter hold; nil where they are empty.
func (s *sentLimits) plainLine(d plainLimit, line map[string]any) map[string]any {
	least, most := s.figure(d.least), s.figure(d.most)
	for _, name := range []string{"limit", "limit_to", "ends"} {
		delete(line, name)
	}
	switch {
	case s.one(d.least) == "" && s.one(d.most) == "":
		return nil
	case s.one(d.least) == "":
		line["comparator"], line["limit"] = string(standard.AtMost), most
	case s.one(d.most) == "":
		line["comparator"], line["limit"] = string(standard.AtLeast), least
	default:
		line["comparator"], line["limit"], line["limit_to"], line["ends"] = string(standard.Between), least, most, "[]"
	}
	line["clause"] = cmp.Or(s.one("clause "+d.parameter), s.one("/citation"))
	return line
}

// mostClause is how long a clause may be, by the contract.
const mostClause = 200

// takenLine is a line of the start that goes along. Taken over from a published text, its clause
// names the text; from another buyer's, it is of the contract in hand.
func (s *sentLimits) takenLine(i int) map[string]any {
	line := s.start.line(i)
	switch {
	case s.correcting:
	case s.start.set.Own():
		line["clause"] = s.one("/citation")
	default:
		clause := fmt.Sprintf("%s, %s", s.start.set.Edition, line["clause"])
		if utf8.RuneCountInString(clause) > mostClause {
			clause = string([]rune(clause)[:mostClause])
		}
		line["clause"] = clause
	}
	return line
}

// keepNamed leaves out what the rule set names of its own where no line is left that limits it.
func (s *sentLimits) keepNamed(value map[string]any, limits []any) {
	named, _ := value["parameters"].([]any)
	named = slices.DeleteFunc(slices.Clone(named), func(p any) bool {
		return !slices.ContainsFunc(limits, func(l any) bool { return cloned(l)["parameter"] == cloned(p)["name"] })
	})
	delete(value, "parameters")
	if len(named) > 0 {
		value["parameters"] = named
	}
}

// refused puts what the book found wrong where its field is, and returns what has none.
func (s *sentLimits) refused(x *fault.Error) (others []string) {
	for _, f := range x.Fields {
		said, name := f.Message.In(s.Voice), s.fieldOf(f.Pointer)
		switch {
		case name != "" && s.wrong[name] == "":
			s.wrong[name] = said
		case name == "" && !slices.Contains(others, said):
			others = append(others, said)
		}
	}
	return others
}

// fieldOf is the field of the form that a pointer into the entry is about; empty where none is.
func (s *sentLimits) fieldOf(pointer string) string {
	switch parts := strings.Split(strings.TrimPrefix(pointer, "/"), "/"); {
	case pointer == "/limits":
		return plainLimits[0].most
	case parts[0] == "limits":
		return s.fieldOfLine(parts[1:])
	case parts[0] == "price" && len(parts) > 2 && parts[1] == "discounts":
		i, err := strconv.Atoi(parts[2])
		if err != nil || i >= len(s.stepOf) {
			return priceField
		}
		return "step " + strconv.Itoa(s.stepOf[i])
	case parts[0] == "price" && slices.Contains(parts, "currency"):
		return currencyField
	case parts[0] == "price":
		return priceField
	}
	if slices.Contains(limitsFields, pointer) {
		return pointer
	}
	return ""
}

// limitsFields are those whose names are pointers into the entry.
var limitsFields = []string{"/name", "/buyer_id", "/citation", "/in_force_from", "/in_force_to", "/note", "/measured_within_days", "/reason"}

func (s *sentLimits) fieldOfLine(parts []string) string {
	i, err := strconv.Atoi(parts[0])
	d := s.lineOf[i]
	switch {
	case err != nil, d.parameter == "":
		return ""
	case slices.Contains(parts, "clause"):
		return "clause " + d.parameter
	case slices.Contains(parts, "limit_to"), d.least == "", s.one(d.least) == "" && d.most != "":
		return d.most
	}
	return d.least
}
