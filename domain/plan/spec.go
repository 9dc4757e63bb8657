package plan

import (
	"math"
	"slices"
	"strconv"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Spec is what a blend is to be.
type Spec struct {
	// LeastKg and MostKg are the honey that is wanted. Containers go whole, so that between the
	// two there has to be room for one of them.
	LeastKg, MostKg float64
	Limits          []Limit
	Shares          []Share
	// Probability is that with which each limit is to be met by itself, 0.5 to 0.999.
	Probability float64
	// MostSources is how many lots and tanks may go in; 0 is any number.
	MostSources int
	Weights     Weights
	// Now is when the blend is planned: older honey goes first.
	Now time.Time
}

// Limit is what a parameter of the blend has to keep to, in the parameter's first unit; nil is
// an open end.
type Limit struct {
	Parameter string
	Low, High *float64
	// Said is the limit in words, From where it comes from; both may be empty.
	Said, From message.Text
}

// Share is how much of the blend's mass declares a value of an attribute, such as the floral
// source or the region, or comes from some yards or countries: from Least to Most, 0 to 1.
type Share struct {
	Attribute, Value string
	// Yards, or Countries by their codes of ISO 3166-1, are what it is about instead of an attribute.
	Yards       []ledger.ID
	Countries   []string
	Least, Most float64
}

// Weights are what a blend costs beside what it must meet, all in kilograms of honey.
type Weights struct {
	// Given is, by parameter, what a kilogram costs that is better than asked by the whole of
	// the limit. Of moisture it counts the water that the limit would let in: 1 is the mass
	// given away itself.
	Given map[string]float64
	// Source is what each lot or tank more costs.
	Source float64
	// Year is what a kilogram earns for each year that it has stood.
	Year float64
	// Over is what a kilogram beyond LeastKg costs.
	Over float64
}

// UsualWeights count honey that is drier than asked by its mass, a lot more as ten kilograms,
// and the rest as little as decides between blends that are else alike (the outfit's choice;
// no source).
func UsualWeights() Weights {
	return Weights{
		Given:  map[string]float64{"moisture": 1, "hmf": 0.01, "diastase": 0.01, "colour_pfund": 0.01},
		Source: 10, Year: 0.005, Over: 0.05,
	}
}

// WeightsOf are an outfit's weights; the usual ones where it has none of its own.
func WeightsOf(w *ledger.BlendWeights) Weights {
	if w == nil {
		return UsualWeights()
	}
	return Weights{
		Given:  map[string]float64{"moisture": w.MoistureGiven, "hmf": w.HMFGiven, "diastase": w.DiastaseGiven, "colour_pfund": w.ColourGiven},
		Source: w.SourceKg, Year: w.YearKg, Over: w.OverKg,
	}
}

// Kept are the weights as an outfit keeps them.
func (w *Weights) Kept() *ledger.BlendWeights {
	return &ledger.BlendWeights{
		SourceKg: w.Source, MoistureGiven: w.Given["moisture"], HMFGiven: w.Given["hmf"], DiastaseGiven: w.Given["diastase"], ColourGiven: w.Given["colour_pfund"],
		YearKg: w.Year, OverKg: w.Over,
	}
}

// Most of a question.
const (
	MostLimits = 60
	MostShares = 20
	mostKg     = 1e6
	// MostStock is from how much a blend is planned.
	MostStock = 3000
)

// DefaultProbability is common practice for a limit that a buyer checks.
const DefaultProbability = 0.95

// Check finds what contradicts itself. Pointers are into the body of a question (see
// openapi BlendQuestion).
func (s *Spec) Check() error {
	var out []fault.Field
	bad := func(pointer string, sent any, says message.Text) {
		out = append(out, fault.Field{Pointer: pointer, Sent: sent, Message: says})
	}
	if !(s.LeastKg > 0 && s.LeastKg <= mostKg) {
		bad("query:kg", s.LeastKg, message.F("say how much honey is wanted: above 0 and up to %s kg", message.Figure(mostKg)))
	}
	if !(s.MostKg >= s.LeastKg && s.MostKg <= 2*mostKg) {
		bad("query:most_kg", s.MostKg, message.F("it has to be at least the %s kg that are wanted", message.Figure(s.LeastKg)))
	}
	if !(s.Probability >= 0.5 && s.Probability <= 0.999) {
		bad("query:probability", s.Probability, message.F("from 0.5, which is as likely as not, to 0.999"))
	}
	if s.MostSources < 0 {
		bad("query:most_sources", s.MostSources, message.F("0 is any number of lots and tanks"))
	}
	out = append(out, s.Weights.Kept().Wrong()...)
	s.checkLimits(bad)
	s.checkShares(bad)
	if len(out) > 0 {
		return &fault.Error{Code: fault.Invalid, Message: message.F("This blend cannot be asked for."), Fields: out}
	}
	return nil
}

func (s *Spec) checkLimits(bad func(string, any, message.Text)) {
	if len(s.Limits) > MostLimits {
		bad("/limits", len(s.Limits), message.F("at most %s limits", MostLimits))
	}
	ends := map[string]Limit{}
	for i, l := range s.Limits {
		at := "/limits/" + strconv.Itoa(i)
		if l.Low != nil && l.High != nil && *l.Low > *l.High {
			bad(at, *l.High, message.F("%s cannot be at most %s and at least %s", standard.SayParameter(l.Parameter), message.Figure(*l.High), message.Figure(*l.Low)))
		}
		if _, mixes := scales[l.Parameter]; mixes {
			e := ends[l.Parameter]
			e.Low, e.High = tighter(e.Low, l.Low, math.Max), tighter(e.High, l.High, math.Min)
			if ends[l.Parameter] = e; e.Low != nil && e.High != nil && *e.Low > *e.High && (l.Low == nil || l.High == nil || *l.Low <= *l.High) {
				bad(at, nil, message.F("two limits of %s leave nothing between them: at least %s and at most %s", standard.SayParameter(l.Parameter), message.Figure(*e.Low), message.Figure(*e.High)))
			}
		}
	}
}

// Contradiction says which of some limits leave nothing between them; empty where all can be kept.
func Contradiction(limits []Limit) (why message.Text) {
	s := Spec{Limits: limits}
	s.checkLimits(func(_ string, _ any, says message.Text) {
		if why.IsEmpty() {
			why = says
		}
	})
	return why
}

func tighter(a, b *float64, of func(x, y float64) float64) *float64 {
	switch {
	case a == nil:
		return b
	case b == nil:
		return a
	}
	return new(of(*a, *b))
}

func (s *Spec) checkShares(bad func(string, any, message.Text)) {
	if len(s.Shares) > MostShares {
		bad("/shares", len(s.Shares), message.F("at most %s shares", MostShares))
	}
	for i, share := range s.Shares {
		at := "/shares/" + strconv.Itoa(i)
		if !(share.Least >= 0 && share.Least <= 1) {
			bad(at+"/least", share.Least, message.F("a share is from 0 to 1"))
		}
		if !(share.Most >= share.Least && share.Most <= 1) {
			bad(at+"/most", share.Most, message.F("a share is up to 1, and not less than the least"))
		}
		if len(share.Yards) > 0 || len(share.Countries) > 0 {
			continue
		}
		index := slices.IndexFunc(standard.Attributes(), func(a standard.Attribute) bool { return a.ID == share.Attribute })
		if index < 0 {
			bad(at+"/attribute", share.Attribute, message.F("no lot declares that"))
		} else if !slices.ContainsFunc(standard.Attributes()[index].Values, func(v standard.AttributeValue) bool { return v.ID == share.Value }) {
			bad(at+"/value", share.Value, message.F("no lot declares such a value"))
		}
	}
}
