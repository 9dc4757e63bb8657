package api

import (
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
)

// What the contract calls things, as a form's labels: "gross_kg" is "gross" with
// the outfit's unit of mass behind it.

// unitSuffix are the endings by which the contract's names carry units.
var unitSuffix = []struct{ ending, unit string }{
	{"_kg", "kg"}, {"_pct", "%"}, {"_c", "°C"}, {"_cm", "cm"}, {"_l", "L"}, {"_w", "W"}, {"_deg", "°"},
}

func splitUnit(name string) (word, unit string) {
	if name == "litres" {
		return "volume", "L"
	}
	for _, s := range unitSuffix {
		if word, ok := strings.CutSuffix(name, s.ending); ok && !strings.Contains(name, "_per_") {
			return word, s.unit
		}
	}
	return name, ""
}

func labelOf(name string) string {
	word, _ := splitUnit(name)
	return "field|" + strings.ReplaceAll(strings.TrimSuffix(word, "_id"), "_", " ")
}

func choiceOf(value string) string {
	if label, ok := quantityLabel[value]; ok {
		return "choice|" + label
	}
	return "choice|" + strings.ReplaceAll(value, "_", " ")
}

// contractWords are all labels that forms can show. A test holds the catalogue
// against them.
func contractWords() (formats []string, err error) {
	kinds, err := recordedBy()
	if err != nil {
		return nil, err
	}
	seen := map[*openapi3.Schema]bool{}
	var walk func(s *openapi3.Schema)
	walk = func(s *openapi3.Schema) {
		if s = merged(s); seen[s] || s.ReadOnly {
			return
		}
		seen[s] = true
		for name, p := range s.Properties {
			if !slices.Contains(besides, name) && !placeSchema(s) {
				formats = append(formats, labelOf(name))
			}
			walk(p.Value)
		}
		for _, e := range s.Enum {
			if value, ok := e.(string); ok {
				formats = append(formats, choiceOf(value))
			}
		}
		if s.Items != nil {
			walk(s.Items.Value)
		}
	}
	for _, by := range kinds {
		walk(by.schema)
	}
	slices.Sort(formats)
	return slices.Compact(formats), nil
}

// unitOf is the unit of a field, as the outfit has it.
func (f figures) unitOf(name string) string {
	_, unit := splitUnit(name)
	if c, ok := usUnits[unit]; ok && f.us() {
		return c.unit
	}
	return unit
}

// usUnits are what a US outfit reads for a unit, and how.
var usUnits = map[string]struct {
	unit        string
	times, plus float64
}{
	"kg": {"lb", 1000 / gramsPerPound, 0},
	"°C": {"°F", 1.8, 32},
	"cm": {"in", 1 / 2.54, 0},
	"L":  {"gal", 1 / litresPerGallon, 0},
}

// shown is a field's value in the outfit's unit, to two places.
func (f figures) shown(name string, v float64) float64 {
	_, unit := splitUnit(name)
	if c, ok := usUnits[unit]; ok && f.us() {
		return roundTo(v*c.times+c.plus, 2)
	}
	return v
}

// meant is shown backwards.
func (f figures) meant(name string, v float64) float64 {
	_, unit := splitUnit(name)
	if c, ok := usUnits[unit]; ok && f.us() {
		return roundTo((v-c.plus)/c.times, 6)
	}
	return v
}
