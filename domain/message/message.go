// Package message holds what the book says in words so that it can be said in
// another language: a sentence in English with places for what goes into it, and
// figures that keep their value until somebody reads them in their own units and
// with their own decimal mark.
package message

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Text is a sentence, or part of one. Its format is English and names the
// sentence in the catalogue of other languages, so it is always a literal. Every
// place in it is a %s (or %[2]s, where a language puts things in another order).
//
// Where one English word is two in other languages, what it is about stands
// before a bar: "lot|open" and "tank|open" both read "open".
type Text struct {
	Format string
	// Args are strings, which are names and stay as they are, whole numbers,
	// Texts and the figures of this package.
	Args []any
}

// F makes a text.
func F(format string, args ...any) Text { return Text{format, args} }

// Verbatim is a text that is the same in every language: a name, a code.
func Verbatim(text string) Text { return Text{Format: "%s", Args: []any{text}} }

// Join puts texts side by side, with a space between.
func Join(texts ...Text) Text {
	out := Text{Format: strings.TrimSuffix(strings.Repeat("%s ", len(texts)), " ")}
	for _, t := range texts {
		out.Args = append(out.Args, t)
	}
	return out
}

// List is a, b and c; Either is a, b or c.
type (
	List   []Text
	Either []Text
)

// Series is texts one after another, with Between between them.
type Series struct {
	Between string
	Items   []Text
}

// Capital is a text that begins a sentence, whatever it begins with.
type Capital Text

// Quoted is what somebody wrote, in quotation marks.
type Quoted string

// Significant is a number with so many significant figures.
func Significant(v float64, figures int) Number {
	if v == 0 {
		return Number{}
	}
	return Number{v, -max(0, figures-1-int(math.Floor(math.Log10(math.Abs(v)))))}
}

// Figure is a number with the places that it needs, six at most.
func Figure(v float64) Number { return Number{v, -6} }

// Plural is one form or the other by a count. Both forms have one %s, for N.
type Plural struct {
	N          float64
	One, Other string
}

// Number is a figure with so many places after the mark; fewer where the rest
// would be zeros, if Places is negative.
type Number struct {
	V      float64
	Places int
}

// Kg is a mass in kilograms, read with its unit in that of the outfit.
type Kg float64

// KgTo is a mass to the place that another deserves in the reader's unit, such as
// that which it may be off by.
type KgTo struct{ Kg, To float64 }

// WithSD is a mass with how far it may be off.
func WithSD(kg, sd float64) Text { return F("%s ± %s", KgTo{kg, sd}, KgTo{sd, sd}) }

// RoundKg is a mass to the place that its own size deserves.
func RoundKg(kg float64) KgTo { return KgTo{kg, kg} }

// Celsius is a temperature, read with its unit in that of the outfit.
type Celsius float64

// Litres is a volume, read with its unit in that of the outfit.
type Litres float64

// Measured is a figure in a metric unit that other systems have one of their own
// for: cm, mm, m2, or K for a difference. It is read in that of the outfit.
type Measured struct {
	V    float64
	Unit string
	// Bare leaves the unit out, where another figure says it.
	Bare bool
}

// Day and Minute are times as a clock on the outfit's wall shows them.
type (
	Day    time.Time
	Minute time.Time
)

// DayInYear and MinuteInYear are times without their year.
type (
	DayInYear    time.Time
	MinuteInYear time.Time
)

// Instant is a time to the second; the book's own voice says its offset too.
type Instant time.Time

// Date is a day of the calendar, as 2026-08-21.
type Date string

// Option is how a program gives the answer that a sentence asks for. A page asks
// for it by a question of its own, and does not say it.
type Option string

// Voice is a language with its ways of writing figures.
type Voice interface {
	// Format is what a format of English is in this language.
	Format(english string) string
	Number(v float64, places int) string
	Kg(v float64) string
	KgTo(v, to float64) string
	Celsius(v float64) string
	Litres(v float64) string
	// Measured is the figure and the unit that it is read in.
	Measured(v float64, unit string) (figure, in string)
	Day(time.Time) string
	Date(iso string) string
	Minute(time.Time) string
	Option(name string) string
	Instant(time.Time) string
	DayInYear(time.Time) string
	MinuteInYear(time.Time) string
}

// String is the text in English and metric units, with a decimal point.
func (t Text) String() string { return t.In(English{}) }

// IsEmpty reports whether there is nothing to say.
func (t Text) IsEmpty() bool { return t.Format == "" }

// In is the text as a voice says it.
func (t Text) In(v Voice) string {
	format := v.Format(t.Format)
	if len(t.Args) == 0 {
		return strings.ReplaceAll(format, "%%", "%")
	}
	said := make([]any, len(t.Args))
	for i, a := range t.Args {
		said[i] = sayArg(v, a)
	}
	return fmt.Sprintf(format, said...)
}

func sayArg(v Voice, arg any) string {
	switch a := arg.(type) {
	case Text:
		return a.In(v)
	case List:
		return inOne(v, "%s and %s", a)
	case Either:
		return inOne(v, "%s or %s", a)
	case Series:
		return strings.Join(inEach(v, a.Items), a.Between)
	case Capital:
		return capital(Text(a).In(v))
	case Quoted:
		return `"` + string(a) + `"`
	case Plural:
		form := a.Other
		if a.N == 1 {
			form = a.One
		}
		return F(form, Number{a.N, MassPlaces(a.N)}).In(v)
	case Number:
		return v.Number(a.V, a.Places)
	case int:
		return v.Number(float64(a), 0)
	case int64:
		return v.Number(float64(a), 0)
	case Kg:
		return v.Kg(float64(a))
	case KgTo:
		return v.KgTo(a.Kg, a.To)
	case Celsius:
		return v.Celsius(float64(a))
	case Measured:
		figure, in := v.Measured(a.V, a.Unit)
		if a.Bare {
			return figure
		}
		return figure + " " + in
	case Litres:
		return v.Litres(float64(a))
	case Day:
		return v.Day(time.Time(a))
	case Date:
		return v.Date(string(a))
	case Minute:
		return v.Minute(time.Time(a))
	case Option:
		return v.Option(string(a))
	case Instant:
		return v.Instant(time.Time(a))
	case DayInYear:
		return v.DayInYear(time.Time(a))
	case MinuteInYear:
		return v.MinuteInYear(time.Time(a))
	}
	return fmt.Sprint(arg)
}

func inEach(v Voice, texts []Text) []string {
	said := make([]string, len(texts))
	for i, t := range texts {
		said[i] = t.In(v)
	}
	return said
}

// inOne says all but the last with commas, and the last as the format has it.
func inOne(v Voice, format string, texts []Text) string {
	said := inEach(v, texts)
	n := len(said)
	if n < 2 {
		return strings.Join(said, "")
	}
	return F(format, strings.Join(said[:n-1], ", "), said[n-1]).In(v)
}

// capital leaves what is never written so, such as pH.
func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if second, _ := utf8.DecodeRuneInString(s[size:]); size == 0 || unicode.IsUpper(second) {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}

// Of is what an error says: its own Text where it has one, else its words as
// they are.
func Of(err error) Text {
	var said interface{ Said() Text }
	if errors.As(err, &said) {
		return said.Said()
	}
	return Verbatim(err.Error())
}

// Errorf is an error that keeps its sentence, so that Of has it back. It wraps
// an error among its arguments.
func Errorf(format string, args ...any) error {
	e := &saidError{}
	for i, a := range args {
		if err, ok := a.(error); ok {
			e.under, args[i] = err, Of(err)
		}
	}
	e.text = F(format, args...)
	return e
}

type saidError struct {
	text  Text
	under error
}

func (e *saidError) Error() string { return e.text.String() }
func (e *saidError) Said() Text    { return e.text }
func (e *saidError) Unwrap() error { return e.under }
