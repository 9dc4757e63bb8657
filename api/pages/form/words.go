package form

import (
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"

	"pullbook/api/locale"
	"pullbook/api/request"
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

// LabelOf returns the catalogue's key for the label of a field of the contract.
func LabelOf(name string) string {
	word, _ := splitUnit(name)
	word = strings.TrimSuffix(word, "_id")
	if label, ok := fieldLabel[word]; ok {
		return "field|" + label
	}
	return "field|" + strings.ReplaceAll(word, "_", " ")
}

// fieldLabel is what people call a field whose name in the contract is for
// programs.
var fieldLabel = map[string]string{
	"accept_r":                    "kept inside a limit, times U",
	"reject_r":                    "allowed beyond a limit, times U",
	"check_every_days":            "a good check holds for, days",
	"citation":                    "contract or text",
	"comparator":                  "is to be",
	"compensated":                 "corrected for temperature",
	"compensates_temperature":     "corrects for temperature by itself",
	"decision":                    "near a limit",
	"ends":                        "ends of the range",
	"every_container":             "each container has to meet it",
	"by_mean":                     "the lot's mean alone counts",
	"only_where_looked":           "only where somebody looked",
	"measured_within_days":        "results not older than, in days",
	"market":                      "rules of where it goes",
	"form":                        "form",
	"freight_per_container_minor": "freight for a container, in cents",
	"freight_per_kg_minor":        "freight for a kg, in cents",
	"freight_per_load_minor":      "freight for a load, in cents",
	"includes":                    "includes any of",
	"limit_to":                    "upper end",
	"minor_units_per_kg":          "cents per kg",
	"most":                        "at most",
	"occurred_at":                 "when it happened",
	"only":                        "is only",
	"paid_minor":                  "paid, in cents",
	"root_plus":                   "square root of the lot, plus",
	"std_uncertainty":             "standard uncertainty",
	"when":                        "only for lots that",
}

// hintOf is what the contract says about a field, where that is more than its
// label: a few plain words seldom are.
func hintOf(name string, s *openapi3.Schema) string {
	short := len(strings.Fields(s.Description)) < 6 && !strings.ContainsAny(s.Description, ",:;(")
	if short || slices.Contains([]string{"occurred_at", "parameter", "what", "word", "unit"}, name) {
		return ""
	}
	return "hint|" + strings.ReplaceAll(s.Description, "left out", "left empty")
}

// unitOfField is the unit of a field, as the outfit has it.
func unitOfField(f locale.Voice, name string) string {
	_, unit := splitUnit(name)
	return f.Unit(unit)
}

// shown is a field's value in the outfit's unit, to two places.
func shown(f locale.Voice, name string, v float64) float64 {
	_, unit := splitUnit(name)
	if there := f.ToUnit(unit, v); there != v {
		return locale.RoundTo(there, 2)
	}
	return v
}

// MeantBy is shown backwards.
func MeantBy(f locale.Voice, name string, v float64) float64 {
	_, unit := splitUnit(name)
	if metric := f.ToMetric(unit, v); metric != v {
		return locale.RoundTo(metric, 6)
	}
	return v
}

// Sentences returns all labels, hints and choices that forms of some schemas can show: a
// language has to have each of them.
func Sentences(schemas []*openapi3.Schema) (sentences []string) {
	seen := map[*openapi3.Schema]bool{}
	var walk func(s *openapi3.Schema)
	walk = func(s *openapi3.Schema) {
		if s = merged(s); seen[s] || s.ReadOnly {
			return
		}
		seen[s] = true
		for name, p := range s.Properties {
			if !slices.Contains(besides, name) && !placeSchema(s) {
				sentences = append(sentences, LabelOf(name))
				if hint := hintOf(name, merged(p.Value)); hint != "" && !merged(p.Value).ReadOnly {
					sentences = append(sentences, hint)
				}
			}
			walk(p.Value)
		}
		for _, e := range s.Enum {
			if value, ok := e.(string); ok {
				sentences = append(sentences, request.ChoiceOf(value))
			}
		}
		if s.Items != nil {
			walk(s.Items.Value)
		}
	}
	for _, s := range schemas {
		walk(s)
	}
	slices.Sort(sentences)
	return slices.Compact(sentences)
}
