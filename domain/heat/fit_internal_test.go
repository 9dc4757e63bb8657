package heat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
)

// RatePoint is a published or measured rate at one temperature.
type RatePoint struct {
	TemperatureC, PerDay float64
}

// Fit is how well an Arrhenius line passes through its points.
type Fit struct {
	Rate Arrhenius
	// Residuals are ln(measured/fitted), in the order of the points.
	Residuals []float64
	// ResidualSD is their standard deviation with two degrees of freedom spent.
	ResidualSD float64
	// WorstFactor is the largest ratio between a point and the fit, above 1.
	WorstFactor float64
}

// FitArrhenius fits ln k against 1/T by ordinary least squares: relative
// errors count alike at 10 C and at 80 C. It needs three points or more at
// two temperatures or more, and a rate that grows with temperature.
func FitArrhenius(points []RatePoint) (Fit, error) {
	if len(points) < 3 {
		return Fit{}, fmt.Errorf("a fit needs at least three rates, here are %d", len(points))
	}
	inverse, logs := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		if err := checkTemperature("temperature", p.TemperatureC); err != nil {
			return Fit{}, fmt.Errorf("rate %d: %w", i+1, err)
		}
		if !(p.PerDay > 0) || math.IsInf(p.PerDay, 1) {
			return Fit{}, fmt.Errorf("rate %d is %g per day: it must be above zero", i+1, p.PerDay)
		}
		inverse[i], logs[i] = 1/(p.TemperatureC+kelvinOfZero), math.Log(p.PerDay)
	}
	logFactor, slope := stat.LinearRegression(inverse, logs, nil, false)
	if !(slope < 0) || math.IsInf(slope, -1) {
		return Fit{}, fmt.Errorf("these rates do not grow with temperature (activation energy %.3g kJ/mol): check their order and units", -slope*gasConstant/1000)
	}
	fit := Fit{Rate: Arrhenius{logFactor: logFactor, kelvin: -slope}, Residuals: make([]float64, len(points)), WorstFactor: 1}
	squares := 0.0
	for i := range points {
		r := logs[i] - logFactor - slope*inverse[i]
		fit.Residuals[i] = r
		squares += r * r
		fit.WorstFactor = math.Max(fit.WorstFactor, math.Exp(math.Abs(r)))
	}
	fit.ResidualSD = math.Sqrt(squares / float64(len(points)-2))
	return fit, nil
}

// RootMeanSquareOfLogs returns the spread of rates about a line: the root mean
// square of ln(measured/fitted).
func RootMeanSquareOfLogs(rate Arrhenius, points []RatePoint) float64 {
	squares := 0.0
	for _, p := range points {
		r := math.Log(p.PerDay / rate.PerDay(p.TemperatureC))
		squares += r * r
	}
	return math.Sqrt(squares / float64(len(points)))
}
