package heat

import (
	"math"
	"slices"
	"sort"
	"time"
)

// Year is the course of a place's temperature over the year: a wave about MeanC that is
// SwingK higher in the middle of its warmest time and as much lower half a year later. The
// zero SwingK is a place that is as warm all year.
type Year struct {
	MeanC, SwingK float64
	// WarmestDay is where the year is warmest, in days from its beginning, 0 to 365.25.
	WarmestDay float64
	// ScatterK is how far days and hours lie from the wave, as a standard deviation. Where it is
	// known, rates are taken as the mean of those so far above and below.
	ScatterK float64
}

const (
	daysInYear = 365.25
	dayOfMonth = daysInYear / 12
)

// YearOfMonths returns the year of a place by its mean temperatures in the warmest and the
// coldest month, in degrees Celsius, and which month is the warmest, 1 to 12.
func YearOfMonths(warmestC, coldestC float64, warmest int) Year {
	return Year{MeanC: (warmestC + coldestC) / 2, SwingK: (warmestC - coldestC) / 2, WarmestDay: (float64(warmest) - 0.5) * dayOfMonth}
}

// TemperatureC returns the temperature of the wave at an instant.
func (y Year) TemperatureC(at time.Time) float64 { return y.onDay(inYear(daysSince(at))) }

func (y Year) onDay(day float64) float64 {
	return y.MeanC + y.SwingK*math.Cos(2*math.Pi*(day-y.WarmestDay)/daysInYear)
}

// yearBegins is a beginning of a year from which instants are counted.
var yearBegins = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// daysSince returns the days from that beginning, below zero before it.
func daysSince(at time.Time) float64 {
	return float64(at.Unix()-yearBegins.Unix())/secondsPerDay + float64(at.Nanosecond())/1e9/secondsPerDay
}

// inYear is where in its year a day of the count lies.
func inYear(days float64) float64 {
	day := math.Mod(days, daysInYear)
	if day < 0 {
		day += daysInYear
	}
	return day
}

// Learning a year takes logs in this many months of it, each on so many days.
const (
	monthsToLearn = 9
	daysToLearn   = 7
)

// LearnYear fits the wave to a log by least squares on the means of its days. It is false
// where fewer than nine months of the year have a week of days: from less, summer would be
// guessed from winter. Points are in order of time.
func LearnYear(points []Point) (Year, bool) {
	days := dailyMeans(points)
	months := map[int]int{}
	for _, d := range days {
		months[int(d.day/dayOfMonth)]++
	}
	known := 0
	for _, n := range months {
		if n >= daysToLearn {
			known++
		}
	}
	if known < monthsToLearn {
		return Year{}, false
	}
	mean, cosine, sine, ok := fitWave(days)
	if !ok {
		return Year{}, false
	}
	y := Year{MeanC: mean, SwingK: math.Hypot(cosine, sine)}
	y.WarmestDay = inYear(math.Atan2(sine, cosine) / (2 * math.Pi) * daysInYear)
	squares := 0.0
	for _, p := range points {
		off := p.TemperatureC - y.TemperatureC(p.At)
		squares += off * off
	}
	y.ScatterK = math.Sqrt(squares / float64(len(points)))
	return y, true
}

// dayMean is the mean of a log's day, and where in the year it lies.
type dayMean struct{ day, celsius float64 }

func dailyMeans(points []Point) []dayMean {
	var out []dayMean
	for i := 0; i < len(points); {
		day, sum, n := math.Floor(daysSince(points[i].At)), 0.0, 0
		for ; i < len(points) && math.Floor(daysSince(points[i].At)) == day; i++ {
			sum, n = sum+points[i].TemperatureC, n+1
		}
		out = append(out, dayMean{inYear(day + 0.5), sum / float64(n)})
	}
	return out
}

// fitWave solves the three normal equations by elimination.
func fitWave(days []dayMean) (mean, cosine, sine float64, ok bool) {
	var m [3][4]float64
	for _, d := range days {
		s, c := math.Sincos(2 * math.Pi * d.day / daysInYear)
		row := [4]float64{1, c, s, d.celsius}
		for i := range 3 {
			for j := range 4 {
				m[i][j] += row[i] * row[j]
			}
		}
	}
	for i := range 3 {
		if m[i][i] < 1e-9 {
			return 0, 0, 0, false
		}
		for k := range 3 {
			if k == i {
				continue
			}
			f := m[k][i] / m[i][i]
			for j := i; j < 4; j++ {
				m[k][j] -= f * m[i][j]
			}
		}
	}
	return m[0][3] / m[0][0], m[1][3] / m[1][1], m[2][3] / m[2][2], true
}

// KineticMeanC returns the constant temperature that does as much to a reaction in a year as
// the wave does: warmer than MeanC, because a warm month does more than a cold one leaves undone.
func (y Year) KineticMeanC(a Arrhenius) float64 {
	sums := y.sums(Reaction{Arrhenius: a}.curve(0))
	return a.TemperatureC(sums.whole() / daysInYear)
}

// yearSums is the exposure from the year's beginning to the end of each of its steps.
type yearSums []float64

// yearSteps are the steps of a year, a day each.
const yearSteps = 365

func (s yearSums) whole() float64 { return s[len(s)-1] }

func (y Year) sums(c curve) yearSums {
	s := make(yearSums, yearSteps+1)
	step := daysInYear / yearSteps
	rate := func(celsius float64) float64 { return c.perDay(min(max(celsius, ColdestC), HottestC)) }
	for i := range yearSteps {
		celsius := y.onDay((float64(i) + 0.5) * step)
		s[i+1] = s[i] + step*(rate(celsius-y.ScatterK)+rate(celsius+y.ScatterK))/2
	}
	return s
}

// until returns the exposure from the beginning of the count to so many days after it.
func (s yearSums) until(days float64) float64 {
	years := math.Floor(days / daysInYear)
	at := (days - years*daysInYear) / daysInYear * yearSteps
	i := min(int(at), yearSteps-1)
	return years*s.whole() + s[i] + (at-float64(i))*(s[i+1]-s[i])
}

// when is the inverse of until.
func (s yearSums) when(exposure float64) float64 {
	years := math.Floor(exposure / s.whole())
	left := exposure - years*s.whole()
	i := min(max(sort.SearchFloat64s(s, left)-1, 0), yearSteps-1)
	part := 0.0
	if step := s[i+1] - s[i]; step > 0 {
		part = (left - s[i]) / step
	}
	return years*daysInYear + (float64(i)+part)/yearSteps*daysInYear
}

// Coldest and Warmest are the ends of the wave.
func (y Year) Coldest() float64 { return y.MeanC - math.Abs(y.SwingK) }

// Warmest is Coldest for the other end.
func (y Year) Warmest() float64 { return y.MeanC + math.Abs(y.SwingK) }

// Outlook is what the temperatures of a place do to a reaction between any two instants, past
// or to come: by its log where there is one, by its year elsewhere. It is immutable and safe
// to share.
type Outlook struct {
	knots []float64 // days since yearBegins
	// celsius is the temperature at each knot; silent is true where the line that ends there is
	// longer than LongestJoin, so that the year stands in.
	celsius []float64
	silent  []bool
	paces   [3]pace
}

// pace is the slow, the middle or the fast honey.
type pace struct {
	curve curve
	year  yearSums
	sums  []float64 // exposure from the first knot to each
}

// Pace says how fast a honey is among all: nine in ten lie between Slow and Fast.
type Pace int

// The paces.
const (
	Slow Pace = iota
	Middling
	Fast
)

// Paces are all of them, the fastest honey first.
var Paces = [3]Pace{Fast, Middling, Slow}

// Outlook makes the outlook of a place from its log, in order of time, and its year. Each
// temperature is ColdestC to HottestC. The year stands in before the first reading, from the
// last one on, and over a silence longer than LongestJoin.
func (r Reaction) Outlook(points []Point, year Year) (*Outlook, error) {
	for _, celsius := range []float64{year.Coldest(), year.Warmest()} {
		if err := checkTemperature("usual temperature of the store", celsius); err != nil {
			return nil, err
		}
	}
	o := &Outlook{}
	for _, p := range points {
		if err := checkTemperature("temperature", p.TemperatureC); err != nil {
			return nil, err
		}
		o.add(daysSince(p.At), p.TemperatureC)
	}
	for i, z := range []float64{-bandZ, 0, bandZ} {
		o.paces[i] = o.pace(r.curve(z), year)
	}
	return o, nil
}

func (o *Outlook) add(day, celsius float64) {
	n := len(o.knots)
	// A day and a second: a knot is rounded to a fraction of a second.
	o.silent = append(o.silent, n > 0 && day-o.knots[n-1] > LongestJoin.Hours()/24+1.0/secondsPerDay)
	o.knots, o.celsius = append(o.knots, day), append(o.celsius, celsius)
}

// pace adds up a log. Neighbouring readings mostly lie within one part of the curve and close
// together: then one exponential a reading is enough, as in Arrhenius.Exposure.
func (o *Outlook) pace(c curve, year Year) pace {
	p := pace{curve: c, year: year.sums(c), sums: make([]float64, len(o.knots))}
	var before jet
	var law Arrhenius
	for i, celsius := range o.celsius {
		here := c.part(celsius)
		now := here.jet(celsius)
		if i > 0 {
			step := celsius - o.celsius[i-1]
			if !o.silent[i] && here == law && math.Abs(step)*max(before.steep, now.steep) <= largestSpan {
				p.sums[i] = p.sums[i-1] + mean(before, now, step)*(o.knots[i]-o.knots[i-1])
			} else {
				p.sums[i] = p.sums[i-1] + o.line(&p, i, o.knots[i-1], o.knots[i])
			}
		}
		before, law = now, here
	}
	return p
}

// line is the exposure from a to b within the line that ends at knot i.
func (o *Outlook) line(p *pace, i int, a, b float64) float64 {
	if o.silent[i] {
		return p.year.until(b) - p.year.until(a)
	}
	at := func(day float64) float64 {
		return o.celsius[i-1] + (day-o.knots[i-1])/(o.knots[i]-o.knots[i-1])*(o.celsius[i]-o.celsius[i-1])
	}
	return p.curve.stretch(at(a), at(b), (b-a)*secondsPerDay)
}

// until is the exposure from the first knot to a day, below zero before it.
func (o *Outlook) until(p *pace, day float64) float64 {
	n := len(o.knots)
	switch {
	case n == 0:
		return p.year.until(day)
	case day <= o.knots[0]:
		return p.year.until(day) - p.year.until(o.knots[0])
	case day >= o.knots[n-1]:
		return p.sums[n-1] + p.year.until(day) - p.year.until(o.knots[n-1])
	}
	i := sort.SearchFloat64s(o.knots, day)
	return p.sums[i-1] + o.line(p, i, o.knots[i-1], day)
}

// Exposure returns the exposure of a honey of a pace from one instant to another: mg/kg of HMF
// formed, or the logarithm of the enzyme there was over what is left. To an earlier instant it is negative.
func (o *Outlook) Exposure(of Pace, from, to time.Time) float64 {
	p := &o.paces[of]
	return o.until(p, daysSince(to)) - o.until(p, daysSince(from))
}

// Band returns the exposures of a slow, a middle and a fast honey.
func (o *Outlook) Band(from, to time.Time) Band {
	return Band{o.Exposure(Slow, from, to), o.Exposure(Middling, from, to), o.Exposure(Fast, from, to)}
}

// Reaches returns when a honey of a pace has had an exposure of 0 or more, counted from an
// instant; false where it has not within a hundred years.
func (o *Outlook) Reaches(of Pace, from time.Time, exposure float64) (time.Time, bool) {
	if exposure <= 0 {
		return from, true // at once, and not a rounding of the sums later
	}
	p := &o.paces[of]
	start := daysSince(from)
	want := o.until(p, start) + exposure
	if o.until(p, start+longestYears*daysInYear) < want {
		return time.Time{}, false
	}
	day := max(o.dayOf(p, want), start)
	return from.Add(time.Duration((day - start) * float64(24*time.Hour))), true
}

// dayOf is the inverse of until.
func (o *Outlook) dayOf(p *pace, exposure float64) float64 {
	n := len(o.knots)
	switch {
	case n == 0:
		return p.year.when(exposure)
	case exposure <= 0:
		return p.year.when(exposure + p.year.until(o.knots[0]))
	case exposure >= p.sums[n-1]:
		return p.year.when(exposure - p.sums[n-1] + p.year.until(o.knots[n-1]))
	}
	i, _ := slices.BinarySearch(p.sums, exposure)
	low, high := o.knots[i-1], o.knots[i]
	for range 50 { // a line of a day to a billionth of a second
		middle := (low + high) / 2
		if p.sums[i-1]+o.line(p, i, o.knots[i-1], middle) < exposure {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}
