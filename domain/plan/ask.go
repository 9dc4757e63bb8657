package plan

import (
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Question is what somebody wants to blend.
type Question struct {
	Spec
	// Sets are rule sets that the blend has to keep to, beside Spec.Limits; Grade is that which is
	// wanted of those that have grades or classes.
	Sets  []ledger.Resolved
	Grade string
	// Declares is what will be declared of the blend, which decides between limits.
	Declares standard.Declaration
	On       standard.Date
}

// Asked is a question with what the book has for it.
type Asked struct {
	Spec    Spec
	Stock   []Stock
	LeftOut []LeftOut
	// Looks are limits that a plan cannot keep: of what is seen, of what does not mix by mass, and
	// of what was not measured on any honey here. The blend has to be looked at, or measured, for them.
	Looks []Limit
}

// Ask takes from the book what a question is about. The error is a fault.Error that names fields
// of the question.
func Ask(b *ledger.Book, q Question, at time.Time) (*Asked, error) {
	out := &Asked{Spec: q.Spec}
	out.Spec.Now = at
	for _, set := range q.Sets {
		if err := out.keepTo(set, &q); err != nil {
			return nil, err
		}
	}
	if err := out.Spec.Check(); err != nil {
		return nil, err
	}
	var asked []string
	for _, l := range out.Spec.Limits {
		if !slices.Contains(asked, l.Parameter) {
			asked = append(asked, l.Parameter)
		}
	}
	h, unmeasured, err := onHand(b, asked, q.Sets, q.On, at)
	if err != nil {
		return nil, err
	}
	out.Stock, out.LeftOut = h.stock, h.out
	out.lookFor(unmeasured)
	if len(out.Stock) > MostStock {
		return nil, fault.New(fault.TooLarge, "A blend is planned from at most %s containers and tanks, and %s are here. Ask with a limit that fewer keep to, such as a floral source.", MostStock, len(out.Stock))
	}
	return out, nil
}

// lookFor takes the limits out of the plan of which no honey here has a figure.
func (a *Asked) lookFor(unmeasured []string) {
	kept := a.Spec.Limits[:0:0]
	for _, l := range a.Spec.Limits {
		if slices.Contains(unmeasured, l.Parameter) {
			a.Looks = append(a.Looks, l)
		} else {
			kept = append(kept, l)
		}
	}
	a.Spec.Limits = kept
}

// keepTo adds the lines of a rule set.
func (a *Asked) keepTo(set ledger.Resolved, q *Question) error {
	if set.Form != standard.FormLimits && !slices.Contains(set.Grades, q.Grade) {
		return &fault.Error{Code: fault.Invalid, Message: message.F("This blend cannot be asked for."), Fields: []fault.Field{{
			Pointer: "query:grade", Sent: q.Grade, Message: message.F("%s tells grades: say which one the blend is to have, one of %s", set.SaidTitle(), quoted(set.Grades)),
		}}}
	}
	grade := ""
	if set.Form != standard.FormLimits {
		grade = q.Grade
	}
	limits, looks, err := LimitsOf(set, q.Declares, grade)
	a.Spec.Limits, a.Looks = append(a.Spec.Limits, limits...), append(a.Looks, looks...)
	return err
}

// LimitsOf are the lines of a rule set that bind honey of a declaration and a grade: limits that a
// mix keeps to by its mean, and looks, which are for the rest of them.
func LimitsOf(set ledger.Resolved, declares standard.Declaration, grade string) (limits, looks []Limit, err error) {
	lines, seen, err := set.Lines(declares, grade)
	if err != nil {
		return nil, nil, err
	}
	for _, l := range lines {
		limit := Limit{Parameter: l.Parameter, Low: l.Low, High: l.High, Said: l.Said(), From: set.SaidTitle()}
		if _, mixes := scales[l.Parameter]; mixes {
			limits = append(limits, limit)
		} else {
			looks = append(looks, limit)
		}
	}
	for _, l := range seen {
		looks = append(looks, Limit{Parameter: l.Parameter, Said: l.Said(), From: set.SaidTitle()})
	}
	return limits, looks, nil
}

func quoted(names []string) message.Either {
	var out message.Either
	for _, name := range names {
		out = append(out, message.F("%s", message.Quoted(name)))
	}
	return out
}
