package calculator

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"pullbook/domain/fault"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/units"
)

// asked says where in a question the figures are that the science may refuse.
type asked struct {
	// fields gives the pointer of a quantity under the science's name for it.
	// One without a leading slash belongs to an item of a list.
	fields map[string]string
	// lists gives the pointer of a list by the science's name for its items.
	lists map[string]string
	// otherwise is pointed at where the science names nothing of these.
	otherwise string
}

// numbered is how domain/heat says which item of a list it refuses.
var numbered = regexp.MustCompile(`^(reading|set point|result|stage) (\d+)\b`)

// Refusal puts what the science refuses into terms of the question.
func (a asked) Refusal(err error) error {
	var known *fault.Error
	if errors.As(err, &known) {
		return err
	}
	f := fault.Field{Pointer: a.otherwise, Message: refusalText(err)}
	item := ""
	if m := numbered.FindStringSubmatch(err.Error()); m != nil && a.lists[m[1]] != "" {
		number, _ := strconv.Atoi(m[2])
		item = fmt.Sprintf("%s/%d", a.lists[m[1]], number-1)
		f.Pointer = item
	}
	var outside *honey.RangeError
	if errors.As(err, &outside) {
		f.Sent, f.DidYouMean = figureSent(outside.Got), meant(outside)
		switch pointer := a.fields[outside.Quantity]; {
		case pointer == "":
		case strings.HasPrefix(pointer, "/") || strings.HasPrefix(pointer, "query:"):
			f.Pointer = pointer
		case item != "":
			f.Pointer = item + "/" + pointer
		}
	}
	return unanswerable(f)
}

func unanswerable(fields ...fault.Field) error {
	return &fault.Error{Code: fault.Invalid, Message: message.F("This question has no answer as it was asked. See what is said about each field; nothing was recorded."), Fields: fields}
}

// figureSent keeps a figure that JSON cannot write.
func figureSent(x float64) any {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return fmt.Sprint(x)
	}
	return x
}

// meant is the figure in the unit that was asked for, where the one that came
// looks like Fahrenheit for Celsius or like a fraction for percent.
func meant(e *honey.RangeError) any {
	celsius := math.Round(units.Celsius(e.Got)*10) / 10
	switch {
	case e.Unit == "C" && e.Got > e.Max && e.Min <= celsius && celsius <= e.Max:
		return celsius
	case e.Unit == "%" && 0 < e.Got && e.Got < 1 && e.Min <= 100*e.Got && 100*e.Got <= e.Max:
		return rounded(100 * e.Got)
	}
	return nil
}

// refusalText is what the science says of a figure it refuses, and of which item
// of a list it says so.
func refusalText(err error) message.Text {
	var outside *honey.RangeError
	if !errors.As(err, &outside) {
		return message.F("%s.", message.Capital(message.Of(err)))
	}
	where := strings.TrimSuffix(err.Error(), outside.Error())
	if stage, ok := strings.CutPrefix(where, "stage "); ok {
		return message.F("Stage %s: %s.", strings.TrimSuffix(stage, ": "), ledger.Outside(outside))
	}
	if where != "" {
		return message.Verbatim(Sentence(err.Error()))
	}
	return message.F("%s.", message.Capital(ledger.Outside(outside)))
}

// Sentence gives a phrase its capital letter and its full stop.
func Sentence(text string) string {
	if text == "" {
		return ""
	}
	letters := []rune(text)
	letters[0] = unicode.ToUpper(letters[0])
	return strings.TrimSuffix(string(letters), ".") + "."
}

// oneOf refuses a question that gives none or several of what excludes each
// other, and says which one it gives otherwise.
func oneOf(prefix string, values map[string]bool) (string, error) {
	names := slices.Sorted(maps.Keys(values))
	there := slices.DeleteFunc(slices.Clone(names), func(name string) bool { return !values[name] })
	if len(there) == 1 {
		return there[0], nil
	}
	text := message.F("One of these is needed: %s.", strings.Join(names, ", "))
	if len(there) == 0 {
		return "", unanswerable(fault.Field{Pointer: prefix + names[0], Message: text})
	}
	var fields []fault.Field
	for _, name := range there {
		fields = append(fields, fault.Field{Pointer: prefix + name, Message: message.F("Ask with only one of these: %s.", strings.Join(there, ", "))})
	}
	return "", unanswerable(fields...)
}
