package pages

import (
	"errors"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/plans"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
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

// usualWeights is what the button sends that has the outfit go by the usual weights again.
const usualWeights = "usual"

// keepWeights makes the weights that were typed the outfit's own, or has it go by the usual ones.
func (p *pages) keepWeights(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	sent, err := ctx.FormParams()
	if err != nil {
		return err
	}
	v := &blendView{}
	if _, err := p.blendForms(ctx, v, sent); err != nil {
		return err
	}
	var own *ledger.BlendWeights
	if sent.Get("weights") != usualWeights {
		typed := &openapi.GetBlendPlanParams{}
		weigh(v.Weights, typed)
		if !v.Weights.complete() {
			return p.page(ctx, http.StatusUnprocessableEntity, "blend.html", v)
		}
		w := plans.WeightsOf(nil, typed)
		own = w.Kept()
	}
	err = p.DB.As(who).SetBlendWeights(ctx.Request().Context(), who.Outfit, own)
	if refused := new(fault.Error); errors.As(err, &refused) && refused.Code == fault.Invalid {
		v.Weights.refuse(refused, nil)
		return p.page(ctx, http.StatusUnprocessableEntity, "blend.html", v)
	}
	if err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, blendPath+"?"+weighedAnew(v, sent).Encode()+"#weights")
}

// weighedAnew is the question that stood beside weights, without the weights: it is asked again where honey was wanted.
func weighedAnew(v *blendView, sent url.Values) url.Values {
	out := url.Values{}
	if sent.Get("kg") == "" && sent.Get("containers") == "" {
		return out
	}
	out.Set("ask", v.Form.ID)
	for _, in := range v.Form.Inputs {
		out.Set(in.Name, in.Value)
	}
	return out
}
