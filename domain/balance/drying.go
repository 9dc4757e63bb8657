package balance

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// DryEnoughPct is the moisture at which a stack is dry enough unless another is
// asked for: the most that the first grade of one country takes (Canada No. 1,
// 17.8 percent, in domain/standard).
const DryEnoughPct = 17.8

// Common practice for drying in a hot room.
const (
	// quickestDrying is more points a day than a stack ordinarily loses; 0.3 to
	// 1.0 is a sensible default and 1 to 3 are claimed.
	quickestDrying = 3.0
	// sampleSD is how far frames of one layer differ, in points: the readings at
	// extraction of twelve supers spread from 16.3 to 17.3.
	sampleSD = 0.3
	// longestForecast is as far ahead as a straight line is worth anything:
	// drying slows as honey and air near their balance.
	longestForecast = 21 * 24 * time.Hour
)

// Layer is where in a stack readings were taken.
type Layer string

const (
	Top    Layer = "top"
	Bottom Layer = "bottom"
	// Elsewhere is readings that say neither top nor bottom.
	Elsewhere Layer = "elsewhere"
)

// Stack is the boxes of one pull as they dry.
type Stack struct {
	PullID ledger.ID
	Yard   string
	YardID ledger.ID
	In     time.Time
	// Out is when the last of them went into a run; the zero time while some
	// stand there.
	Out    time.Time
	Boxes  int
	Layers []LayerLine
	// HoneyKg is weighed or counted.
	HoneyKg float64
	// DryAt is when the wettest layer is dry enough, with the earliest and latest
	// that the slope's uncertainty leaves (one standard deviation); nil where it
	// cannot be told. A time that is past says since when.
	DryAt, Earliest, Latest *time.Time
	// WaterKg is the water that the readings say was lost, from first to last,
	// with its standard deviation; nil where no layer was read twice.
	WaterKg, WaterUncertaintyKg *float64
	Sentence                    message.Text
	Cautions                    []message.Text
}

// LayerLine is the readings of one layer.
type LayerLine struct {
	Layer    Layer
	Readings []LayerReading
	// Slope is in points a day, below zero where it dries; nil with one reading.
	Slope, SlopeUncertainty *float64
	// LastPct is the line's value at the last reading; the mean where there is no
	// line.
	LastPct, LastUncertaintyPct float64
	// fall is what the line fell by from the first reading to the last.
	fall, fallSD float64
	lastAt       time.Time
}

// LayerReading is one reading.
type LayerReading struct {
	EntryID     ledger.ID
	At          time.Time
	MoisturePct float64
	// sd is with the sample's part.
	sd float64
}

// stacks are the pulls that stood in a room, in order.
func (d *drying) stacks(room ledger.ID) []Stack {
	var out []Stack
	for _, p := range d.pulls {
		x := ledger.Named[ledger.Pull](d.book, p.id)
		if d.book.Root(x.RoomID) != room || !d.holds(p.at) {
			continue
		}
		s := Stack{PullID: p.id, YardID: p.yard, Yard: d.book.Name(p.yard), In: p.at, Boxes: p.boxes, HoneyKg: p.usualKg}
		if p.grossKg > p.tareKg {
			s.HoneyKg = p.grossKg - p.tareKg
		}
		if p.used >= p.boxes {
			s.Out = d.emptied[p.id]
		}
		s.Layers = d.layers(p.id)
		d.judge(&s)
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b Stack) int { return cmp.Or(a.In.Compare(b.In), bytes.Compare(a.PullID[:], b.PullID[:])) })
	return out
}

func (d *drying) layers(pull ledger.ID) []LayerLine {
	var out []LayerLine
	for _, layer := range []Layer{Top, Bottom, Elsewhere} {
		if r := d.readings[pull][layer]; len(r) > 0 {
			l := LayerLine{Layer: layer, Readings: r}
			l.fit()
			out = append(out, l)
		}
	}
	return out
}

// fit puts a straight line through the readings by weighted least squares.
func (l *LayerLine) fit() {
	var w, wt, wx float64
	first, last := l.Readings[0].At, l.Readings[len(l.Readings)-1].At
	l.lastAt = last
	days := func(r LayerReading) float64 { return r.At.Sub(first).Hours() / 24 }
	for _, r := range l.Readings {
		k := 1 / (r.sd * r.sd)
		w, wt, wx = w+k, wt+k*days(r), wx+k*r.MoisturePct
	}
	middle, mean := wt/w, wx/w
	l.LastPct, l.LastUncertaintyPct = mean, math.Sqrt(1/w)
	var wtt, wtx float64
	for _, r := range l.Readings {
		k, t := 1/(r.sd*r.sd), days(r)-middle
		wtt, wtx = wtt+k*t*t, wtx+k*t*r.MoisturePct
	}
	// Readings minutes apart are of one state: no slope can be had from them.
	span := last.Sub(first).Hours() / 24
	if span < 0.25 {
		return
	}
	slope, sd := wtx/wtt, 1/math.Sqrt(wtt)
	l.Slope, l.SlopeUncertainty = &slope, &sd
	l.fall, l.fallSD = -slope*span, sd*span
	since := span - middle
	l.LastPct += slope * since
	l.LastUncertaintyPct = math.Hypot(l.LastUncertaintyPct, sd*since)
}

// judge says when a stack is dry enough, and what is odd.
func (d *drying) judge(s *Stack) {
	if len(s.Layers) == 0 {
		s.Sentence = message.F("Nobody read the boxes of %s, so the book cannot say whether they dry.", s.Yard)
		return
	}
	s.water()
	if !s.has(Top) {
		s.Cautions = append(s.Cautions, message.F("No top of the stack was read; tops stay wet while lower boxes are fine."))
	}
	for _, l := range s.Layers {
		if l.Slope != nil && *l.Slope < -quickestDrying {
			s.Cautions = append(s.Cautions, message.F("The %s seems to lose %s points a day, which is more than boxes can: read it again.", l.Layer.Said(), message.Number{V: -*l.Slope, Places: 1}))
		}
		if l.Slope != nil && *l.Slope > 2**l.SlopeUncertainty {
			s.Cautions = append(s.Cautions, message.F("The %s gets wetter by %s points a day.", l.Layer.Said(), message.Number{V: *l.Slope, Places: 2}))
		}
	}
	s.Sentence = d.verdict(s, s.judged())
}

func (s *Stack) has(layer Layer) bool {
	return slices.ContainsFunc(s.Layers, func(l LayerLine) bool { return l.Layer == layer })
}

// judged are the layers that count: top and bottom where either was read, since
// a reading from anywhere may be of the driest frame.
func (s *Stack) judged() []LayerLine {
	if s.has(Top) || s.has(Bottom) {
		return slices.DeleteFunc(slices.Clone(s.Layers), func(l LayerLine) bool { return l.Layer == Elsewhere })
	}
	return s.Layers
}

func wettest(layers []LayerLine) LayerLine {
	return slices.MaxFunc(layers, func(a, b LayerLine) int { return cmp.Compare(a.LastPct, b.LastPct) })
}

// verdict says when the slowest layer is dry enough.
func (d *drying) verdict(s *Stack, layers []LayerLine) message.Text {
	target, wettest := d.target, wettest(layers)
	head, limit := s.stands(wettest), pct(target)
	last := latestOf(layers)
	if wettest.LastPct <= target {
		s.DryAt = &last
		return message.F("%s; dry enough for %s %%.", head, limit)
	}
	var dry, earliest, latest time.Time
	for _, l := range layers {
		if l.LastPct <= target {
			continue
		}
		if l.Slope == nil {
			return message.F("%s; read it once more on another day to see how fast it dries.", head)
		}
		slope, sd := message.Number{V: *l.Slope, Places: 2}, message.Number{V: *l.SlopeUncertainty, Places: 2}
		if *l.Slope < 0 && *l.Slope+*l.SlopeUncertainty >= 0 {
			return message.F("%s; the readings do not yet say whether it dries (%s ± %s points a day). Read it again in a day or two.", head, slope, sd)
		}
		if *l.Slope >= 0 {
			return message.F("%s; it does not dry, but takes up water (%s ± %s points a day).", head, slope, sd)
		}
		at := func(slope float64) time.Time {
			days := (l.LastPct - target) / -slope
			return l.lastAt.Add(time.Duration(min(days, 1000) * 24 * float64(time.Hour)))
		}
		dry = later(dry, at(*l.Slope))
		earliest = later(earliest, at(*l.Slope-*l.SlopeUncertainty))
		latest = later(latest, at(*l.Slope+*l.SlopeUncertainty))
	}
	slope := message.Number{V: *wettest.Slope, Places: 2}
	if dry.Sub(last) > longestForecast {
		return message.F("%s; at %s points a day it does not get to %s %% within three weeks.", head, slope, limit)
	}
	s.DryAt, s.Earliest, s.Latest = &dry, &earliest, &latest
	return message.F("%s, %s points a day: it gets to %s %% on %s (between %s and %s).", head, slope, limit, d.date(dry), d.date(earliest), d.date(latest))
}

// stands is how moist a layer was last.
func (s *Stack) stands(l LayerLine) message.Text {
	switch l.Layer {
	case Top:
		return message.F("The top of the stack of %s: %s %%", s.Yard, pct(l.LastPct))
	case Bottom:
		return message.F("The bottom of the stack of %s: %s %%", s.Yard, pct(l.LastPct))
	}
	return message.F("The stack of %s: %s %%", s.Yard, pct(l.LastPct))
}

// pct is a moisture as it is said.
func pct(v float64) message.Number { return message.Number{V: v, Places: 1} }

// Said is the layer in a sentence.
func (l Layer) Said() message.Text { return message.F("layer|" + string(l)) }

func latestOf(layers []LayerLine) time.Time {
	last := layers[0].lastAt
	for _, l := range layers {
		last = later(last, l.lastAt)
	}
	return last
}

// water is what the fall of the layers means in water: honey of w1 percent that
// comes to w2 loses (w1-w2)/(100-w2) of its mass, since its solids stay.
func (s *Stack) water() {
	var from, fall, variance float64
	n := 0.0
	for _, l := range s.judged() {
		if l.Slope == nil {
			continue
		}
		n++
		from += l.LastPct + l.fall
		fall += l.fall
		variance += l.fallSD * l.fallSD
	}
	if n == 0 {
		return
	}
	from, fall, sd := from/n, fall/n, math.Sqrt(variance)/n
	solids := 100 - (from - fall)
	kg, uncertainty := s.HoneyKg*fall/solids, s.HoneyKg*sd/solids
	s.WaterKg, s.WaterUncertaintyKg = &kg, &uncertainty
}
