package honey

import "math"

// The honey refractive index table: refractive index at 20 C (sodium D line)
// for each 0.2 % of moisture from 13.0 to 25.0. Chataway 1932 as revised by
// Wedmore 1955; the table of AOAC 969.38B, of the harmonised methods of the
// International Honey Commission and of GOST R 53126-2008.
var indexRows = [61]float64{
	1.5044, 1.5038, 1.5033, 1.5028, 1.5023, // 13.0
	1.5018, 1.5012, 1.5007, 1.5002, 1.4997, // 14.0
	1.4992, 1.4987, 1.4982, 1.4976, 1.4971, // 15.0
	1.4966, 1.4961, 1.4956, 1.4951, 1.4946, // 16.0
	1.4940, 1.4935, 1.4930, 1.4925, 1.4920, // 17.0
	1.4915, 1.4910, 1.4905, 1.4900, 1.4895, // 18.0
	1.4890, 1.4885, 1.4880, 1.4875, 1.4870, // 19.0
	1.4865, 1.4860, 1.4855, 1.4850, 1.4845, // 20.0
	1.4840, 1.4835, 1.4830, 1.4825, 1.4820, // 21.0
	1.4815, 1.4810, 1.4805, 1.4800, 1.4795, // 22.0
	1.4790, 1.4785, 1.4780, 1.4775, 1.4770, // 23.0
	1.4765, 1.4760, 1.4755, 1.4750, 1.4745, // 24.0
	1.4740, // 25.0
}

const (
	tableMinPct  = 13.0
	tableMaxPct  = 25.0
	tableStepPct = 0.2

	// IndexPerC is the fall of the refractive index of honey for each degree
	// above 20 C, as AOAC 969.38 and the International Honey Commission give it.
	IndexPerC = 0.00023

	// CorrectionMinC and CorrectionMaxC bound the sample temperature that the
	// straight correction is used for. Common practice: the methods give the
	// coefficient without a range and instruments are used from 10 to 40 C.
	CorrectionMinC = 10.0
	CorrectionMaxC = 40.0
)

// IndexMoisture is the moisture that the published table covers, and
// SampleTemperature what its correction is used for.
var (
	IndexMoisture     = Range{Of: "moisture", Unit: "%", From: tableMinPct, To: tableMaxPct}
	SampleTemperature = Range{Of: "temperature", Unit: "C", From: CorrectionMinC, To: CorrectionMaxC}
)

// RefractiveIndex returns the refractive index of honey of moisturePct (5 to
// 40) at temperatureC (10 to 40): linear between the rows of the table, less
// IndexPerC for each degree above 20 C. Beyond the table (IndexMoisture) it goes
// on from the last row with the slope of Wedmore's equation.
func RefractiveIndex(moisturePct, temperatureC float64) (float64, error) {
	if err := moistureRange(moisturePct, PossibleMoistureMinPct, PossibleMoistureMaxPct); err != nil {
		return 0, err
	}
	if err := temperatureRange(temperatureC, CorrectionMinC, CorrectionMaxC); err != nil {
		return 0, err
	}
	return indexAt20(moisturePct) - IndexPerC*(temperatureC-20), nil
}

// tableRounding is the standard uncertainty of a figure that is rounded to the
// fourth place: 0.0001 / sqrt(12) (JCGM 100, rectangular).
const tableRounding = 0.000029

// IndexStdUncertainty is the standard uncertainty of RefractiveIndex for a moisture
// of 5 to 40 %: the rounding of the table, and beyond it what Wedmore's equation
// leaves open as well.
func IndexStdUncertainty(moisturePct float64) float64 {
	beyond := beyondTable * IndexMoisture.beyond(moisturePct) / moisturePerIndex(indexAt20(moisturePct))
	return math.Hypot(tableRounding, beyond)
}

// indexAt20 wants a moisture that honey can have.
func indexAt20(moisturePct float64) float64 {
	switch {
	case moisturePct < tableMinPct:
		return onFrom(driestIndex, moisturePct-tableMinPct)
	case moisturePct > tableMaxPct:
		return onFrom(wettestIndex, moisturePct-tableMaxPct)
	}
	place := (moisturePct - tableMinPct) / tableStepPct
	row := min(int(place), len(indexRows)-2)
	return indexRows[row] + (place-float64(row))*(indexRows[row+1]-indexRows[row])
}

// The ends of the table, and of what honey can be.
var (
	driestIndex, wettestIndex = indexRows[0], indexRows[len(indexRows)-1]
	highestIndex, lowestIndex = indexAt20(PossibleMoistureMinPct), indexAt20(PossibleMoistureMaxPct)
)

// onFrom goes on by Wedmore's equation from a row of the table, so many points
// wetter.
func onFrom(index, points float64) float64 {
	return 1 + (index-1)*math.Pow(10, -wedmoreSlope*points)
}

// pointsFrom is onFrom turned round.
func pointsFrom(row, index float64) float64 {
	return math.Log10((row-1)/(index-1)) / wedmoreSlope
}

// moistureAt20 wants a refractive index that honey can have.
func moistureAt20(index float64) float64 {
	switch {
	case index > driestIndex:
		return tableMinPct + pointsFrom(driestIndex, index)
	case index < wettestIndex:
		return tableMaxPct + pointsFrom(wettestIndex, index)
	}
	low, high := 0, len(indexRows)-1
	for high-low > 1 {
		middle := (low + high) / 2
		if indexRows[middle] >= index {
			low = middle
		} else {
			high = middle
		}
	}
	part := (indexRows[low] - index) / (indexRows[low] - indexRows[high])
	return tableMinPct + tableStepPct*(float64(low)+part)
}

// Wedmore's equation is printed W = (1.73190 - log10(RI-1)) / 0.002243. The
// 1.73190 is a logarithm with a barred characteristic, -1 + 0.73190; read as
// it stands it makes 909 % of an ordinary honey.
const (
	wedmoreIntercept = -1 + 0.73190
	wedmoreSlope     = 0.002243
)

// moisturePerIndex is how steep Wedmore's equation falls: about 390 points of
// moisture for each unit of refractive index.
func moisturePerIndex(indexAt20C float64) float64 {
	return 1 / (wedmoreSlope * math.Ln10 * (indexAt20C - 1))
}

func indexRange(reading, correction float64) error {
	if low, high := lowestIndex-correction, highestIndex-correction; !within(reading, low, high) {
		return &RangeError{Quantity: "refractive index", Got: reading, Min: low, Max: high,
			Hint: indexHint(reading)}
	}
	return nil
}

func indexHint(reading float64) Hint {
	switch {
	case within(reading, 1.30, lowestIndex):
		return Hint{Format: "it is wetter than honey can be (40 %% moisture)"}
	case within(reading, highestIndex, 1.60):
		return Hint{Format: "it is drier than honey can be (5 %% moisture)"}
	case within(reading, tableMinPct, tableMaxPct):
		return Hint{Format: "it looks like a honey moisture scale in %%"}
	case within(reading, 70, 90):
		return Hint{Format: "it looks like degrees Brix"}
	}
	return Hint{}
}
