package quality

import (
	"fmt"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// Estimate is what may be expected of a lot without having been measured on it.
// It is no result, and meets no limit.
type Estimate struct {
	Parameter, Unit   string
	Low, Middle, High float64
	How               string
}

// Estimates are what to expect of a lot on a day: its moisture from the tanks
// it was filled from, and HMF and diastase as the last results have aged since.
func Estimates(b *ledger.Book, g *Gathered, c *Climate, on standard.Date) []Estimate {
	var out []Estimate
	if e, ok := tankMoisture(b, g); ok {
		out = append(out, e)
	}
	now := endOf(on, b.Location())
	kinetics := heat.Default()
	for _, x := range []struct {
		parameter, unit string
		band            func(heat.Forecast) heat.Band
	}{
		{"hmf", "mg/kg", func(f heat.Forecast) heat.Band { return f.HMFMgPerKg }},
		{"diastase", "Gothe scale", func(f heat.Forecast) heat.Band { return f.DiastaseDN }},
	} {
		value, measured := g.worst(x.parameter, x.parameter == "hmf")
		since := g.last(x.parameter)
		if !measured || !now.After(since) {
			continue
		}
		h, err := c.between(g.Lot.StoreID, since, now)
		if err != nil {
			continue
		}
		state := heat.State{HMFMgPerKg: value}
		if x.parameter == "diastase" {
			state = heat.State{DiastaseDN: value}
		}
		f, err := kinetics.Forecast(state, h)
		if err != nil {
			continue
		}
		band := x.band(f)
		out = append(out, Estimate{x.parameter, x.unit, band.Low, band.Middle, band.High,
			fmt.Sprintf("the result of %s, aged at the temperature of the %s", since.In(b.Location()).Format("2 January 2006"), b.Name(g.Lot.StoreID))})
	}
	return out
}

// tankMoisture is the mean by net weight of what was last read on the tanks as
// the containers were filled; the band holds the lowest and the highest.
func tankMoisture(b *ledger.Book, g *Gathered) (Estimate, bool) {
	e := Estimate{Parameter: "moisture", Unit: "%", How: "the last readings of the tanks that it was filled from, by weight"}
	net := 0.0
	for _, id := range g.Basis.Fills {
		m := tankReading(b, id)
		if m == nil {
			return e, false
		}
		if net == 0 {
			e.Low, e.High = m.Pct, m.Pct
		}
		kg := float64(ledger.Named[ledger.Fill](b, id).NetG())
		e.Low, e.High = min(e.Low, m.Pct), max(e.High, m.Pct)
		e.Middle, net = e.Middle+kg*m.Pct, net+kg
	}
	if net == 0 {
		return e, false
	}
	e.Middle /= net
	return e, true
}
