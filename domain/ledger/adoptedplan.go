package ledger

import (
	"fmt"
	"slices"
	"time"

	"pullbook/domain/message"
)

// AdoptedPlan is a plan that a manager goes by: what is to be done, and what is expected to come of it. It moves
// no honey: what is done is recorded as it happens.
type AdoptedPlan struct {
	Title string `json:"title"`
	// Of is what was planned.
	Of      PlanOf         `json:"of"`
	Steps   []PlanStep     `json:"steps,omitempty"`
	Expects []PlanExpected `json:"expects,omitempty"`
	Note    string         `json:"note,omitempty"`
}

func (*AdoptedPlan) Kind() Kind { return KindAdoptedPlan }

// PlanOf is what a plan is about.
type PlanOf string

const (
	PlanOfWarming PlanOf = "warming"
	PlanOfDays    PlanOf = "days"
	PlanOfSales   PlanOf = "sales"
	PlanOfYards   PlanOf = "yards"
)

// PlanStep is one thing to do.
type PlanStep struct {
	Does PlanDoes `json:"does"`
	// AboutID is the tank or room that is heated, the yard, or the lot that is delivered.
	AboutID ID `json:"about_id"`
	// ContractID is that to which a lot is delivered.
	ContractID ID `json:"contract_id,omitzero"`
	// At is when it begins; nil where no time was planned.
	At *time.Time `json:"at,omitempty"`
	// SetC is the set point of a heater in degrees Celsius; nil is off.
	SetC *int `json:"set_c,omitempty"`
	// Count is how many supers are pulled, or containers delivered.
	Count int `json:"count,omitempty"`
}

// PlanDoes is what a step does.
type PlanDoes string

const (
	PlanHeats    PlanDoes = "heat"
	PlanPulls    PlanDoes = "pull"
	PlanMoves    PlanDoes = "move"
	PlanDelivers PlanDoes = "deliver"
)

// PlanExpected is a figure that is expected to come, in the unit of its name.
type PlanExpected struct {
	Figure PlanFigure `json:"figure"`
	// AboutID is what the figure is of; zero of the house as a whole.
	AboutID ID `json:"about_id,omitzero"`
	// At is when it is expected; nil where that is not said.
	At    *time.Time `json:"at,omitempty"`
	Value float64    `json:"value"`
	// Low and High are the ends between which it is expected to come nine times of ten; nil where nothing is said.
	Low  *float64 `json:"low,omitempty"`
	High *float64 `json:"high,omitempty"`
}

// PlanFigure is what is expected.
type PlanFigure string

const (
	// PlanTemperature is of a tank or room at a time, PlanHMF and PlanDiastase are of a tank's honey or a lot from a
	// time on.
	PlanTemperature PlanFigure = "temperature_c"
	PlanHMF         PlanFigure = "hmf_mg_per_kg"
	PlanDiastase    PlanFigure = "diastase_gothe"
	// PlanExtracted and PlanFilled are of the house, from when the plan was adopted until a time.
	PlanExtracted PlanFigure = "supers_extracted"
	PlanFilled    PlanFigure = "containers_filled"
	// PlanDaysLeft is how many days after the plan was adopted the last super is empty.
	PlanDaysLeft PlanFigure = "days_left"
	// PlanPerHive is of a yard in the first season that begins after the plan was adopted.
	PlanPerHive PlanFigure = "honey_kg_per_hive"
	// PlanDelivered and PlanPaid are of a contract since the plan was adopted; PlanPaid is in minor units of its currency.
	PlanDelivered PlanFigure = "delivered_kg"
	PlanPaid      PlanFigure = "paid_minor"
)

// abouts are the things that a plan is about, each once.
func (p *AdoptedPlan) abouts() (out []ID) {
	add := func(id ID) {
		if id != (ID{}) && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	for _, s := range p.Steps {
		add(s.AboutID)
		add(s.ContractID)
	}
	for _, x := range p.Expects {
		add(x.AboutID)
	}
	return out
}

// aboutKinds are what a figure may be of; none of the house.
var aboutKinds = map[PlanFigure][]Kind{
	PlanTemperature: {KindTank, KindRoom}, PlanHMF: {KindTank, KindLot}, PlanDiastase: {KindTank, KindLot},
	PlanPerHive: {KindYard}, PlanDelivered: {KindContract}, PlanPaid: {KindContract},
}

// timed are the figures that are of a time.
var timed = []PlanFigure{PlanTemperature, PlanExtracted, PlanFilled}

func (c *checker) adoptedPlan(p *AdoptedPlan) {
	if len(p.Steps) == 0 && len(p.Expects) == 0 {
		c.wrong("/steps", nil, "A plan says what to do or what is expected. Name a step or a figure.")
	}
	for i, s := range p.Steps {
		c.planStep(fmt.Sprintf("/steps/%d", i), s)
	}
	for i, x := range p.Expects {
		c.planExpected(fmt.Sprintf("/expects/%d", i), x)
	}
}

func (c *checker) planStep(at string, s PlanStep) {
	switch s.Does {
	case PlanHeats:
		c.names(at+"/about_id", s.AboutID, KindTank, KindRoom)
		if s.At == nil {
			c.wrong(at+"/at", nil, "From when is it heated? Say the time.")
		}
	case PlanPulls, PlanMoves:
		c.names(at+"/about_id", s.AboutID, KindYard)
	case PlanDelivers:
		c.names(at+"/about_id", s.AboutID, KindLot)
		c.names(at+"/contract_id", s.ContractID, KindContract)
		if s.Count == 0 {
			c.wrong(at+"/count", 0, "How many containers go? Say at least 1.")
		}
	}
	if s.Does != PlanHeats && s.SetC != nil {
		c.wrong(at+"/set_c", *s.SetC, "Only a step that heats has a set point: leave this out.")
	}
	if s.Does != PlanDelivers && s.ContractID != (ID{}) {
		c.wrong(at+"/contract_id", s.ContractID, "Only what is delivered goes to a contract: leave this out.")
	}
}

func (c *checker) planExpected(at string, x PlanExpected) {
	switch kinds := aboutKinds[x.Figure]; {
	case len(kinds) > 0:
		c.names(at+"/about_id", x.AboutID, kinds...)
	case x.AboutID != (ID{}):
		c.wrong(at+"/about_id", x.AboutID, "This figure is of the whole house: leave this out.")
	}
	if x.At == nil && slices.Contains(timed, x.Figure) {
		c.wrong(at+"/at", nil, "When is it expected? Say the time.")
	}
	if x.Low != nil && *x.Low > x.Value {
		c.wrong(at+"/low", *x.Low, "The lower end cannot lie above what is expected, %s.", message.Figure(x.Value))
	}
	if x.High != nil && *x.High < x.Value {
		c.wrong(at+"/high", *x.High, "The upper end cannot lie below what is expected, %s.", message.Figure(x.Value))
	}
}

// AdoptedPlans lists the plans that somebody goes by, the latest first.
func (b *Book) AdoptedPlans() (out []*Entry) {
	b.InForceOf(KindAdoptedPlan, func(_ ID, e *Entry) bool {
		out = append(out, e)
		return true
	})
	slices.Reverse(out)
	return out
}
