package heat

import (
	"fmt"
	"math"

	"pullbook/domain/honey"
	"pullbook/domain/message"
)

// Kinetics holds what heat and time do to a honey: HMF forms at a rate that
// does not depend on how much there is (zero order, mg/kg per day), diastase
// and invertase are lost in proportion to what is left (first order, per day).
//
// Every rate is the middle of what honeys do. LogSD is the standard deviation
// of the natural logarithm of one honey's rate over that middle, and Covered says where it
// holds and how it widens beyond.
type Kinetics struct {
	HMF, Diastase, Invertase Reaction
}

// Reaction is a rate and its spread among honeys.
type Reaction struct {
	Arrhenius
	LogSD   float64
	Covered Covered
}

// Measured range of the published times and half-lives, in degrees Celsius.
// Outside it a forecast is flagged as extrapolated.
const (
	MeasuredFromC = 10.0
	MeasuredToC   = 80.0
)

// MeasuredTemperature is what the published times of HMF and the enzymes cover.
var MeasuredTemperature = honey.Range{Of: "temperature", Unit: "C", From: MeasuredFromC, To: MeasuredToC}

// The default parameters, fitted to testdata/hmf-time-to-threshold.csv and
// testdata/enzyme-half-life.csv by FitArrhenius; the test of the fit computes
// them again and prints the residuals. Reference temperature 50 C, the middle
// of what a honey house uses.
const (
	fittedAtC = 50.0

	hmfPerDay       = 5.1467704
	hmfKJPerMol     = 134.63523
	diastasePerDay  = 0.12899722
	diastaseKJMol   = 147.28921
	invertasePerDay = 0.5377839
	invertaseKJMol  = 169.11133
)

// The spread among honeys. For HMF it is the root mean square of the ends of
// all published windows from 20 to 70 C about the fit, single figures of the
// source that disagrees included. For the enzymes only one series of
// half-lives is published; a factor of two either way for nine honeys in ten
// is common practice.
const (
	hmfLogSD    = 0.525
	enzymeLogSD = math.Ln2 / bandZ
)

// Where the published times agree, and how the band widens beyond. For HMF every source
// agrees from 40 to 60 C within the spread. Beyond, the sources part, and the middle is slower
// than two of three at 20 C and than one of two at 80 C: so the widening is the least, in whole
// kJ/mol on either side, with which the fast end is as early as the earliest published time from
// 10 to 80 C (the test of the windows). For the enzymes a tenth of the activation energy beyond
// the one published series is a judgement.
var (
	hmfCovered    = Covered{FromC: 40, ToC: 60, ColderKJPerMol: 8, HotterKJPerMol: 16}
	enzymeCovered = Covered{FromC: MeasuredFromC, ToC: MeasuredToC, ColderKJPerMol: 15, HotterKJPerMol: 15}
)

// bandZ makes a band that holds nine honeys in ten, if honeys scatter
// log-normally: the 95 % point of the normal distribution.
const bandZ = 1.6448536269514722

// Default returns the kinetics of an unknown honey.
func Default() Kinetics {
	return Kinetics{
		HMF:       Reaction{must(NewArrhenius(hmfPerDay, fittedAtC, hmfKJPerMol)), hmfLogSD, hmfCovered},
		Diastase:  Reaction{must(NewArrhenius(diastasePerDay, fittedAtC, diastaseKJMol)), enzymeLogSD, enzymeCovered},
		Invertase: Reaction{must(NewArrhenius(invertasePerDay, fittedAtC, invertaseKJMol)), enzymeLogSD, enzymeCovered},
	}
}

// must is for the constants above only.
func must(a Arrhenius, err error) Arrhenius {
	if err != nil {
		panic(err)
	}
	return a
}

// HMFRate returns mg/kg formed per day at a temperature, in the middle honey.
// Like DiastaseRate it checks nothing and costs one exponential.
func (k Kinetics) HMFRate(temperatureC float64) float64 { return k.HMF.PerDay(temperatureC) }

// DiastaseRate returns the share of diastase lost per day at a temperature, as
// a first-order constant: what is left after d days is exp(-rate d).
func (k Kinetics) DiastaseRate(temperatureC float64) float64 { return k.Diastase.PerDay(temperatureC) }

// State is what heat changes in a honey: HMF in mg/kg, diastase in diastase
// numbers (Schade), invertase in any unit of activity.
type State struct {
	HMFMgPerKg, DiastaseDN, Invertase float64
}

func (s State) check() error {
	if err := checkRange("HMF", "mg/kg", s.HMFMgPerKg, 0, 20_000); err != nil {
		return err
	}
	if err := checkRange("diastase", "diastase numbers", s.DiastaseDN, 0, 200); err != nil {
		return err
	}
	return checkRange("invertase", "units", s.Invertase, 0, 10_000)
}

// Band is a forecast for a honey of which only the average behaviour is known:
// nine honeys in ten should fall between Low and High.
type Band struct{ Low, Middle, High float64 }

// formed returns the band of an amount that grows with exposure.
func (r Reaction) formed(start float64, exposure Band) Band {
	return Band{start + exposure.Low, start + exposure.Middle, start + exposure.High}
}

// left returns the band of an activity that is lost with exposure.
func (r Reaction) left(start float64, exposure Band) Band {
	return Band{start * math.Exp(-exposure.High), start * math.Exp(-exposure.Middle), start * math.Exp(-exposure.Low)}
}

// Forecast is what a history does to a honey. It is an estimate and no
// laboratory result.
type Forecast struct {
	HMFMgPerKg, DiastaseDN, Invertase Band
	Gaps                              []Gap
	Flags                             []Flag
}

// Forecast returns the bands of HMF, diastase and invertase at the end of a
// history. The state is checked: no figure below nothing. An empty history is
// an error.
func (k Kinetics) Forecast(s State, h History) (Forecast, error) {
	if len(h.seconds) == 0 {
		return Forecast{}, message.Errorf("the temperature history is empty: there is nothing to forecast over")
	}
	if err := s.check(); err != nil {
		return Forecast{}, err
	}
	return Forecast{
		HMFMgPerKg: k.HMF.formed(s.HMFMgPerKg, k.HMF.exposures(h)),
		DiastaseDN: k.Diastase.left(s.DiastaseDN, k.Diastase.exposures(h)),
		Invertase:  k.Invertase.left(s.Invertase, k.Invertase.exposures(h)),
		Gaps:       h.Gaps(),
		Flags:      append(h.Flags(), extrapolated(h.Extremes())...),
	}, nil
}

func extrapolated(lowC, highC float64) []Flag {
	if !(lowC < MeasuredFromC || highC > MeasuredToC) {
		return nil
	}
	return []Flag{{FlagExtrapolated, fmt.Sprintf("temperatures from %.4g to %.4g C reach outside the %g to %g C that the published times cover", lowC, highC, MeasuredFromC, MeasuredToC)}}
}
