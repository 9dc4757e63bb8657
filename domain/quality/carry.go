package quality

import (
	"math"
	"strconv"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Carried is a measured HMF or diastase at another instant than it was measured at.
type Carried struct {
	// Measured is the result: HMF in mg/kg, diastase in diastase numbers.
	Measured       float64
	MeasuredAt, At time.Time
	// Band is the figure at At, in the unit of Measured: nine honeys in ten lie between Low
	// and High. It holds what is not known of the honey's rate, not the uncertainty of the
	// measurement. At or before MeasuredAt all three are Measured.
	Band heat.Band
}

// Worst is the end of the band that a limit catches first: the highest HMF, the lowest
// diastase.
func (c Carried) Worst(parameter string) float64 {
	if parameter == "diastase" {
		return c.Band.Low
	}
	return c.Band.High
}

// Carry takes a measured HMF ("hmf", mg/kg) or diastase ("diastase", diastase numbers) from
// its instant to another, over the temperatures of a store: what was logged there, and its
// year where nothing was. The kinetics are heat.Default, or KineticsOf of a lot. It fails
// where nothing tells how warm the store is (the zero ID is no store), and for another
// parameter; the error is a sentence for people.
func (c *Climate) Carry(k heat.Kinetics, store ledger.ID, parameter string, measured float64, from, to time.Time) (Carried, error) {
	out := Carried{Measured: measured, MeasuredAt: from, At: to, Band: heat.Band{Low: measured, Middle: measured, High: measured}}
	reaction := k.HMF
	switch parameter {
	case "hmf":
	case "diastase":
		reaction = k.Diastase
	default:
		return out, message.Errorf("only HMF and diastase are carried from day to day, not %s", parameter)
	}
	if !to.After(from) {
		return out, nil
	}
	o, err := c.outlook(store, reaction)
	if err != nil {
		return out, err
	}
	e := o.Band(from, to)
	if parameter == "diastase" {
		out.Band = heat.Band{Low: aged(parameter, measured, e.High), Middle: aged(parameter, measured, e.Middle), High: aged(parameter, measured, e.Low)}
	} else {
		out.Band = heat.Band{Low: aged(parameter, measured, e.Low), Middle: aged(parameter, measured, e.Middle), High: aged(parameter, measured, e.High)}
	}
	return out, nil
}

// aged is a value after an exposure: HMF is formed, diastase is lost.
func aged(parameter string, value, exposure float64) float64 {
	if parameter == "diastase" {
		return value * math.Exp(-exposure)
	}
	return value + exposure
}

// exposureTo is the exposure with which a value comes to a figure, below zero where it has
// passed it; infinite for a diastase of nothing.
func exposureTo(parameter string, value, figure float64) float64 {
	if parameter == "diastase" {
		return math.Log(value / figure)
	}
	return figure - value
}

// KineticsOf is what a lot is forecast with: the default, moved by the kinds that it declares,
// and its own rate of HMF where two or more results that go together tell it and the store's
// temperature between them is known.
func KineticsOf(g *Gathered, c *Climate) heat.Kinetics {
	k := g.kindsKinetics()
	results := g.hmf[max(0, len(g.hmf)-mostResults):]
	if len(results) < 2 {
		return k
	}
	o, err := c.outlook(g.Lot.StoreID, k.HMF)
	if err != nil {
		return k
	}
	if results, err = k.WithoutSlips(results, o); err != nil {
		return k
	}
	if n, err := k.NarrowOver(results, o); err == nil {
		return n.Kinetics
	}
	return k
}

// kindsKinetics is the default, moved by the kinds that the lot declares.
func (g *Gathered) kindsKinetics() heat.Kinetics {
	var kinds []heat.Kind
	for _, kind := range g.Lot.Declares["kind"] {
		kinds = append(kinds, heat.Kind(kind))
	}
	return heat.Default().For(kinds...)
}

// mostResults bounds how many of its results a lot's rate is learnt from, the last ones: more
// would say no more.
const mostResults = 30

// What is taken of a store of which nobody wrote how warm it is, in degrees Celsius: a
// honey house in a mild climate is seldom colder or warmer for long (common practice).
const (
	assumedColdC = 5.0
	assumedWarmC = 30.0
)

// fresh is how old a figure may be to count as measured: a day is the finest that a
// verdict speaks of.
const fresh = 24 * time.Hour

// littleChange is what two laboratories differ by in any case, in mg/kg of HMF and in
// diastase numbers, as is a fiftieth of a figure (common practice): a figure that changed no
// more than that counts as measured.
var littleChange = map[string]float64{"hmf": 1, "diastase": 0.2}

// onDay is where a result is to be expected at an instant; nil where time does not change
// its parameter, or has not yet. Where no temperature of the store is known, the band goes
// from the slowest honey in the cold to the fastest in the warmth.
func (c *Climate) onDay(k heat.Kinetics, store ledger.ID, r *standard.Result, at time.Time) *standard.OnDay {
	if r.Parameter != "hmf" && r.Parameter != "diastase" || r.Stage != "" || at.Sub(r.At) < fresh {
		return nil
	}
	measured, err := standard.ParseDecimal(r.Value)
	if err != nil {
		return nil // the evidence says what is wrong with it
	}
	carried, err := c.Carry(k, store, r.Parameter, measured.Float64(), r.At, at)
	band, assumed := carried.Band, err != nil
	if assumed {
		band = assumedBand(k, r.Parameter, measured.Float64(), r.At, at)
	}
	if change := max(measured.Float64()-band.Low, band.High-measured.Float64()); change <= max(littleChange[r.Parameter], 0.02*measured.Float64()) {
		return nil
	}
	return &standard.OnDay{Low: twoPlaces(band.Low), High: twoPlaces(band.High), Assumed: assumed}
}

// assumedBand is the band of a figure whose store nobody wrote a temperature of; it has no
// middle.
func assumedBand(k heat.Kinetics, parameter string, measured float64, from, to time.Time) heat.Band {
	at := func(celsius float64) heat.Band {
		h, err := heat.FromSetPoints([]heat.SetPoint{{From: from, To: to, TemperatureC: celsius}}, nil)
		if err != nil {
			return heat.Band{Low: measured, Middle: measured, High: measured}
		}
		start := heat.State{}
		if parameter == "hmf" {
			start.HMFMgPerKg = measured
		} else {
			start.DiastaseDN = measured
		}
		f, err := k.Forecast(start, h)
		if err != nil {
			return heat.Band{Low: measured, Middle: measured, High: measured}
		}
		if parameter == "hmf" {
			return f.HMFMgPerKg
		}
		return f.DiastaseDN
	}
	cold, warm := at(assumedColdC), at(assumedWarmC)
	return heat.Band{Low: min(cold.Low, warm.Low), High: max(cold.High, warm.High)}
}

func twoPlaces(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) }
