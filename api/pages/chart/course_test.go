package chart

import (
	"encoding/xml"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// onDay is a day so many days after the first of 2024.
func onDay(n int) ledger.Date {
	return ledger.Date(time.Date(2024, 1, 1+n, 0, 0, 0, 0, time.UTC).Format(time.DateOnly))
}

// someDays are days with honey, at most so many apart from the first.
func someDays(t *rapid.T, name string) (out []season.DayLine) {
	span := rapid.SampledFrom([]int{0, 3, 40, 400, 4000}).Draw(t, name+" span")
	on := rapid.SliceOfNDistinct(rapid.IntRange(0, span), 0, min(span+1, 50), rapid.ID[int]).Draw(t, name)
	slices.Sort(on)
	var sum int64
	for _, n := range on {
		grams := rapid.Int64Range(1, 90_000_000).Draw(t, name+" honey")
		sum += grams
		out = append(out, season.DayLine{On: onDay(n), HoneyG: grams, SumG: sum})
	}
	return out
}

func TestNoLabelOfASeasonsCourseMeetsAnotherOrLeavesIt(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(voices).Draw(t, "voice")
		r := &season.Report{Season: ledger.Season{Name: names(t)}, Before: &ledger.Season{Name: names(t)}, Course: season.Course{Days: someDays(t, "days"), Before: someDays(t, "before")}}
		for _, day := range r.Course.Days {
			low := rapid.Float64Range(12, 24).Draw(t, "driest")
			r.Course.Moisture = append(r.Course.Moisture, season.MoistureDay{On: day.On, LowPct: low, MeanPct: low + 0.2, HighPct: low + 0.5, Readings: 3})
		}
		limit := rapid.SampledFrom([]*float64{nil, new(18.6), new(20.0)}).Draw(t, "limit")
		for name, form := range forms {
			course, err := SeasonCourse(form, f, r)
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name+" course", course)
			moisture, err := SeasonMoisture(form, f, r.Course.Moisture, limit)
			if err != nil {
				t.Fatal(err)
			}
			written := standsClear(t, name+" moisture", moisture)
			if len(r.Course.Moisture) > 0 && len(written) < 3 {
				t.Errorf("%s moisture says only %v", name, written)
			}
		}
	})
}

// drawnPath is a line or shape of a drawing, in its own coordinates: up is more.
type drawnPath struct {
	style  string
	points [][2]float64
}

var pathPoint = regexp.MustCompile(`[ML](-?[\d.]+),(-?[\d.]+)`)

func paths(t *testing.T, svg []byte) (out []drawnPath) {
	t.Helper()
	var all struct {
		Paths []struct {
			D     string `xml:"d,attr"`
			Style string `xml:"style,attr"`
		} `xml:"g>path"`
	}
	if err := xml.Unmarshal(svg, &all); err != nil {
		t.Fatal(err)
	}
	for _, p := range all.Paths {
		one := drawnPath{style: p.Style}
		for _, m := range pathPoint.FindAllStringSubmatch(p.D, -1) {
			one.points = append(one.points, [2]float64{figure(t, m[1]), figure(t, m[2])})
		}
		out = append(out, one)
	}
	return out
}

// shapes are those of one style.
func shapes(all []drawnPath, style string) []drawnPath {
	return slices.DeleteFunc(slices.Clone(all), func(p drawnPath) bool { return !strings.Contains(p.style, style) })
}

const (
	ofBars   = "fill:#2B666D"
	ofDashes = "stroke-dasharray"
)

var inEnglish = locale.NewVoice(locale.English, "metric", time.UTC)

// On 1 August 100 kg came in, on 3 August 300: bars of one to three, two days apart, and
// steps to 100 and 400. Last season had 200 kg on 2 August, half of this one's.
func TestTheCourseIsDrawnToScale(t *testing.T) {
	t.Parallel()
	r := &season.Report{Season: ledger.Season{Name: "2026"}, Before: &ledger.Season{Name: "2025"}, Course: season.Course{
		Days:   []season.DayLine{{On: "2026-08-01", HoneyG: 100_000, SumG: 100_000}, {On: "2026-08-03", HoneyG: 300_000, SumG: 400_000}},
		Before: []season.DayLine{{On: "2026-08-02", HoneyG: 200_000, SumG: 200_000}}}}
	for name, form := range forms {
		svg, err := SeasonCourse(form, inEnglish, r)
		if err != nil {
			t.Fatal(err)
		}
		all := paths(t, svg)
		bars := shapes(all, ofBars)
		if len(bars) != 2 {
			t.Fatalf("%s: %d bars for two days", name, len(bars))
		}
		if ratio := bars[1].height() / bars[0].height(); math.Abs(ratio-3) > 0.01 {
			t.Errorf("%s: the bars are as 1 to %.3f, the days as 1 to 3", name, ratio)
		}
		before, now := shapes(all, ofDashes), shapes(all, "stroke-width:2")
		if len(before) < 2 || len(now) < 2 { // the last of each is in the legend
			t.Fatalf("%s: %d dashed lines and %d others", name, len(before), len(now))
		}
		if ratio := now[0].height() / before[0].height(); math.Abs(ratio-2) > 0.01 {
			t.Errorf("%s: the sums are as 1 to %.3f, the seasons as 1 to 2", name, ratio)
		}
		if now[0].points[0][0] != before[0].points[0][0] || now[0].right() >= before[0].right() {
			t.Errorf("%s: the season goes from %v to %.1f, the one before to %.1f", name, now[0].points[0], now[0].right(), before[0].right())
		}
	}
}

func (p drawnPath) height() float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, at := range p.points {
		low, high = min(low, at[1]), max(high, at[1])
	}
	return high - low
}

func (p drawnPath) right() float64 {
	out := math.Inf(-1)
	for _, at := range p.points {
		out = max(out, at[0])
	}
	return out
}

// The line of the limit stands where the scale has 18.6.
func TestTheLimitIsDrawnWhereTheScaleHasIt(t *testing.T) {
	t.Parallel()
	read := []season.MoistureDay{{On: "2026-08-01", LowPct: 16, MeanPct: 17, HighPct: 18, Readings: 2}, {On: "2026-08-05", LowPct: 17, MeanPct: 17, HighPct: 17, Readings: 1}}
	for name, form := range forms {
		svg, err := SeasonMoisture(form, inEnglish, read, new(18.6))
		if err != nil {
			t.Fatal(err)
		}
		limit := shapes(paths(t, svg), ofDashes)
		if len(limit) != 1 || limit[0].height() != 0 {
			t.Fatalf("%s: the limit is drawn as %v", name, limit)
		}
		spans := shapes(paths(t, svg), "stroke-width:1.4")
		// Of the upright lines the first is from 16 to 18, so two points are as long.
		perPoint := spans[0].height() / 2
		if at := (limit[0].points[0][1] - spans[0].top()) / perPoint; math.Abs(at-0.6) > 0.01 {
			t.Errorf("%s: the limit is %.3f over 18, not 0.6", name, at)
		}
		without, err := SeasonMoisture(form, inEnglish, read, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(shapes(paths(t, without), ofDashes)) != 0 {
			t.Errorf("%s: a limit is drawn where there is none", name)
		}
	}
}

func (p drawnPath) top() float64 {
	out := math.Inf(-1)
	for _, at := range p.points {
		out = max(out, at[1])
	}
	return out
}
