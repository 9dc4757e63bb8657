package yards

import "math"

// HeldOut is how near one comes to what yards gave in seasons that were not looked at, from those before
// them. What a season gave as a whole nobody can know ahead: each season's own average is given to all three.
type HeldOut struct {
	Seasons, Yields int
	// ModelKg, PlainKg and SameKg are roots of mean squared errors, in kg per hive or super: of this plan's
	// model, of each yard's plain average, and of one figure for all yards.
	ModelKg, PlainKg, SameKg float64
}

// mostHeldOut are the seasons that are tried, the latest.
const mostHeldOut = 10

// holdOut tries the model on each season that has enough before it; nil where none has.
func (a *Asked) holdOut() *HeldOut {
	out := &HeldOut{}
	for s := max(fewestSeasons, len(a.Seasons)-mostHeldOut); s < len(a.Seasons); s++ {
		a.tryOn(s, out)
	}
	if out.Yields == 0 {
		return nil
	}
	for _, kg := range []*float64{&out.ModelKg, &out.PlainKg, &out.SameKg} {
		*kg = math.Sqrt(*kg / float64(out.Yields))
	}
	return out
}

// tryOn adds the squared errors of one season.
func (a *Asked) tryOn(s int, out *HeldOut) {
	var before, here []Observation
	sum, n := make([]float64, len(a.Yards)), make([]float64, len(a.Yards))
	for _, o := range a.Observations {
		if o.Season < s {
			before = append(before, o)
			sum[o.Yard] += o.Kg
			n[o.Yard]++
		}
	}
	for _, o := range a.Observations {
		if o.Season == s && n[o.Yard] > 0 {
			here = append(here, o)
		}
	}
	m, err := newModel(before, len(a.Yards), s, a.Per)
	if err != nil || len(here) < 2 {
		return
	}
	mean, told, plain := 0.0, make([]float64, len(here)), make([]float64, len(here))
	for i := range here {
		o := &here[i]
		mean += o.Kg / float64(len(here))
		told[i] = m.effects[o.Yard].Mean + m.beside(o)
		plain[i] = sum[o.Yard] / n[o.Yard]
	}
	centre(told)
	centre(plain)
	for i, o := range here {
		off := o.Kg - mean
		out.ModelKg += (off - mean*told[i]) * (off - mean*told[i])
		out.PlainKg += (off - plain[i]) * (off - plain[i])
		out.SameKg += off * off
	}
	out.Seasons++
	out.Yields += len(here)
}

// centre takes the mean out.
func centre(v []float64) {
	mean := 0.0
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for i := range v {
		v[i] -= mean
	}
}
