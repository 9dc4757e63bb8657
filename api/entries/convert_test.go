package entries

import (
	"maps"
	"reflect"
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// oneSided are the fields of kinds that only the contract or only the book has, and why.
var oneSided = map[string]string{
	"reading.moisture_pct":                 "takeIn makes reading.moisture of it",
	"reading.refractive_index":             "takeIn makes reading.moisture of it",
	"reading.brix_deg":                     "takeIn makes reading.moisture of it",
	"reading.compensated":                  "takeIn makes moisture.compensated_as_sent of it",
	"reading.sample_temperature_c":         "takeIn makes moisture.sample_temperature_c of it",
	"reading.moisture_std_uncertainty_pct": "takeIn makes moisture.std_uncertainty_as_sent of it",
	"reading.moisture":                     "takeIn makes it of what the refractometer showed",
	"stocktake.mass_from_dip":              "takeIn sets it where no mass was sent",
	"check.found":                          "the book works it out: nobody sends a verdict",
	"dispatch.judged":                      "the book works it out: nobody sends a verdict",
	"sample.drawn":                         "the book works it out from the seed",
	"acceptance.with":                      "the book works out what else the finding is about",
	"settlement.terms_entry":               "the book works out which version of the rule set is used",
}

// convert copies what has the same name on both sides, and is silent about the rest: a field
// that only one side has would be lost, unless something else takes care of it.
func TestEachFieldOfTheContractHasItsFieldInTheBook(t *testing.T) {
	head := fieldsOf(reflect.TypeFor[openapi.NewEntry]())
	unmatched := map[string]bool{}
	for kind, form := range forms {
		if kind == ledger.KindRuleSet {
			continue // byJSON copies it, by the names in JSON of both sides
		}
		in, body := form()
		sent := reflect.TypeOf(in).Elem()
		own := fieldsOf(sent)
		maps.DeleteFunc(own, func(name string, _ []int) bool { _, is := head[name]; return is })
		compareFields(sent, own, reflect.TypeOf(body).Elem(), string(kind), unmatched, 0)
	}
	for _, name := range slices.Sorted(maps.Keys(unmatched)) {
		if oneSided[name] == "" {
			t.Errorf("only the contract or only the book has %s: convert loses it", name)
		}
	}
	for name := range oneSided {
		if !unmatched[name] {
			t.Errorf("%s has its counterpart, or neither side has it", name)
		}
	}
}

// deepest bounds how far compareFields follows types within types, should one hold itself.
const deepest = 8

// compareFields notes the fields that one of two types has and the other has not, and those
// of the types of their fields. inSent are the fields of sent that count.
func compareFields(sent reflect.Type, inSent map[string][]int, kept reflect.Type, path string, unmatched map[string]bool, depth int) {
	if depth > deepest {
		unmatched[path+" and what is below it"] = true
		return
	}
	inKept := fieldsOf(kept)
	for name := range inKept {
		if _, both := inSent[name]; !both {
			unmatched[path+"."+name] = true
		}
	}
	for name, index := range inSent {
		other, both := inKept[name]
		if !both {
			unmatched[path+"."+name] = true
			continue
		}
		from, to := elementOf(sent.FieldByIndex(index).Type), elementOf(kept.FieldByIndex(other).Type)
		if from.Kind() == reflect.Struct && to.Kind() == reflect.Struct && from != to && from != dateType {
			compareFields(from, fieldsOf(from), to, path+"."+name, unmatched, depth+1)
		}
	}
}

// elementOf returns what a pointer or a slice is of.
func elementOf(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	return t
}
