package ledger

import (
	"strconv"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// BlendWeights are what counts how much against a blend, in kilograms of honey, by the names that the contract's
// question for a blend has for them.
type BlendWeights struct {
	SourceKg      float64 `json:"source_kg"`
	MoistureGiven float64 `json:"moisture_given"`
	HMFGiven      float64 `json:"hmf_given"`
	DiastaseGiven float64 `json:"diastase_given"`
	ColourGiven   float64 `json:"colour_given"`
	YearKg        float64 `json:"year_kg"`
	OverKg        float64 `json:"over_kg"`
}

// The highest weights: of another lot, and of all else for each kilogram.
const (
	mostSourceKg = 10000
	mostWeight   = 1000
)

// each yields the weights with their names and the highest that each may be.
func (w *BlendWeights) each(yield func(name string, v, most float64)) {
	yield("source_kg", w.SourceKg, mostSourceKg)
	yield("moisture_given", w.MoistureGiven, mostWeight)
	yield("hmf_given", w.HMFGiven, mostWeight)
	yield("diastase_given", w.DiastaseGiven, mostWeight)
	yield("colour_given", w.ColourGiven, mostWeight)
	yield("year_kg", w.YearKg, mostWeight)
	yield("over_kg", w.OverKg, mostWeight)
}

// Wrong says which weights cannot be, by the parameters that ask for them.
func (w *BlendWeights) Wrong() (out []fault.Field) {
	w.each(func(name string, v, most float64) {
		if !(v >= 0 && v <= most) {
			out = append(out, fault.Field{Pointer: "query:" + name, Sent: v, Message: message.F("from 0 to %s", message.Figure(most))})
		}
	})
	return out
}

// told says weights in one line; "the usual ones" of nil.
func (w *BlendWeights) told() string {
	if w == nil {
		return "the usual ones"
	}
	out := ""
	w.each(func(name string, v, _ float64) {
		if out != "" {
			out += ", "
		}
		out += name + " " + strconv.FormatFloat(v, 'g', -1, 64)
	})
	return out
}
