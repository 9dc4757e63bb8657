package plan

import (
	"math"

	"pullbook/domain/honey"
)

// scale is what a parameter is mixed on: a mix has the mean by mass of it.
type scale struct {
	// to turns a figure into it, from turns it back. Both grow with their figure. Nil is the
	// figure itself.
	to, from func(float64) float64
}

// scales are the parameters of which a mix is the mean by mass. Moisture, sugars, acids, ash and
// whatever else is stated as so much in a kilogram mix so by what they are; HMF, enzymes and
// conductivity nearly so, near enough for a plan (common practice). Colour mixes by what
// absorbs light. Ratios, scores and shares of pollen do not, and are not here.
var scales = func() map[string]scale {
	out := map[string]scale{
		"colour_pfund": {
			to: func(mm float64) float64 { d, _ := honey.OpticalDensityFromPfund(inPfund(mm)); return d },
			from: func(d float64) float64 {
				mm, err := honey.PfundFromOpticalDensity(d)
				if err != nil {
					return darkestPfund
				}
				return mm
			},
		},
	}
	for _, parameter := range []string{
		"moisture", "soluble_solids", "hmf", "diastase", "invertase", "invertase_number", "free_acidity", "acidity",
		"acidity_as_formic_acid", "electrical_conductivity", "fructose_plus_glucose", "reducing_sugars", "sucrose", "maltose",
		"trehalulose", "c4_sugar", "water_insoluble", "ash", "proline", "zinc", "tutin", "total_plate_count", "moulds",
		"osmophilic_yeast", "pollen_count", "3_phenyllactic_acid", "2_methoxyacetophenone", "2_methoxybenzoic_acid",
		"4_hydroxyphenyllactic_acid", "colour_optical_density",
	} {
		out[parameter] = scale{}
	}
	return out
}()

// darkestPfund is the end of the Pfund grader's wedge, in millimetres.
var darkestPfund = honey.PfundWedge.To

func inPfund(mm float64) float64 { return min(darkestPfund, max(0, mm)) }

func (s scale) on(v float64) float64 {
	if s.to == nil {
		return v
	}
	return s.to(v)
}

func (s scale) back(v float64) float64 {
	if s.from == nil {
		return v
	}
	return s.from(v)
}

// stretch is by how much a small error at a figure grows on the scale.
func (s scale) stretch(v float64) float64 {
	if s.to == nil {
		return 1
	}
	const step = 0.5 // the scale is straight between its points, which are further apart
	low, high := max(0, v-step), v+step
	return (s.to(high) - s.to(low)) / (high - low)
}

// OnScale is a figure of a parameter as it mixes: a blend has the mean by mass of it. That is the figure
// itself but for colour, of which it is the optical density.
func OnScale(parameter string, v float64) float64 { return scales[parameter].on(v) }

// FromScale turns OnScale round.
func FromScale(parameter string, v float64) float64 { return scales[parameter].back(v) }

// ErrorsOnScale are the errors of a figure by their keys, as they mix.
func ErrorsOnScale(parameter string, f Figure) map[string]float64 {
	stretch, out := scales[parameter].stretch(f.Mean), map[string]float64{}
	for _, e := range f.Errors {
		out[e.Key] = math.Hypot(out[e.Key], e.SD*stretch)
	}
	return out
}
