package quality

import (
	"math"
	"slices"
	"strconv"

	"pullbook/domain/standard"
)

// follow corrects a line of a rule set in which HMF and diastase hang on one another:
// as one of them ages, another line begins to hold for the other. The lot is followed
// to the first instant at which the set refuses it for the line's parameter.
func (a *ageing) follow(l *KeepLine, on standard.Date) error {
	c, ok := a.course()
	if !ok {
		return nil // one of the two was not measured: the line that applies is all there is
	}
	turns := map[string][]float64{"hmf": l.Set.Turns("hmf"), "diastase": l.Set.Turns("diastase")}
	var hours [3]float64
	for pace := range hours {
		hours[pace] = math.Inf(1)
		for _, at := range c.turns(pace, turns) {
			limit, err := a.refusedBy(l, c, pace, at+justAfter, on)
			if err != nil {
				return err
			}
			if limit == nil {
				continue
			}
			if hours[pace] = at; pace == middlePace {
				l.Limit, l.Clause, l.FromMemory = limit.Said(), limit.Clause, limit.Source.FromMemory
			}
			break
		}
	}
	measured := -c.spent[l.Parameter]
	l.Outside = hours[middlePace] <= measured
	for pace := range hours {
		hours[pace] = max(hours[pace], measured)
	}
	l.Leaves, l.Why = a.span(hours)
	return nil
}

const (
	middlePace = 1
	// justAfter is how many hours later a figure has passed what it just came to.
	justAfter = 1
)

// refusedBy is the line that refuses the lot for the parameter of l, so many hours
// from now at a pace; nil where none does.
func (a *ageing) refusedBy(l *KeepLine, c *course, pace int, hours float64, on standard.Date) (*standard.Limit, error) {
	lot := standard.Lot{Declaration: a.g.Lot.Declares}
	for _, r := range a.g.results {
		if l.Set.Asks(r.Parameter) && r.Parameter != "hmf" && r.Parameter != "diastase" {
			lot.Results = append(lot.Results, r.Result)
		}
	}
	for _, parameter := range []string{"hmf", "diastase"} {
		lot.Results = append(lot.Results, standard.Result{Parameter: parameter, Unit: firstUnits[parameter], Method: "forecast",
			Value: strconv.FormatFloat(c.at(parameter, pace, hours), 'f', 9, 64)})
	}
	e, err := standard.NewEvidence(lot)
	if err != nil {
		return nil, err
	}
	check, err := l.Set.Check(e, on, standard.SimpleAcceptance())
	if err != nil {
		return nil, err
	}
	for i := range check.Verdicts {
		if v := &check.Verdicts[i]; v.Limit.Parameter == l.Parameter && v.Limit.Grade == l.Grade && v.Outcome == standard.Fails {
			return v.Limit, nil
		}
	}
	return nil, nil
}

// firstUnits are the units that values are reckoned in, by parameter.
var firstUnits = func() map[string]string {
	m := map[string]string{}
	for _, p := range standard.Parameters() {
		if len(p.Units) > 0 {
			m[p.ID] = p.Units[0].Name
		}
	}
	return m
}()

// course is how HMF rises and diastase falls at the store's temperature, for the
// fastest honey, the middle one and the slowest.
type course struct {
	value, spent map[string]float64
	// hours are how long 1 mg/kg of HMF takes, and half of the diastase.
	hours map[string][3]float64
}

// course is false where HMF or diastase was not measured, or cannot be reckoned.
func (a *ageing) course() (*course, bool) {
	c := &course{map[string]float64{}, map[string]float64{}, map[string][3]float64{}}
	for _, parameter := range []string{"hmf", "diastase"} {
		value, measured := a.g.worst(parameter, parameter == "hmf")
		if !measured || a.storeC == nil {
			return nil, false
		}
		until, step := a.kinetics.HoursUntilHMF, value+1
		if parameter == "diastase" {
			until, step = a.kinetics.HoursUntilDiastase, value/2
		}
		band, err := until(value, step, *a.storeC)
		spent, errSpent := a.spent(parameter)
		if err != nil || errSpent != nil {
			return nil, false
		}
		c.value[parameter], c.spent[parameter], c.hours[parameter] = value, spent, [3]float64{band.Low, band.Middle, band.High}
	}
	return c, true
}

// at is a parameter so many hours from now; it was as measured until it was measured.
func (c *course) at(parameter string, pace int, hours float64) float64 {
	aged := max(0, hours+c.spent[parameter]) / c.hours[parameter][pace]
	if parameter == "hmf" {
		return c.value[parameter] + aged
	}
	return c.value[parameter] * math.Exp2(-aged)
}

// turns are when either passes a figure that something hangs on, and when both were
// measured, in order of time.
func (c *course) turns(pace int, figures map[string][]float64) []float64 {
	out := []float64{-max(c.spent["hmf"], c.spent["diastase"])}
	for parameter, at := range figures {
		for _, x := range at {
			aged := x - c.value[parameter]
			if parameter == "diastase" {
				aged = math.Log2(c.value[parameter] / x)
			}
			if hours := aged * c.hours[parameter][pace]; hours > 0 && !math.IsInf(hours, 1) {
				out = append(out, hours-c.spent[parameter])
			}
		}
	}
	slices.Sort(out)
	return out
}
