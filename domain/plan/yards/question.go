package yards

import (
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Per is what the honey of a yard is divided by.
type Per string

const (
	PerHive  Per = "hive"
	PerSuper Per = "super"
)

// Question says how yards are compared, and what a visit costs.
type Question struct {
	// Per is PerHive where it is empty and hives were counted, else PerSuper.
	Per Per
	// HiveCount is the name of the hive count to divide by; empty for the latest of each season.
	HiveCount string
	// Probability is how sure a proposal has to be, above 0.5 and up to 0.999.
	Probability float64
	// MarginKg is how much less than the average yard a yard may give, per hive or super, before
	// moving it is worth the while; nil for a tenth of what the average yard gives.
	MarginKg *float64
	// VisitCost is what a visit costs and PricePerKg what a kilogram of honey brings, in one currency.
	VisitCost, PricePerKg *float64
	// VisitCosts are of single yards, as "Alder Bend:12.5,Birch Hollow:30": names or ids.
	VisitCosts string
	// MoreVisits are those of each yard and season that the book does not have.
	MoreVisits float64
	// Unfinished counts a season that goes on, UnpulledIsNothing a yard with hives and no pull as one
	// that gave nothing.
	Unfinished, UnpulledIsNothing bool
}

// DefaultProbability is nine of ten, as the bands have it (the outfit's choice; no source).
const DefaultProbability = 0.9

// Most of a question and of a book.
const (
	MostYards   = 500
	MostSeasons = 30
	mostMoney   = 1e6
	mostVisits  = 366
	mostKg      = 1000
	mostCosts   = MostYards
)

// Check finds what cannot be asked. The error is a fault.Error that names parameters.
func (q *Question) Check() error {
	var out []fault.Field
	bad := func(parameter string, sent any, says message.Text) {
		out = append(out, fault.Field{Pointer: "query:" + parameter, Sent: sent, Message: says})
	}
	within := func(parameter string, v *float64, most float64, said any) {
		if v != nil && !(*v >= 0 && *v <= most) {
			bad(parameter, *v, message.F("from 0 to %s", said))
		}
	}
	if q.Per != "" && q.Per != PerHive && q.Per != PerSuper {
		bad("per", string(q.Per), message.F("hive or super"))
	}
	if !(q.Probability > 0.5 && q.Probability <= 0.999) {
		bad("probability", q.Probability, message.F("above 0.5, which is as likely as not, and up to 0.999"))
	}
	within("margin_kg", q.MarginKg, mostKg, message.Kg(mostKg))
	within("visit_cost", q.VisitCost, mostMoney, message.Figure(mostMoney))
	within("more_visits", &q.MoreVisits, mostVisits, mostVisits)
	if q.PricePerKg != nil && !(*q.PricePerKg > 0 && *q.PricePerKg <= mostMoney) {
		bad("price_per_kg", *q.PricePerKg, message.F("above 0 and up to %s", message.Figure(mostMoney)))
	}
	if q.PricePerKg == nil && (q.VisitCost != nil || q.VisitCosts != "") {
		bad("price_per_kg", nil, message.F("say what a kilogram of honey brings, so that a visit can be set against honey"))
	}
	return refused(out)
}

func refused(fields []fault.Field) error {
	if len(fields) == 0 {
		return nil
	}
	return &fault.Error{Code: fault.Invalid, Message: message.F("Yards cannot be compared so."), Fields: fields}
}

// costs are what a visit to each yard costs, for yards of which something was said.
func (q *Question) costs(yards []Yard) (map[ledger.ID]float64, error) {
	out := map[ledger.ID]float64{}
	if q.VisitCost != nil {
		for _, y := range yards {
			out[y.ID] = *q.VisitCost
		}
	}
	if q.VisitCosts == "" {
		return out, nil
	}
	var wrong []fault.Field
	bad := func(says message.Text, sent string) {
		wrong = append(wrong, fault.Field{Pointer: "query:visit_costs", Sent: sent, Message: says})
	}
	parts := strings.Split(q.VisitCosts, ",")
	if len(parts) > mostCosts {
		bad(message.F("at most %s yards", mostCosts), strconv.Itoa(len(parts)))
		return nil, refused(wrong)
	}
	for _, part := range parts {
		name, cost, _ := cutLast(part, ":")
		name = strings.TrimSpace(name)
		v, err := strconv.ParseFloat(strings.TrimSpace(cost), 64)
		i := slices.IndexFunc(yards, func(y Yard) bool { return y.Name == name || y.ID.String() == strings.ToLower(name) })
		switch {
		case err != nil || !(v >= 0 && v <= mostMoney):
			bad(message.F("write each yard with a colon and what a visit costs, from 0 to %s, and commas between: Alder Bend:12.5,Birch Hollow:30", message.Figure(mostMoney)), part)
		case i < 0:
			bad(message.F("no yard of this comparison is called so; write its name or its id as the book has it"), name)
		default:
			out[yards[i].ID] = v
		}
	}
	return out, refused(wrong)
}

func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}
