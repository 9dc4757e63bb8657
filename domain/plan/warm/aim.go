package warm

import (
	"math"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

// State is what honey is to be.
type State string

const (
	// Liquid: its crystals are molten.
	Liquid State = "liquid"
	// Pumpable: it flows at most so thickly when the time has come.
	Pumpable State = "pumpable"
	// Clear: it is liquid, and what crystals leave behind no longer seeds it.
	Clear State = "clear"
	// YeastKilled: it was hot for long enough to be rid of yeasts.
	YeastKilled State = "yeast_killed"
)

// States are all of them.
func States() []State { return []State{Liquid, Pumpable, Clear, YeastKilled} }

// Aim is what honey is to be.
type Aim struct {
	State State
	// PaS is how thick it may be at the most, in Pa s; only of Pumpable.
	PaS float64
}

// How long set honey takes to be liquid once it is all at one temperature: the least squares line of the
// logarithm of the hours by the temperature through five published times
// (testdata/liquefying-times.csv; a test fits it again). They scatter widely: liquidLogSD is the
// standard deviation of that logarithm. Colder than meltsUsefullyC nothing counts, since a page that
// was read has honey of 32 C soften with little melting; hotter than the hottest of them counts no more.
const (
	liquidLogAtZero   = 10.616636
	liquidLogPerK     = -0.17435827
	liquidLogSD       = 0.82236
	meltsUsefullyC    = 35.0
	liquidMeasuredToC = 62.0
)

// LiquidHours is how long honey of one temperature takes until its crystals are molten, in the
// middle of published times; +Inf below 35 C.
func LiquidHours(celsius float64) float64 {
	if celsius < meltsUsefullyC {
		return math.Inf(1)
	}
	return math.Exp(liquidLogAtZero + liquidLogPerK*math.Min(celsius, liquidMeasuredToC))
}

// Honey held so hot for so long stays clear. Two pages were read: 45 minutes at 54 C, an hour
// at 63; this is the longer at the colder.
const (
	clearFromC = 54.0
	clearHours = 1.0
)

// Between these honey is rid of yeasts by the advised times (heat.YeastKill), whose line bends at killsBendC.
const (
	killsFromC = 51.7
	killsBendC = 62.8
	killsToC   = 71.1
)

func killHours(celsius float64) float64 {
	k, err := heat.YeastKill(math.Min(celsius, killsToC))
	if err != nil {
		return math.Inf(1)
	}
	return k.AdvisedMinutes / 60
}

// viscosityLogSD is the standard deviation of the logarithm of a honey's viscosity: nine honeys
// in ten lie within honey.ViscositySpreadFactor of the middle one.
var viscosityLogSD = math.Log(honey.ViscositySpreadFactor) / nineInTen

// nineInTen is how many standard deviations on either side nine in ten lie within.
const nineInTen = 1.6448536269514722

// target is what the coldest of the honey has to go through.
type target struct {
	// doses are met once each comes to one: the share an hour at a temperature adds.
	doses []table
	// endC is how warm it has to be when the time has come; below any where that does not matter.
	endC float64
	// leastC is the lowest set point that may lead there.
	leastC int
}

// targetOf is what an aim asks for with a probability. moisturePct and crystalsPct are of the honey.
func targetOf(a Aim, probability, moisturePct, crystalsPct float64) (target, error) {
	z := math.Sqrt2 * math.Erfinv(2*probability-1)
	liquid := tableOf(func(c float64) float64 { return 1 / (LiquidHours(c) * math.Exp(z*liquidLogSD)) })
	t := target{endC: math.Inf(-1), leastC: meltsUsefullyC}
	if crystalsPct > 0 && a.State != YeastKilled { // what has not set is liquid
		t.doses = []table{liquid}
	}
	switch a.State {
	case Liquid:
	case Clear:
		t.doses = append(t.doses, tableOf(func(c float64) float64 {
			if c < clearFromC {
				return 0
			}
			return 1 / clearHours
		}))
	case YeastKilled:
		t.doses = []table{tableOf(func(c float64) float64 { return 1 / killHours(c) })}
		t.leastC = int(math.Ceil(killsFromC))
	case Pumpable:
		var err error
		if t.endC, err = thinAt(a.PaS/math.Exp(z*viscosityLogSD), moisturePct); err != nil {
			return t, err
		}
		t.leastC = int(math.Ceil(min(max(t.endC, LeastSetC), MostSetC+1)))
	}
	return t, nil
}

// thinAt is the temperature at which the middle honey has a viscosity; -Inf where it is as thin
// when it is as cold as the formula goes, +Inf where it is thicker when it is as hot.
func thinAt(paS, moisturePct float64) (float64, error) {
	low, high := honey.ViscosityTemperature.From, honey.ViscosityTemperature.To
	for _, end := range []struct{ c, beyond float64 }{{low, -1}, {high, 1}} {
		v, err := honey.ViscosityPaS(moisturePct, end.c)
		if err != nil {
			return 0, err
		}
		if (v-paS)*end.beyond > 0 {
			return math.Inf(int(end.beyond)), nil
		}
	}
	for range 50 {
		middle := (low + high) / 2
		if v, err := honey.ViscosityPaS(moisturePct, middle); err != nil {
			return 0, err
		} else if v > paS {
			low = middle
		} else {
			high = middle
		}
	}
	return high, nil
}

// table is a rate by temperature, read between its lines: a search asks for it very often.
type table []float64

// The lines of a table, in degrees Celsius.
const (
	tableFromC, tableToC = heat.ColdestC, heat.HottestC
	linesPerC            = 20
)

func tableOf(rate func(celsius float64) float64) table {
	t := make(table, int(tableToC-tableFromC)*linesPerC+2)
	for i := range t {
		t[i] = rate(tableFromC + float64(i)/linesPerC)
	}
	return t
}

// nothing is a rate of nothing at any temperature.
var nothing = table{0, 0}

func (t table) at(celsius float64) float64 {
	x := (celsius - tableFromC) * linesPerC
	i := int(x)
	if i < 0 {
		return t[0]
	}
	if i >= len(t)-1 {
		return t[len(t)-1]
	}
	part := x - float64(i)
	return t[i] + part*(t[i+1]-t[i])
}
