package form

import (
	"bytes"
	"encoding/json"
	"net/url"
	"slices"

	"pullbook/domain/standard"
)

// What a lot declares, and for which lots a limit holds, as questions that are
// answered by choosing.

// declared asks for each attribute of a lot: one value, or as many as fit.
func (m Maker) declared(pointer string, value map[string]any) []*Field {
	var out []*Field
	for _, a := range standard.Attributes() {
		f := &Field{Name: pointer + "/" + a.ID, Label: m.Say("attribute|" + a.Name), Control: "choice", Error: m.Errors[pointer+"/"+a.ID]}
		if a.Many {
			f.Control = "ticks"
		}
		said, _ := value[a.ID].([]any)
		for _, v := range a.Values {
			f.Options = append(f.Options, Option{v.ID, m.Say("declared|" + v.Name), slices.Contains(said, any(v.ID))})
		}
		f.Folded = f.Control == "ticks" && !answered(f)
		out = append(out, f)
	}
	return out
}

// readDeclared reads back what declared asked for.
func readDeclared(typed url.Values, pointer string) any {
	out := map[string]any{}
	for _, a := range standard.Attributes() {
		var values []any
		for _, v := range typed[pointer+"/"+a.ID] {
			if v != "" {
				values = append(values, v)
			}
		}
		if values != nil {
			out[a.ID] = values
		}
	}
	if len(out) == 0 {
		return nil
	}
	return out
}

// condition asks by one choice for which lots a limit holds, each choice being the
// condition as a client would send it. It reports false for a condition that rests
// on more than one value, which stays text.
func (m Maker) condition(f *Field, value any) bool {
	now, err := json.Marshal(value)
	if err != nil {
		return false
	}
	found := value == nil
	for _, a := range standard.Attributes() {
		for _, v := range a.Values {
			c, err := json.Marshal(map[string]any{"attribute": a.ID, "includes": []string{v.ID}})
			if err != nil {
				return false
			}
			chosen := bytes.Equal(c, now)
			found = found || chosen
			f.Options = append(f.Options, Option{string(c), (&standard.Condition{Attribute: a.ID, Includes: []string{v.ID}}).Said().In(m), chosen})
		}
	}
	if !found {
		f.Options = nil
		return false
	}
	f.Control, f.Hint = "choice", ""
	return true
}
