package chart

import (
	"math"
	"slices"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// Yard is a yard with its position in degrees.
type Yard struct {
	season.YardLine
	Lat, Long float64
}

// kmPerDegree is of latitude: the meridian of a sphere of 6371.0088 km, the mean
// radius of the earth (IUGG).
const kmPerDegree = 6371.0088 * math.Pi / 180

// projection is equirectangular: at the size of an outfit's country a degree is
// as long everywhere as in its middle.
type projection struct {
	midLat, midLong  float64
	perKm            float64
	centreX, centreY float64
}

func (p projection) at(lat, long float64) vg.Point {
	return vg.Point{
		X: vg.Length(p.centreX + p.perKm*eastKm(p.midLat, p.midLong, long)),
		Y: vg.Length(p.centreY + p.perKm*kmPerDegree*(lat-p.midLat)),
	}
}

// eastKm is how far east of a meridian another is, the shorter way round.
func eastKm(lat, from, to float64) float64 {
	return math.Remainder(to-from, 360) * kmPerDegree * math.Cos(lat*math.Pi/180)
}

// Sizes of the map, in points.
const (
	mapHeight     = 380
	mapEdge       = 40
	largestCircle = 26
	smallestDot   = 1.6
	// leastSpanKm keeps yards that stand close from being drawn far apart.
	leastSpanKm = 2
)

// projectionOf fits the yards into a drawing.
func projectionOf(yards []Yard, width, height float64) projection {
	south, north := math.Inf(1), math.Inf(-1)
	for _, y := range yards {
		south, north = math.Min(south, y.Lat), math.Max(north, y.Lat)
	}
	p := projection{midLat: (south + north) / 2, centreX: width / 2, centreY: height / 2}
	first := yards[0].Long
	west, east := math.Inf(1), math.Inf(-1)
	for _, y := range yards {
		off := math.Remainder(y.Long-first, 360)
		west, east = math.Min(west, off), math.Max(east, off)
	}
	p.midLong = first + (west+east)/2
	wide := math.Max((east-west)*kmPerDegree*math.Cos(p.midLat*math.Pi/180), leastSpanKm)
	high := math.Max((north-south)*kmPerDegree, leastSpanKm)
	p.perKm = math.Min((width-2*mapEdge)/wide, (height-2*mapEdge)/high)
	return p
}

// YardMap draws yards where they lie, with circles for their honey.
func YardMap(form Form, f locale.Voice, yards []Yard) ([]byte, error) {
	return drawn(form.Width, mapHeight, func(c draw.Canvas) {
		m := mapDrawing{Canvas: c, f: f, style: letters(form.TextSize)}
		if len(yards) > 0 {
			m.project = projectionOf(yards, float64(form.Width), mapHeight)
			m.circles(yards)
			m.names(yards, form.NameRunes)
			m.scaleBar(float64(form.Width) / 3)
			m.north(form.Width)
		}
	})
}

// mapDrawing is a map being drawn.
type mapDrawing struct {
	draw.Canvas
	f       locale.Voice
	style   text.Style
	project projection
	// taken is where names and the middles of circles stand, discs where whole
	// circles do.
	taken, discs []vg.Rectangle
}

// radius is such that areas are as the honey.
func radius(grams, most int64) vg.Length {
	if grams <= 0 || most <= 0 {
		return smallestDot
	}
	return vg.Length(math.Max(smallestDot, largestCircle*math.Sqrt(float64(grams)/float64(most))))
}

func (m *mapDrawing) circles(yards []Yard) {
	most := yards[0].HoneyG
	for _, y := range yards {
		at, r := m.project.at(y.Lat, y.Long), radius(y.HoneyG, most)
		var path vg.Path
		path.Move(vg.Point{X: at.X + r, Y: at.Y})
		path.Arc(at, r, 0, 2*math.Pi)
		path.Close()
		m.SetColor(bandColour)
		if y.HoneyG <= 0 {
			m.SetColor(InkColour)
		}
		m.Fill(path)
		m.SetLineStyle(draw.LineStyle{Color: BarColour, Width: 1.2})
		m.Stroke(path)
		m.taken = append(m.taken, boxAround(at, min(r, 5)))
		m.discs = append(m.discs, boxAround(at, r))
	}
}

func boxAround(at vg.Point, r vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: at.X - r, Y: at.Y - r}, Max: vg.Point{X: at.X + r, Y: at.Y + r}}
}

// names writes each yard's name beside its circle where there is room; the
// yards with most honey come first. What has no room is in the table.
func (m *mapDrawing) names(yards []Yard, runes int) {
	most := yards[0].HoneyG
	for _, y := range yards {
		name := message.Shortened(y.Name, min(runes, 22))
		at, r := m.project.at(y.Lat, y.Long), radius(y.HoneyG, most)
		w, h := m.style.Width(name), m.style.Height(name)
		spots := []vg.Point{
			{X: at.X + r + 3, Y: at.Y - h/2}, {X: at.X - r - 3 - w, Y: at.Y - h/2},
			{X: at.X - w/2, Y: at.Y + r + 3}, {X: at.X - w/2, Y: at.Y - r - 3 - h},
		}
		if w < 2*r-6 {
			spots = append([]vg.Point{{X: at.X - w/2, Y: at.Y - h/2}}, spots...)
		}
		if corner, ok := m.spot(spots, w, h, at); ok {
			m.FillText(m.style, corner, name)
			m.taken = append(m.taken, vg.Rectangle{Min: corner, Max: vg.Point{X: corner.X + w, Y: corner.Y + h}})
		}
	}
}

// spot is the first place for a name that is off every other circle, or else the
// first that is on no other name and no circle's middle.
func (m *mapDrawing) spot(spots []vg.Point, w, h vg.Length, own vg.Point) (vg.Point, bool) {
	for _, off := range [][]vg.Rectangle{append(slices.Clone(m.taken), m.discs...), m.taken} {
		for _, corner := range spots {
			if m.free(vg.Rectangle{Min: corner, Max: vg.Point{X: corner.X + w, Y: corner.Y + h}}, own, off) {
				return corner, true
			}
		}
	}
	return vg.Point{}, false
}

// free reports whether a box lies in the drawing and off what is taken, its own
// yard's circle apart.
func (m *mapDrawing) free(box vg.Rectangle, own vg.Point, taken []vg.Rectangle) bool {
	if box.Min.X < 2 || box.Max.X > m.Max.X-2 || box.Min.Y < 22 || box.Max.Y > m.Max.Y-2 {
		return false
	}
	return !slices.ContainsFunc(taken, func(o vg.Rectangle) bool {
		mine := near(o.Min.X+o.Max.X, 2*own.X) && near(o.Min.Y+o.Max.Y, 2*own.Y)
		return !mine && box.Min.X < o.Max.X && o.Min.X < box.Max.X && box.Min.Y < o.Max.Y && o.Min.Y < box.Max.Y
	})
}

func near(a, b vg.Length) bool { return math.Abs(float64(a-b)) < 1e-6 }

// kmPerMile is exact: international yard and pound agreement of 1959.
const kmPerMile = 1.609344

// scaleBar draws a round length, at most so many points long.
func (m *mapDrawing) scaleBar(longest float64) {
	unit, km := "km", 1.0
	if m.f.US() {
		unit, km = "mi", kmPerMile
	}
	round := roundBelow(longest / (m.project.perKm * km))
	long := vg.Length(round * km * m.project.perKm)
	line := draw.LineStyle{Color: InkColour, Width: 1.2}
	m.StrokeLines(line, []vg.Point{{X: 8, Y: 14}, {X: 8, Y: 8}, {X: 8 + long, Y: 8}, {X: 8 + long, Y: 14}})
	m.FillText(m.style, vg.Point{X: 14 + long, Y: 6}, m.f.Number(round, -2)+" "+unit)
}

// roundBelow is the largest of 1, 2 and 5 times a power of ten up to v.
func roundBelow(v float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, n := range []float64{5, 2} {
		if n*power <= v {
			return n * power
		}
	}
	return power
}

// north is an arrow: up is north.
func (m *mapDrawing) north(width vg.Length) {
	x := width - 16
	m.StrokeLines(draw.LineStyle{Color: InkColour, Width: 1.2},
		[]vg.Point{{X: x, Y: 8}, {X: x, Y: 34}}, []vg.Point{{X: x - 4, Y: 27}, {X: x, Y: 35}, {X: x + 4, Y: 27}})
	n := m.f.Say("compass|N")
	m.FillText(m.style, vg.Point{X: x - m.style.Width(n)/2, Y: 38}, n)
}
