package demo

import (
	"math"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
)

// parcel is some honey as it truly is.
type parcel struct {
	kg          float64
	moisturePct float64
	hmf         float64 // mg/kg
	diastase    float64 // Gothe
	pfundMM     float64
	msPerCM     float64 // electrical conductivity
	// pulls is its share of each pull. Parcels share it: it is never written to.
	pulls map[ledger.ID]float64
}

// mixed is two parcels stirred together, by mass.
func (p parcel) mixed(q parcel) parcel {
	sum := p.kg + q.kg
	if sum <= 0 {
		return parcel{}
	}
	a, b := p.kg/sum, q.kg/sum
	return parcel{
		kg:          sum,
		moisturePct: a*p.moisturePct + b*q.moisturePct,
		hmf:         a*p.hmf + b*q.hmf,
		diastase:    a*p.diastase + b*q.diastase,
		pfundMM:     a*p.pfundMM + b*q.pfundMM,
		msPerCM:     a*p.msPerCM + b*q.msPerCM,
		pulls:       mixedPulls(p.pulls, q.pulls, a, b),
	}
}

func mixedPulls(p, q map[ledger.ID]float64, a, b float64) map[ledger.ID]float64 {
	if a == 0 {
		return q
	}
	out := make(map[ledger.ID]float64, len(p)+len(q))
	for id, share := range p {
		out[id] = a * share
	}
	for id, share := range q {
		out[id] += b * share
	}
	return out
}

// part is some kilograms of a parcel.
func (p parcel) part(kg float64) parcel {
	p.kg = kg
	return p
}

var kinetics = heat.Default()

// aged is the parcel after some hours at a temperature. quick is how fast its
// HMF forms beside the middle honey.
func (p parcel) aged(temperatureC, hours, quick float64) parcel {
	p.hmf += quick * kinetics.HMFRate(temperatureC) * hours / 24
	p.diastase *= math.Exp(-kinetics.DiastaseRate(temperatureC) * hours / 24)
	return p
}

// densityKgPerL stays inside the range of the table.
func densityKgPerL(moisturePct, temperatureC float64) float64 {
	d, err := honey.DensityKgPerL(min(max(moisturePct, 13), 25), min(max(temperatureC, 5), 60))
	if err != nil {
		panic(err) // clamped above
	}
	return d
}

// storeC is the temperature of the drum store: a building that lags the
// seasons, warmest in early August.
func storeC(at time.Time) float64 {
	return 12 + 8*math.Cos(2*math.Pi*float64(at.YearDay()-215)/365)
}

// stored is a parcel after its days in the store.
func (p parcel) stored(from, to time.Time, quick float64) parcel {
	for t := from; t.Before(to); t = t.Add(24 * time.Hour) {
		p = p.aged(storeC(t), min(24, to.Sub(t).Hours()), quick)
	}
	return p
}
