package form

import (
	"encoding/json"
	"slices"
	"strings"

	"pullbook/domain/standard"
)

// What rule sets of the outfit name of their own is offered under the names that they
// gave, wherever a reading or a line of a rule set may name it.

// ownPointer is where a rule set names them.
const ownPointer = "/parameters/"

// ofReading reports whether a question is about a figure of a reading, which names own
// parameters alone.
func ofReading(pointer string) bool { return strings.HasPrefix(pointer, "/measured/") }

// mayName reports whether a question may be answered by a parameter of the outfit's own: what
// a condition or a price rests on is one that every book knows.
func mayName(pointer string) bool {
	return ofReading(pointer) || strings.HasPrefix(pointer, "/observed/") || strings.HasPrefix(pointer, "/limits/") && !strings.Contains(pointer, "/when/")
}

// readOwn takes up what the rule set in question names, so that its lines can choose it.
func (m Maker) readOwn(value map[string]any) {
	text, err := json.Marshal(value["parameters"])
	if err == nil && m.typed != nil {
		_ = json.Unmarshal(text, m.typed) // what cannot be read is said where it was typed
	}
}

// own are the parameters that may be named, each name once, those of this form first.
func (m Maker) own() []standard.OwnParameter {
	var out []standard.OwnParameter
	if m.typed != nil {
		out = slices.Clone(*m.typed)
	}
	for _, o := range m.Things.own {
		if !slices.ContainsFunc(out, func(had standard.OwnParameter) bool {
			return had.Name == o.Name && had.IsObservation() == o.IsObservation()
		}) {
			out = append(out, o)
		}
	}
	return slices.DeleteFunc(out, func(o standard.OwnParameter) bool { return o.Name == "" })
}

func (m Maker) ownNames(pointer string, value any, answered bool) (out []Option) {
	if !mayName(pointer) {
		return nil
	}
	for _, o := range m.own() {
		if o.IsObservation() != answered && !strings.HasPrefix(pointer, "/limits/") {
			continue
		}
		if !slices.ContainsFunc(out, func(had Option) bool { return had.Value == o.Name }) {
			out = append(out, Option{o.Name, o.SaidLabel(), o.Name == value})
		}
	}
	return withChosen(out, value, ofReading(pointer))
}

// withChosen adds what is chosen where it is not offered: a reading keeps the name that it
// was recorded with.
func withChosen(options []Option, value any, may bool) []Option {
	chosen := plainText(value)
	if !may || chosen == "" || slices.ContainsFunc(options, func(o Option) bool { return o.Value == chosen }) {
		return options
	}
	return append(options, Option{chosen, chosen, true})
}

func (m Maker) ownWords(value any) (out []Option) {
	for _, o := range m.own() {
		for _, w := range o.Words {
			if !slices.Contains(standard.Words(), w) && !slices.ContainsFunc(out, func(had Option) bool { return had.Value == w }) {
				out = append(out, Option{w, w, w == value})
			}
		}
	}
	return out
}

func (m Maker) ownUnits(pointer string, value any) (out []Option) {
	if !mayName(pointer) {
		return nil
	}
	var known []string
	if !ofReading(pointer) {
		known = standard.Units()
	}
	for _, o := range m.own() {
		for _, u := range o.Units() {
			if !slices.Contains(known, u) && !slices.ContainsFunc(out, func(had Option) bool { return had.Value == u }) {
				out = append(out, Option{u, standard.SayUnit(u).In(m), u == value})
			}
		}
	}
	return withChosen(out, value, ofReading(pointer))
}
