package form

import (
	"encoding/json"
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Plain reports whether a group is of questions only, so that it reads as a line.
func (m Maker) Plain(group *Field) bool {
	return !slices.ContainsFunc(group.Fields, func(f *Field) bool {
		return (f.Control == "group" || f.Control == "list") && answered(f)
	})
}

// ShownValue says in words what a question was answered with.
func (m Maker) ShownValue(f *Field) string {
	switch f.Control {
	case "group":
		var parts []string
		for _, inner := range f.Fields {
			if v := m.ShownValue(inner); v != "" {
				parts = append(parts, inner.Label+" "+v)
			}
		}
		return strings.Join(parts, ", ")
	case "list":
		return ""
	case "json":
		var lines []any
		if json.Unmarshal([]byte(f.Value), &lines) == nil {
			return m.Say("%s lines", len(lines))
		}
	}
	var chosen []string
	for _, o := range f.Options {
		if o.Chosen {
			chosen = append(chosen, o.Label)
		}
	}
	if len(chosen) > 0 {
		return strings.Join(chosen, ", ")
	}
	if f.Value == "" || f.Control == "choice" {
		return ""
	}
	if f.Control == "moment" {
		at, err := m.Moment(f.Value)
		if err != nil {
			return f.Value
		}
		return m.Minute(at)
	}
	if f.Control == "date" {
		return m.Date(f.Value)
	}
	if f.Unit != "" {
		return f.Value + " " + f.Unit
	}
	if said := inWords(f); !said.IsEmpty() {
		return said.In(m)
	}
	return f.Value
}

// inWords is a condition that a form asks for as JSON; empty for all else.
func inWords(f *Field) message.Text {
	var condition standard.Condition
	if f.Control != "json" || !strings.HasSuffix(f.Name, "/when") || json.Unmarshal([]byte(f.Value), &condition) != nil {
		return message.Text{}
	}
	return condition.Said()
}
