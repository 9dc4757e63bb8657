package quality

import (
	"slices"
	"strconv"
	"time"

	"pullbook/domain/heat"
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
	when := [3]time.Time{never, never, never}
	for _, pace := range heat.Paces {
		for _, at := range c.turns(pace, turns) {
			limit, err := a.refusedBy(l, c, pace, at.Add(justAfter), on)
			if err != nil {
				return err
			}
			if limit == nil {
				continue
			}
			if when[pace] = at; pace == heat.Middling {
				l.Limit, l.Clause, l.FromMemory = limit.Said(), limit.Clause, limit.Source.FromMemory
			}
			break
		}
	}
	measured := a.g.last(l.Parameter)
	l.Outside = !when[heat.Middling].After(measured)
	for pace := range when {
		when[pace] = latest(when[pace], measured)
	}
	l.Leaves, l.Why = a.span(when)
	return nil
}

// justAfter is how much later a figure has passed what it just came to.
const justAfter = time.Hour

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// refusedBy is the line that refuses the lot for the parameter of l at an instant, at a
// pace; nil where none does.
func (a *ageing) refusedBy(l *KeepLine, c *course, pace heat.Pace, at time.Time, on standard.Date) (*standard.Limit, error) {
	lot := standard.Lot{Declaration: a.g.Lot.Declares}
	for _, r := range a.g.results {
		if l.Set.Asks(r.Parameter) && r.Parameter != "hmf" && r.Parameter != "diastase" {
			lot.Results = append(lot.Results, r.Result)
		}
	}
	for _, parameter := range []string{"hmf", "diastase"} {
		lot.Results = append(lot.Results, standard.Result{Parameter: parameter, Unit: firstUnits[parameter], Method: "forecast",
			Value: strconv.FormatFloat(c.at(parameter, pace, at), 'f', 9, 64)})
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

// course is how HMF rises and diastase falls over the store's temperatures, for the
// fastest honey, the middle one and the slowest.
type course map[string]measuredOnce

// measuredOnce is a parameter as it was measured, and what warmth does to it since.
type measuredOnce struct {
	value   float64
	since   time.Time
	outlook *heat.Outlook
}

// course is false where HMF or diastase was not measured, or cannot be reckoned.
func (a *ageing) course() (*course, bool) {
	c := course{}
	for _, parameter := range []string{"hmf", "diastase"} {
		value, measured := a.g.worst(parameter, parameter == "hmf")
		if !measured {
			return nil, false
		}
		o, err := a.outlook(parameter)
		if err != nil {
			return nil, false
		}
		c[parameter] = measuredOnce{value, a.g.last(parameter), o}
	}
	return &c, true
}

// at is a parameter at an instant; it was as measured until it was measured.
func (c course) at(parameter string, pace heat.Pace, at time.Time) float64 {
	m := c[parameter]
	return aged(parameter, m.value, m.outlook.Exposure(pace, m.since, latest(at, m.since)))
}

// turns are when either passes a figure that something hangs on, and when both were
// measured, in order of time.
func (c course) turns(pace heat.Pace, figures map[string][]float64) []time.Time {
	first := c["hmf"].since
	if other := c["diastase"].since; other.Before(first) {
		first = other
	}
	out := []time.Time{first}
	for parameter, at := range figures {
		m := c[parameter]
		for _, x := range at {
			exposure := exposureTo(parameter, m.value, x)
			if !(exposure >= 0) {
				continue
			}
			if when, ok := m.outlook.Reaches(pace, m.since, exposure); ok {
				out = append(out, when)
			}
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return out
}
