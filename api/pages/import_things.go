package pages

import (
	"encoding/json"
	"maps"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// thingInput is the name of the hidden input that says of which name the questions of a number
// are; those are called by it, and by what they ask.
const thingInput = "thing/"

// chooseNames takes what names in the sheet mean. What was typed of a new thing says that it is
// one, where nothing else is chosen.
func chooseNames(m *importing.Mapping, typed url.Values, f form.Maker) {
	asked := map[string]string{}
	for key := range typed {
		if number, is := strings.CutPrefix(key, thingInput); is && !strings.Contains(number, "/") {
			asked[typed.Get(key)] = key
		}
	}
	for key := range typed {
		of, is := strings.CutPrefix(key, "name ")
		noun, name, named := strings.Cut(of, " ")
		if !is || !named {
			continue
		}
		choice, said := chosenName(importing.Noun(noun), name, typed.Get(key), asked[of], typed, f)
		switch names := m.Names[importing.Noun(noun)]; {
		case !said:
			delete(names, name)
			continue
		case m.Names == nil:
			m.Names = map[importing.Noun]map[string]importing.Choice{}
			fallthrough
		case names == nil:
			m.Names[importing.Noun(noun)] = map[string]importing.Choice{}
		}
		m.Names[importing.Noun(noun)][name] = choice
	}
}

// chosenName is what a name was said to be; input begins the names of the questions about it.
func chosenName(noun importing.Noun, name, chosen, input string, typed url.Values, f form.Maker) (c importing.Choice, said bool) {
	if is, ok := strings.CutPrefix(chosen, "is "); ok {
		return importing.Choice{Is: is}, true
	}
	thing, filled := chosenThing(noun, name, input, typed, f)
	if chosen == "" && !filled {
		return c, false
	}
	return importing.Choice{Create: thing}, true
}

// chosenThing is what was typed of a thing that is to be set up; filled is true where anything
// was. What cannot be taken is among the maker's errors, and left out.
func chosenThing(noun importing.Noun, name, input string, typed url.Values, f form.Maker) (thing *importing.Thing, filled bool) {
	fields, _ := importing.ThingFields(noun)
	thing = &importing.Thing{}
	for _, field := range fields {
		text := strings.TrimSpace(typed.Get(input + "/" + field.Name))
		if input == "" || text == "" {
			continue
		}
		filled = true
		var value any = text
		switch {
		case field.Words != nil:
		case field.Most > 0:
			v, err := f.Parse(text)
			if err != nil {
				f.Errors[thingError(noun, name, field.Name)] = form.SayError(f.Voice, err)
				continue
			}
			value = form.MeantBy(f.Voice, field.Name, v)
			if field.Whole && v != math.Trunc(v) {
				f.Errors[thingError(noun, name, field.Name)] = f.Say("A whole number from %s to %s is needed here.", message.Figure(field.Least), message.Figure(field.Most))
				continue
			}
		default:
			value = text == "true"
		}
		alone := &importing.Thing{}
		setThing(alone, field.Name, value)
		if why, wrong := alone.Wrong(noun)[field.Name]; wrong {
			f.Errors[thingError(noun, name, field.Name)] = why.In(f)
			continue // a mapping that holds it would not be taken
		}
		setThing(thing, field.Name, value)
	}
	return thing, filled
}

// setThing sets what a mapping calls by a name.
func setThing(t *importing.Thing, name string, value any) {
	if text, err := json.Marshal(map[string]any{name: value}); err == nil {
		_ = json.Unmarshal(text, t) // what does not fit stays unsaid, and is asked
	}
}

// thingError is by what the errors of a question about a thing are found.
func thingError(noun importing.Noun, name, field string) string {
	return "thing " + string(noun) + " " + field + " " + name
}

// thingFields asks what has to be said of a name that is to be set up, as the form of such a thing
// asks it. The number is that of the name among those that are asked about.
func thingFields(m form.Maker, forms map[ledger.Kind]request.Recorded, noun importing.Noun, name string, number int, said *importing.Thing, typed url.Values) []*form.Field {
	fields, _ := importing.ThingFields(noun)
	schema := forms[nounKind[noun]].Schema
	if len(fields) == 0 || schema == nil {
		return nil
	}
	value := map[string]any{}
	if text, err := json.Marshal(said); err == nil && said != nil {
		_ = json.Unmarshal(text, &value) // it is an object
	}
	var out []*form.Field
	for _, field := range fields {
		called := field.Name
		if schema.Properties[called] == nil {
			called = "usual_" + called // a container's tare
		}
		x := m.Only(schema, map[string]any{called: value[field.Name]}, []string{called})[0]
		x.Name, x.Required, x.Error = thingInput+strconv.Itoa(number)+"/"+field.Name, !field.Optional, m.Errors[thingError(noun, name, field.Name)]
		switch {
		case x.Error != "":
			x.Value = typedOf(typed, noun, name, field.Name)
		case said != nil:
			if why, wrong := said.Wrong(noun)[field.Name]; wrong {
				x.Error = why.In(m)
			}
		}
		out = append(out, x)
	}
	return out
}

// typedOf is what was typed of a thing, whatever number its name had.
func typedOf(typed url.Values, noun importing.Noun, name, field string) string {
	for key := range typed {
		if strings.HasPrefix(key, thingInput) && typed.Get(key) == string(noun)+" "+name {
			return typed.Get(key + "/" + field)
		}
	}
	return ""
}

// answeredNames are the names that a mapping answers one by one, beside those that are asked.
func answeredNames(r *importing.Result, asked []askedName) (out []askedName) {
	for _, noun := range slices.Sorted(maps.Keys(r.Mapping.Names)) {
		var names []string
		for name := range r.Mapping.Names[noun] {
			if name != "*" && !slices.ContainsFunc(asked, func(a askedName) bool { return a.noun == noun && a.Sent == name }) {
				names = append(names, name)
			}
		}
		slices.Sort(names)
		for _, name := range names {
			if nounKind[noun] != "" && len(asked)+len(out) < askedNames {
				out = append(out, askedName{noun, &importing.Problem{Sent: name}})
			}
		}
	}
	return out
}
