package entries

import (
	"reflect"
	"strings"
	"sync"

	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
)

// convert copies what one type says into another, each a pointer, one of them the contract's
// and one the book's. Both call the same thing by the same name in JSON, except that the
// contract has net_kg as a number and the book net_g as whole grams, and so for litres. What
// the contract leaves out is zero in the book. What only one of the two has stays as it is.
func convert(to, from any) { copyInto(reflect.ValueOf(to).Elem(), reflect.ValueOf(from).Elem()) }

var dateType = reflect.TypeFor[openapi_types.Date]()

func copyInto(to, from reflect.Value) {
	switch {
	case from.Type().AssignableTo(to.Type()):
		to.Set(from)
	case from.Kind() == reflect.Pointer:
		if from.IsNil() {
			return
		}
		if to.Kind() == reflect.Pointer {
			to.Set(reflect.New(to.Type().Elem()))
			to = to.Elem()
		}
		copyInto(to, from.Elem())
	case to.Kind() == reflect.Pointer:
		if !isEmpty(from) {
			to.Set(reflect.New(to.Type().Elem()))
			copyInto(to.Elem(), from)
		}
	case to.Type() == dateType:
		to.Set(reflect.ValueOf(wire.DateOut(ledger.Date(from.String()))))
	case from.Type() == dateType:
		to.SetString(string(wire.DateIn(from.Interface().(openapi_types.Date))))
	case to.Kind() == reflect.Slice:
		to.Set(reflect.MakeSlice(to.Type(), from.Len(), from.Len()))
		for i := range from.Len() {
			copyInto(to.Index(i), from.Index(i))
		}
	case to.Kind() == reflect.Struct:
		for _, same := range sharedFields(to.Type(), from.Type()) {
			copyInto(to.FieldByIndex(same.to), from.FieldByIndex(same.from))
		}
	case to.Kind() == reflect.Int64 && from.Kind() == reflect.Float64:
		to.SetInt(wire.Grams(from.Float()))
	case to.Kind() == reflect.Float64 && from.Kind() == reflect.Int64:
		to.SetFloat(wire.Kg(from.Int()))
	default:
		to.Set(from.Convert(to.Type()))
	}
}

// isEmpty reports whether the contract leaves a value of the book out.
func isEmpty(v reflect.Value) bool {
	return v.IsZero() || v.Kind() == reflect.Map && v.Len() == 0 || v.Kind() == reflect.Slice && v.Len() == 0
}

// sharedField is where a field stands in two types.
type sharedField struct{ to, from []int }

// knownFields keeps what sharedFields found: a log of temperatures has 20,000 points.
var knownFields sync.Map

func sharedFields(to, from reflect.Type) []sharedField {
	key := [2]reflect.Type{to, from}
	if known, ok := knownFields.Load(key); ok {
		return known.([]sharedField)
	}
	var out []sharedField
	there := fieldsOf(from)
	for name, index := range fieldsOf(to) {
		if other, both := there[name]; both {
			out = append(out, sharedField{index, other})
		}
	}
	knownFields.Store(key, out)
	return out
}

// fieldsOf has the fields of a type by the names that the book gives them.
func fieldsOf(t reflect.Type) map[string][]int {
	out := map[string][]int{}
	for _, f := range reflect.VisibleFields(t) {
		if f.Anonymous {
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		for _, unit := range [][2]string{{"_kg", "_g"}, {"_l", "_ml"}} {
			if quantity, ok := strings.CutSuffix(name, unit[0]); ok {
				name = quantity + unit[1]
			}
		}
		out[name] = f.Index
	}
	return out
}
