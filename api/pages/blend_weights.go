package pages

import (
	"pullbook/api/locale"
	"pullbook/domain/plan"
	"pullbook/openapi"
)

// weightPlaces are the decimals with which a weight stands in a form.
const weightPlaces = 4

// weightsForm asks what counts how much against a blend.
func weightsForm(f locale.Voice, w plan.Weights) *askForm {
	weight := func(name, label string, usual float64, note string) askInput {
		return askInput{Name: name, Label: label, Value: f.Typed(usual, weightPlaces), Note: note}
	}
	return &askForm{figures: f, ID: "blend", Inputs: []askInput{
		inUnit(f, "kg", "source_kg", f.Say("Another lot counts as much as"), w.Source, weightPlaces),
		weight("moisture_given", f.Say("Water that the limit would let in"), w.Given["moisture"], f.Say("1 counts it by its mass.")),
		weight("hmf_given", f.Say("HMF below its limit"), w.Given["hmf"], f.Say("So much of honey that has no HMF.")),
		weight("diastase_given", f.Say("Diastase above its limit"), w.Given["diastase"], f.Say("So much of honey that has twice what is asked.")),
		weight("colour_given", f.Say("Colour lighter than its limit"), w.Given["colour_pfund"], f.Say("So much of honey that has no colour.")),
		weight("year_kg", f.Say("Each year that honey has stood earns"), w.Year, f.Say("More has older honey go first.")),
		weight("over_kg", f.Say("Honey beyond what is wanted"), w.Over, ""),
	}}
}

// weigh adds the weights that a form has to a question.
func weigh(form *askForm, p *openapi.GetBlendPlanParams) {
	p.SourceKg, p.MoistureGiven, p.HmfGiven = form.number("source_kg"), form.number("moisture_given"), form.number("hmf_given")
	p.DiastaseGiven, p.ColourGiven = form.number("diastase_given"), form.number("colour_given")
	p.YearKg, p.OverKg = form.number("year_kg"), form.number("over_kg")
}
