package heat

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"pullbook/domain/honey"
	"pullbook/domain/message"
	"pullbook/domain/units"
)

// Temperatures that a history accepts. Honey is neither stored colder nor
// warmed hotter, so a figure outside is a faulty sensor or another unit.
const (
	ColdestC = -40.0
	HottestC = 100.0
)

// LongestJoin is the longest silence between two readings that is bridged by
// a straight line. A longer one is a gap and takes the store's usual
// temperature, because a line across a weekend would be an invention.
const LongestJoin = 24 * time.Hour

// Point is one reading of a temperature logger.
type Point struct {
	At           time.Time
	TemperatureC float64
}

// SetPoint says that a tank or store was kept at one temperature from From to
// To.
type SetPoint struct {
	From, To     time.Time
	TemperatureC float64
}

// Gap is a stretch without readings, filled with the store's usual
// temperature.
type Gap struct {
	From, To        time.Time
	FilledWithTempC float64
}

// FlagName names something odd about a history or about what rests on it.
type FlagName string

// The flags. None stops a calculation; each says what a reader must know.
const (
	FlagGap           FlagName = "gap"
	FlagDoubled       FlagName = "doubled-point"
	FlagFahrenheit    FlagName = "looks-like-fahrenheit"
	FlagSkippedRows   FlagName = "skipped-rows"
	FlagExtrapolated  FlagName = "outside-measured-range"
	FlagNothingLearnt FlagName = "nothing-learnt"
	FlagUnlikeHoney   FlagName = "unlike-any-honey"
	FlagBeyondStokes  FlagName = "beyond-stokes"
	FlagMeltedWax     FlagName = "wax-is-molten"
)

// Flag is a named remark in a sentence that a beekeeper can act on.
type Flag struct {
	Name   FlagName
	Detail string
}

// History is a piecewise linear curve of temperature over time. The zero
// History is empty; make one with FromPoints or FromSetPoints. It is immutable
// and safe to share.
type History struct {
	start   time.Time
	seconds []float64 // since start, never falling; two equal ones make a step
	celsius []float64
	usualC  *float64
	gaps    []Gap
	flags   []Flag
}

// FromPoints joins the readings of a logger to a history.
//
// The points must be in the order of time, at least two of them, each from
// ColdestC to HottestC. A reading repeated at the same instant with the same
// temperature is dropped and flagged; with another temperature it is an
// error. A silence longer than LongestJoin is filled with usualC, the store's
// usual temperature, and named in Gaps; without usualC (nil) it is an error.
func FromPoints(points []Point, usualC *float64) (History, error) {
	if len(points) < 2 {
		return History{}, message.Errorf("a temperature log needs at least two readings, this one has %s: use a set point with from and to instead", len(points))
	}
	spans := make([]SetPoint, 0, len(points))
	doubled := 0
	for i, p := range points {
		if i > 0 && p.At.Equal(points[i-1].At) && p.TemperatureC == points[i-1].TemperatureC {
			doubled++
			continue
		}
		spans = append(spans, SetPoint{From: p.At, To: p.At, TemperatureC: p.TemperatureC})
	}
	if len(spans) < 2 {
		return History{}, message.Errorf("a temperature log needs two readings at different times, this one repeats a single reading")
	}
	h, err := join("reading", spans, usualC, false)
	if err != nil {
		return History{}, err
	}
	if doubled > 0 {
		h.flags = append(h.flags, Flag{FlagDoubled, fmt.Sprintf("%d readings were in the log twice and are counted once", doubled)})
	}
	return h, nil
}

// FromSetPoints joins set points to a history: level while a set point lasts,
// a straight line to the next one up to LongestJoin, the store's usual
// temperature over a longer silence (an error when usualC is nil). Set points
// must be in the order of time, each with To after From, none overlapping;
// where one ends as the next begins the temperature steps.
func FromSetPoints(sets []SetPoint, usualC *float64) (History, error) {
	if len(sets) == 0 {
		return History{}, message.Errorf("there is no set point: send at least one temperature with from and to")
	}
	for i, s := range sets {
		if !s.To.After(s.From) {
			return History{}, message.Errorf("set point %s ends at %s, which is not after its start %s", i+1, message.Instant(s.To), message.Instant(s.From))
		}
	}
	return join("set point", sets, usualC, true)
}

func join(noun string, spans []SetPoint, usualC *float64, steps bool) (History, error) {
	if usualC != nil {
		if err := checkTemperature("usual temperature of the store", *usualC); err != nil {
			return History{}, err
		}
	}
	h := History{
		start:   spans[0].From,
		seconds: make([]float64, 0, len(spans)),
		celsius: make([]float64, 0, len(spans)),
		usualC:  usualC,
	}
	for i, s := range spans {
		if err := checkTemperature("temperature", s.TemperatureC); err != nil {
			return History{}, message.Errorf("%s %s at %s: %s", message.F("log|"+noun), i+1, message.Instant(s.From), err)
		}
		if i > 0 {
			if err := inOrder(noun, i, spans[i-1], s, steps); err != nil {
				return History{}, err
			}
			if s.From.Sub(spans[i-1].To) > LongestJoin {
				if err := h.fill(spans[i-1].To, s.From); err != nil {
					return History{}, err
				}
			}
		}
		h.add(s.From, s.TemperatureC)
		if s.To.After(s.From) {
			h.add(s.To, s.TemperatureC)
		}
	}
	if h.Hours() > longestYears*365*24 {
		return History{}, message.Errorf("the history runs from %s to %s: more than %s years, so one of the dates is wrong", message.Instant(h.start), message.Instant(spans[len(spans)-1].To), longestYears)
	}
	h.flagFahrenheit()
	return h, nil
}

// longestYears keeps a mistyped year from passing for a history.
const longestYears = 100

func inOrder(noun string, i int, before, s SetPoint, steps bool) error {
	said := message.F("log|" + noun)
	switch {
	case s.From.Before(before.To):
		return message.Errorf("%s %s (%s) comes before the end of %s %s (%s): send them in the order of time, oldest first, without overlap (a clock set back in autumn needs times with their offset)",
			said, i+1, message.Instant(s.From), said, i, message.Instant(before.To))
	case !steps && s.From.Equal(before.To):
		return message.Errorf("%s %s and %s %s are both of %s but differ (%s and %s): keep one", said, i, said, i+1, message.Instant(s.From), message.Celsius(before.TemperatureC), message.Celsius(s.TemperatureC))
	}
	return nil
}

func (h *History) add(at time.Time, celsius float64) {
	h.seconds = append(h.seconds, at.Sub(h.start).Seconds())
	h.celsius = append(h.celsius, celsius)
}

func (h *History) fill(from, to time.Time) error {
	if h.usualC == nil {
		return message.Errorf("no temperature is known from %s to %s (%s h): say the store's usual temperature, which will fill the gap", message.Instant(from), message.Instant(to), message.Number{V: to.Sub(from).Hours()})
	}
	h.add(from, *h.usualC)
	h.add(to, *h.usualC)
	h.gaps = append(h.gaps, Gap{From: from, To: to, FilledWithTempC: *h.usualC})
	h.flags = append(h.flags, Flag{FlagGap, fmt.Sprintf("no reading from %s to %s: the store's usual %.4g C is taken", stamp(from), stamp(to), *h.usualC)})
	return nil
}

// flagFahrenheit marks a log that stays between 59 and 100 for more than half
// a day: as Celsius that is a tank kept at pasteurising heat, as Fahrenheit an
// ordinary 15 to 38 C. Which one it is only a person can say.
func (h *History) flagFahrenheit() {
	if h.seconds[len(h.seconds)-1] < (12*time.Hour).Seconds() || slices.Min(h.celsius) < 59 {
		return
	}
	h.flags = append(h.flags, Flag{FlagFahrenheit, fmt.Sprintf("every temperature is between %.4g and %.4g for more than half a day: if these are Fahrenheit, send them as such (%.4g F is %.1f C)",
		slices.Min(h.celsius), slices.Max(h.celsius), h.celsius[0], units.Celsius(h.celsius[0]))})
}

func checkTemperature(quantity string, celsius float64) error {
	return checkTemperatureUpTo(quantity, celsius, ColdestC, HottestC)
}

func checkTemperatureUpTo(quantity string, celsius, low, high float64) error {
	if celsius >= low && celsius <= high {
		return nil
	}
	err := &honey.RangeError{Quantity: quantity, Unit: "C", Got: celsius, Min: low, Max: high}
	if asC := units.Celsius(celsius); celsius > high && asC <= high {
		err.Hint = honey.Hint{Format: "it looks like Fahrenheit: %s F is %s C", Figures: []any{celsius, strconv.FormatFloat(asC, 'f', 1, 64)}}
	}
	return err
}

func checkRange(quantity, unit string, got, low, high float64) error {
	if got >= low && got <= high {
		return nil
	}
	return &honey.RangeError{Quantity: quantity, Unit: unit, Got: got, Min: low, Max: high}
}

func stamp(t time.Time) string { return t.Format("2006-01-02 15:04:05 -0700") }

// Start returns the first instant of the history.
func (h History) Start() time.Time { return h.start }

// End returns the last instant of the history.
func (h History) End() time.Time {
	if len(h.seconds) == 0 {
		return h.start
	}
	return h.start.Add(duration(h.seconds[len(h.seconds)-1]))
}

// Hours returns the length of the history.
func (h History) Hours() float64 {
	if len(h.seconds) == 0 {
		return 0
	}
	return h.seconds[len(h.seconds)-1] / 3600
}

// Gaps returns the stretches that were filled with the usual temperature.
func (h History) Gaps() []Gap { return slices.Clone(h.gaps) }

// Flags returns what is odd about the history.
func (h History) Flags() []Flag { return slices.Clone(h.flags) }

// Extremes returns the lowest and the highest temperature of the curve.
func (h History) Extremes() (lowC, highC float64) {
	if len(h.celsius) == 0 {
		return math.NaN(), math.NaN()
	}
	return slices.Min(h.celsius), slices.Max(h.celsius)
}

// TemperatureC returns the temperature of the curve at an instant from Start
// to End; outside it the nearer end. At a step it is the later value.
func (h History) TemperatureC(at time.Time) float64 {
	if len(h.seconds) == 0 {
		return math.NaN()
	}
	return h.at(at.Sub(h.start).Seconds())
}

func (h History) at(second float64) float64 {
	i := h.after(second)
	switch i {
	case 0:
		return h.celsius[0]
	case len(h.seconds):
		return h.celsius[i-1]
	}
	return h.between(i, second)
}

// between interpolates on the line that ends at a knot. Rounding must neither
// pass its ends nor miss the knot, or resampling would shift a peak.
func (h History) between(knot int, second float64) float64 {
	from, to := h.celsius[knot-1], h.celsius[knot]
	if second == h.seconds[knot] {
		return to
	}
	part := (second - h.seconds[knot-1]) / (h.seconds[knot] - h.seconds[knot-1])
	return min(max(from+part*(to-from), min(from, to)), max(from, to))
}

// after returns the index of the first knot later than second.
func (h History) after(second float64) int {
	i, _ := slices.BinarySearchFunc(h.seconds, second, func(knot, s float64) int {
		if knot <= s {
			return -1
		}
		return 1
	})
	return i
}

// Between returns the history from one instant to another. Beyond the first
// or last reading the nearest one is held for up to LongestJoin; a longer
// stretch is a gap and takes the usual temperature, as inside.
func (h History) Between(from, to time.Time) (History, error) {
	if len(h.seconds) == 0 {
		return History{}, message.Errorf("the temperature history is empty")
	}
	if to.Before(from) {
		return History{}, message.Errorf("the stretch ends at %s, before its start %s", message.Instant(to), message.Instant(from))
	}
	part := History{start: from, usualC: h.usualC}
	part.flags = slices.DeleteFunc(slices.Clone(h.flags), func(f Flag) bool { return f.Name == FlagGap })
	for _, g := range h.gaps {
		if g.From.Before(to) && g.To.After(from) {
			part.gaps = append(part.gaps, Gap{latest(g.From, from), earliest(g.To, to), g.FilledWithTempC})
		}
	}
	for _, g := range part.gaps {
		part.flags = append(part.flags, Flag{FlagGap, fmt.Sprintf("no reading from %s to %s: the store's usual %.4g C is taken", stamp(g.From), stamp(g.To), g.FilledWithTempC)})
	}
	start, end := h.start, h.End()
	if err := part.outside(from, earliest(start, to), h.celsius[0]); err != nil {
		return History{}, err
	}
	part.copyInside(h, latest(from, start), earliest(to, end))
	if err := part.outside(latest(end, from), to, h.celsius[len(h.celsius)-1]); err != nil {
		return History{}, err
	}
	return part, nil
}

func (h *History) outside(from, to time.Time, nearestC float64) error {
	switch {
	case !to.After(from):
		return nil
	case to.Sub(from) > LongestJoin:
		return h.fill(from, to)
	}
	h.add(from, nearestC)
	h.add(to, nearestC)
	return nil
}

func (h *History) copyInside(whole History, from, to time.Time) {
	if to.Before(from) {
		return
	}
	first, last := from.Sub(whole.start).Seconds(), to.Sub(whole.start).Seconds()
	shift := whole.start.Sub(h.start).Seconds()
	i := whole.after(first)
	n := max(whole.after(last)-i, 0) + 2
	h.seconds = slices.Grow(h.seconds, n)
	h.celsius = slices.Grow(h.celsius, n)
	h.add(from, whole.at(first))
	for ; i < len(whole.seconds) && whole.seconds[i] < last; i++ {
		h.seconds = append(h.seconds, whole.seconds[i]+shift)
		h.celsius = append(h.celsius, whole.celsius[i])
	}
	h.add(to, whole.before(last))
}

// before returns the temperature just before an instant: at a step the
// earlier value, so that a stretch ending there does not end in the step.
func (h History) before(second float64) float64 {
	i, _ := slices.BinarySearch(h.seconds, second)
	if i == 0 || i == len(h.seconds) {
		return h.at(second)
	}
	return h.between(i, second)
}

func earliest(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func duration(seconds float64) time.Duration {
	return time.Duration(math.Round(seconds * float64(time.Second)))
}
