package heat

import (
	"math"
	"slices"
)

// Covered is where published times of a reaction agree within its spread, and how the band
// widens beyond. The activation energy is known less well than the rate, so a rate is known
// the worse the farther it is from there: outside FromC to ToC (degrees Celsius) the standard
// deviation of ln k grows by ColderKJPerMol/R or HotterKJPerMol/R times the distance in 1/T.
type Covered struct {
	FromC, ToC                     float64
	ColderKJPerMol, HotterKJPerMol float64
}

// curve is the rate of a honey that is faster or slower than the middle one. It bends where
// what is covered ends, and is Arrhenius in each of the three parts.
type curve struct {
	cold, covered, hot Arrhenius
	fromC, toC         float64
}

// curve returns the rate of the honey that stands z standard deviations from the middle: 0
// the middle one, above 0 faster. A spread of nothing is a rate that is known, everywhere.
func (r Reaction) curve(z float64) curve {
	c := curve{cold: r.Arrhenius, covered: r.Arrhenius, hot: r.Arrhenius, fromC: math.Inf(-1), toC: math.Inf(1)}
	if r.LogSD == 0 || z == 0 {
		return c
	}
	c.covered.logFactor += z * r.LogSD
	c.cold, c.hot = c.covered, c.covered
	if r.Covered == (Covered{}) {
		return c
	}
	c.fromC, c.toC = r.Covered.FromC, r.Covered.ToC
	colder, hotter := z*r.Covered.ColderKJPerMol*1000/gasConstant, z*r.Covered.HotterKJPerMol*1000/gasConstant
	c.cold.kelvin -= colder
	c.cold.logFactor -= colder / (c.fromC + kelvinOfZero)
	c.hot.kelvin += hotter
	c.hot.logFactor += hotter / (c.toC + kelvinOfZero)
	return c
}

// part returns the law that holds at a temperature.
func (c curve) part(celsius float64) Arrhenius {
	switch {
	case celsius < c.fromC:
		return c.cold
	case celsius > c.toC:
		return c.hot
	}
	return c.covered
}

func (c curve) perDay(celsius float64) float64 { return c.part(celsius).PerDay(celsius) }

// temperatureC is the inverse of perDay.
func (c curve) temperatureC(ratePerDay float64) float64 {
	switch {
	case !math.IsInf(c.fromC, -1) && ratePerDay < c.covered.PerDay(c.fromC):
		return c.cold.TemperatureC(ratePerDay)
	case !math.IsInf(c.toC, 1) && ratePerDay > c.covered.PerDay(c.toC):
		return c.hot.TemperatureC(ratePerDay)
	}
	return c.covered.TemperatureC(ratePerDay)
}

// exposure is Arrhenius.Exposure over the three parts; a line that passes from one to
// another is cut there.
func (c curve) exposure(h History) float64 {
	if len(h.seconds) == 0 {
		return 0
	}
	low, high := h.Extremes()
	switch {
	case low >= c.fromC && high <= c.toC:
		return c.covered.Exposure(h)
	case high <= c.fromC:
		return c.cold.Exposure(h)
	case low >= c.toC:
		return c.hot.Exposure(h)
	}
	sum := 0.0
	for i := 1; i < len(h.seconds); i++ {
		sum += c.stretch(h.celsius[i-1], h.celsius[i], h.seconds[i]-h.seconds[i-1])
	}
	return sum
}

// stretch is the exposure along a straight line.
func (c curve) stretch(fromC, toC, seconds float64) float64 {
	if seconds == 0 {
		return 0
	}
	cuts := [4]float64{fromC, min(max(c.fromC, min(fromC, toC)), max(fromC, toC)), min(max(c.toC, min(fromC, toC)), max(fromC, toC)), toC}
	if toC < fromC {
		cuts[1], cuts[2] = cuts[2], cuts[1]
	}
	if fromC == toC {
		return c.perDay(fromC) * seconds / secondsPerDay
	}
	sum := 0.0
	for i := range 3 {
		if a, b := cuts[i], cuts[i+1]; a != b {
			sum += c.part((a+b)/2).stretch(a, b, seconds*(b-a)/(toC-fromC))
		}
	}
	return sum
}

// exposures are those of a slow, a middle and a fast honey.
func (r Reaction) exposures(h History) Band {
	return Band{r.curve(-bandZ).exposure(h), r.Exposure(h), r.curve(bandZ).exposure(h)}
}

// PerDayBand returns the rates of a slow, a middle and a fast honey at a temperature that a
// History accepts: nine honeys in ten lie between Low and High.
func (r Reaction) PerDayBand(celsius float64) Band {
	return Band{r.curve(-bandZ).perDay(celsius), r.PerDay(celsius), r.curve(bandZ).perDay(celsius)}
}

// LogSDAt returns the standard deviation of the natural logarithm of a honey's rate at a
// temperature that a History accepts: LogSD where times are published, more beyond.
func (r Reaction) LogSDAt(celsius float64) float64 {
	return math.Log(r.curve(1).perDay(celsius) / r.PerDay(celsius))
}

// Kind is a kind of honey whose rate of HMF has been published beside others. Its name is
// one of the kinds that a lot may declare (domain/standard).
type Kind string

// kindLogs are the natural logarithms of the rates that papers measured over the middle
// one (testdata/hmf-experiments.csv; a test computes them). Acidity moves the rate too, but
// no text that could be read says by how much.
var kindLogs = map[Kind][]float64{
	"citrus":          {0.612},
	"eucalyptus":      {0.612},
	"castanea_sativa": {-1.850},
	"brassica":        {-0.190, -0.689},
}

// For returns the kinetics of a declared kind; of a kind that nobody published, and of
// several, the fastest counts. n papers move the middle by n/(n+1) of what they found,
// because one paper is one place and one year. A kind that is published as slower than the
// middle keeps the fast end of an unknown honey: no date becomes later by a declaration.
func (k Kinetics) For(kinds ...Kind) Kinetics {
	logs := make([]float64, 0, len(kinds))
	for _, kind := range kinds {
		sum, papers := 0.0, kindLogs[kind]
		for _, l := range papers {
			sum += l
		}
		logs = append(logs, sum/float64(len(papers)+1))
	}
	if len(logs) == 0 {
		return k
	}
	log := slices.Max(logs)
	k.HMF.Arrhenius = k.HMF.scaled(math.Exp(log))
	k.HMF.LogSD -= min(log, 0) / bandZ
	return k
}
