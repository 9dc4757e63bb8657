package chart

import (
	"math"
	"slices"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/domain/season"
)

// Yard is a yard with its position in degrees.
type Yard struct {
	season.YardLine
	Lat, Long float64
}

// DrawnG is the honey that its circle stands for: none where it is not known.
func (y Yard) DrawnG() int64 {
	if y.NotKnown {
		return 0
	}
	return y.HoneyG
}

// mostKnown is the most that one of the yards gave, as far as that is known.
func mostKnown(yards []Yard) (most int64) {
	for _, y := range yards {
		most = max(most, y.DrawnG())
	}
	return most
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
	mostMapHeight = 380
	// mapEdge is around the outermost circles.
	mapEdge     = 14
	smallestDot = 1.6
	// leastSpanKm keeps yards that stand close from being drawn far apart.
	leastSpanKm = 2
)

// projectionOf fits the yards into a drawing, off its edge by so much.
func projectionOf(yards []Yard, width, height, edge float64) projection {
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
	p.perKm = math.Min((width-2*edge)/wide, (height-2*edge)/high)
	return p
}

// YardMap draws yards where they lie, with circles for their honey.
func YardMap(form Form, f locale.Voice, yards []Yard) ([]byte, error) {
	height := min(1.15*form.Width, mostMapHeight)
	return drawn(form.Width, height, func(c draw.Canvas) {
		m := mapDrawing{Canvas: c, f: f, style: letters(form.TextSize), largest: form.circle}
		if len(yards) > 0 {
			m.project = projectionOf(yards, float64(form.Width), float64(height), float64(form.circle+mapEdge))
			m.circles(yards)
			m.scaleBar(float64(form.Width) / 3)
			m.north(form.Width)
			m.names(yards, form)
		}
	})
}

// mapDrawing is a map being drawn.
type mapDrawing struct {
	draw.Canvas
	f       locale.Voice
	style   text.Style
	project projection
	// largest is the radius of the circle of who gave most.
	largest vg.Length
	// taken is where something is written, and where the bar and the arrow are.
	taken []vg.Rectangle
	// middles and discs are where the middles of circles and whole circles stand, by yard.
	middles, discs []vg.Rectangle
}

// radius is such that areas are as the honey.
func (m *mapDrawing) radius(grams, most int64) vg.Length {
	if grams <= 0 || most <= 0 {
		return smallestDot
	}
	return max(smallestDot, m.largest*vg.Length(math.Sqrt(float64(grams)/float64(most))))
}

func (m *mapDrawing) circles(yards []Yard) {
	most := mostKnown(yards)
	for _, y := range yards {
		at, r := m.project.at(y.Lat, y.Long), m.radius(y.DrawnG(), most)
		inside := bandColour
		if y.DrawnG() <= 0 {
			inside = InkColour
		}
		disc(&m.Canvas, at, inside, r)
		m.SetLineStyle(draw.LineStyle{Color: BarColour, Width: 1.2})
		m.Stroke(circle(at, r))
		m.middles, m.discs = append(m.middles, boxAround(at, min(r, 5))), append(m.discs, boxAround(at, r))
	}
}

func boxAround(at vg.Point, r vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: at.X - r, Y: at.Y - r}, Max: vg.Point{X: at.X + r, Y: at.Y + r}}
}

// names writes each yard's name beside its circle where there is room; the
// yards with most honey come first. What has no room is in the table.
func (m *mapDrawing) names(yards []Yard, form Form) {
	most := mostKnown(yards)
	for i, y := range yards {
		name := form.Fit(y.Name)
		at, r := m.project.at(y.Lat, y.Long), m.radius(y.DrawnG(), most)
		for _, circles := range [][]vg.Rectangle{m.discs, m.middles} {
			// Off every other circle, or else on no circle's middle.
			if box, ok := m.spot(beside(at, r, m.style.Rectangle(name).Size()), circles, i); ok {
				m.write(box.Min, name)
				break
			}
		}
	}
}

// beside are the boxes of a size that a circle's name may stand in, the best first: within
// it, to its right and left, above and below it, and at its corners.
func beside(at vg.Point, r vg.Length, size vg.Point) (out []vg.Rectangle) {
	put := func(x, y vg.Length) {
		low := vg.Point{X: at.X + x, Y: at.Y + y}
		out = append(out, vg.Rectangle{Min: low, Max: low.Add(size)})
	}
	w, h, off, corner := size.X, size.Y, r+3, 0.7*r+2
	if w < 2*r-6 {
		put(-w/2, -h/2)
	}
	put(off, -h/2)
	put(-off-w, -h/2)
	put(-w/2, off)
	put(-w/2, -off-h)
	put(corner, corner)
	put(corner, -corner-h)
	put(-corner-w, corner)
	put(-corner-w, -corner-h)
	return out
}

// write writes in a box, where nothing else is to be written any more.
func (m *mapDrawing) write(low vg.Point, text string) {
	box := m.style.Rectangle(text)
	m.FillText(m.style, low.Sub(box.Min), text)
	m.take(low, low.Add(box.Size()))
}

func (m *mapDrawing) take(low, high vg.Point) {
	m.taken = append(m.taken, vg.Rectangle{Min: low, Max: high})
}

// spot is the first box that lies in the drawing, off what is taken and off each circle but
// a yard's own.
func (m *mapDrawing) spot(boxes, circles []vg.Rectangle, own int) (vg.Rectangle, bool) {
	for _, box := range boxes {
		meets := func(o vg.Rectangle) bool {
			return box.Min.X < o.Max.X && o.Min.X < box.Max.X && box.Min.Y < o.Max.Y && o.Min.Y < box.Max.Y
		}
		inside := box.Min.X >= 2 && box.Max.X <= m.Max.X-2 && box.Min.Y >= 2 && box.Max.Y <= m.Max.Y-2
		if inside && !slices.ContainsFunc(m.taken, meets) && !slices.ContainsFunc(circles[:own], meets) && !slices.ContainsFunc(circles[own+1:], meets) {
			return box, true
		}
	}
	return vg.Rectangle{}, false
}

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
	m.take(vg.Point{X: 8, Y: 8}, vg.Point{X: 8 + long, Y: 14})
	m.write(vg.Point{X: 14 + long, Y: 4}, m.f.Number(round, -2)+" "+unit)
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
	m.take(vg.Point{X: x - 4, Y: 8}, vg.Point{X: x + 4, Y: 35})
	n := m.f.Say("compass|N")
	m.write(vg.Point{X: x - m.style.Width(n)/2, Y: 36}, n)
}
