package chart

import (
	"bytes"
	"cmp"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

// written is a text of a drawing with the box that it takes, by the chart's own measure.
type written struct {
	text string
	box  vg.Rectangle
}

func (w written) String() string {
	return fmt.Sprintf("%q at %.1f,%.1f to %.1f,%.1f", w.text, w.box.Min.X, w.box.Min.Y, w.box.Max.X, w.box.Max.Y)
}

// matrix turns a point of a drawing's group into one of the drawing.
type matrix [6]float64

func (m matrix) at(x, y float64) (float64, float64) {
	return m[0]*x + m[2]*y + m[4], m[1]*x + m[3]*y + m[5]
}

func (m matrix) times(n matrix) matrix {
	x, y := m.at(n[4], n[5])
	return matrix{m[0]*n[0] + m[2]*n[1], m[1]*n[0] + m[3]*n[1], m[0]*n[2] + m[2]*n[3], m[1]*n[2] + m[3]*n[3], x, y}
}

var (
	oneTransform = regexp.MustCompile(`(\w+)\(([^)]*)\)`)
	fontSize     = regexp.MustCompile(`font-size:([\d.]+)px`)
)

// transformed reads what the library writes of a group.
func transformed(text string) matrix {
	out := matrix{1, 0, 0, 1, 0, 0}
	for _, t := range oneTransform.FindAllStringSubmatch(text, -1) {
		var v [2]float64
		for i, figure := range strings.FieldsFunc(t[2], func(r rune) bool { return r == ',' || r == ' ' }) {
			v[i], _ = strconv.ParseFloat(figure, 64)
		}
		switch t[1] {
		case "scale":
			out = out.times(matrix{v[0], 0, 0, v[1], 0, 0})
		case "translate":
			out = out.times(matrix{1, 0, 0, 1, v[0], v[1]})
		case "rotate":
			sin, cos := math.Sincos(v[0] * math.Pi / 180)
			out = out.times(matrix{cos, sin, -sin, cos, 0, 0})
		default:
			panic("not known: " + t[0])
		}
	}
	return out
}

// texts are what is written on a drawing, and the drawing's own box.
func texts(t rapid.TB, svg []byte) (out []written, drawing vg.Rectangle) {
	t.Helper()
	decoder := xml.NewDecoder(bytes.NewReader(svg))
	stack := []matrix{{1, 0, 0, 1, 0, 0}}
	var open *xml.StartElement
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return out, drawing
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			copied := e.Copy()
			open = &copied
			if e.Name.Local == "svg" {
				fmt.Sscanf(attribute(e, "viewBox"), "0 0 %f %f", (*float64)(&drawing.Max.X), (*float64)(&drawing.Max.Y))
			}
			stack = append(stack, stack[len(stack)-1].times(transformed(attribute(e, "transform"))))
		case xml.EndElement:
			open, stack = nil, stack[:len(stack)-1]
		case xml.CharData:
			if open != nil && open.Name.Local == "text" {
				out = append(out, writtenAt(t, *open, string(e), stack[len(stack)-1]))
			}
		}
	}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func figure(t rapid.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return v
}

func writtenAt(t rapid.TB, e xml.StartElement, text string, m matrix) written {
	t.Helper()
	style := letters(vg.Length(figure(t, fontSize.FindStringSubmatch(attribute(e, "style"))[1])))
	x, y, extents := figure(t, attribute(e, "x")), figure(t, attribute(e, "y")), style.FontExtents()
	x1, y1 := m.at(x, y-float64(extents.Ascent))
	x2, y2 := m.at(x+float64(style.Width(text)), y+float64(extents.Descent))
	return written{text, vg.Rectangle{
		Min: vg.Point{X: vg.Length(min(x1, x2)), Y: vg.Length(min(y1, y2))}, Max: vg.Point{X: vg.Length(max(x1, x2)), Y: vg.Length(max(y1, y2))}}}
}

// standsClear fails where two texts of a drawing meet or one leaves it.
func standsClear(t rapid.TB, what string, svg []byte) []written {
	t.Helper()
	// The library writes figures to five digits.
	const slack = 0.05
	all, drawing := texts(t, svg)
	for i, a := range all {
		if a.box.Min.X < drawing.Min.X-slack || a.box.Min.Y < drawing.Min.Y-slack || a.box.Max.X > drawing.Max.X+slack || a.box.Max.Y > drawing.Max.Y+slack {
			t.Errorf("%s: %v leaves the drawing of %.0f by %.0f", what, a, drawing.Max.X, drawing.Max.Y)
		}
		for _, b := range all[:i] {
			if a.box.Min.X < b.box.Max.X-slack && b.box.Min.X < a.box.Max.X-slack && a.box.Min.Y < b.box.Max.Y-slack && b.box.Min.Y < a.box.Max.Y-slack {
				t.Errorf("%s: %v meets %v", what, a, b)
			}
		}
	}
	return all
}

// forms are those that drawings come in.
var forms = map[string]Form{"wide": Wide, "narrow": Narrow}

var voices = []locale.Voice{
	locale.NewVoice(locale.LanguageFor("en-GB"), "metric", time.UTC), locale.NewVoice(locale.LanguageFor("en-US"), "us", time.UTC),
	locale.NewVoice(locale.LanguageFor("es-MX"), "us", time.UTC), locale.NewVoice(locale.LanguageFor("es-AR"), "metric", time.UTC),
}

// names are made up of words, of which some are long and some have no space.
func names(t *rapid.T) string {
	words := rapid.SliceOfN(rapid.SampledFrom([]string{"Ox", "Mill", "Race", "Colmenar", "Quarter", "section", "Donaudampfschifffahrtsgesellschaftskapitaen",
		"beyond", "the", "old", "gravel", "pit", "de", "los", "Álamos", "WWWWWW", "№ 12", "蜂場", "i"}), 1, 9).Draw(t, "name")
	return strings.Join(words, " ")
}

func TestNoLabelOfTheMapMeetsAnotherOrLeavesIt(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(voices).Draw(t, "voice")
		spread := rapid.SampledFrom([]float64{0, 0.0005, 0.01, 0.3, 4}).Draw(t, "spread")
		yards := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Yard {
			return Yard{YardLine: season.YardLine{Name: names(t), Yield: season.Yield{HoneyG: rapid.Int64Range(0, 5_000_000).Draw(t, "honey")}},
				Lat: 49 + spread*rapid.Float64Range(-1, 1).Draw(t, "lat"), Long: -99 + spread*rapid.Float64Range(-1, 1).Draw(t, "long")}
		}), 1, 30).Draw(t, "yards")
		slices.SortFunc(yards, func(a, b Yard) int { return cmp.Compare(b.HoneyG, a.HoneyG) })
		for name, form := range forms {
			svg, err := YardMap(form, f, yards)
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name, svg)
		}
	})
}

func TestNoNameOfAYardIsCutOffBesideItsBar(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := &season.Report{}
		for range rapid.IntRange(0, 45).Draw(t, "yards") {
			r.Yards = append(r.Yards, season.YardLine{Name: names(t), Yield: season.Yield{HoneyG: rapid.Int64Range(0, 9_000_000_000).Draw(t, "honey")}})
		}
		for name, form := range forms {
			svg, err := BarsByYard(form, rapid.SampledFrom(voices).Draw(t, "voice"), r)
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name, svg)
		}
	})
}

func TestNoLabelOfTheWayOfHoneyMeetsAnotherOrLeavesIt(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(voices).Draw(t, "voice")
		d := &trace.Drawing{Name: "lot", Columns: rapid.IntRange(2, 7).Draw(t, "columns")}
		for c := range d.Columns {
			for range rapid.IntRange(1, 12).Draw(t, "places") {
				d.Nodes = append(d.Nodes, trace.Node{Name: "x", Said: message.Verbatim(names(t)), Column: c, Kind: ledger.PlaceTank})
			}
		}
		for from, a := range d.Nodes {
			for to, b := range d.Nodes {
				if b.Column == a.Column+1 && rapid.IntRange(0, 2).Draw(t, "flows") > 0 {
					grams := rapid.Int64Range(1, 2_000_000_000).Draw(t, "grams")
					d.Bands = append(d.Bands, trace.Band{From: from, To: to, Grams: grams})
					d.Nodes[from].Grams += grams
					d.Nodes[to].Grams += grams
				}
			}
		}
		svg, err := Flows(f, d)
		if err != nil {
			t.Fatal(err)
		}
		standsClear(t, "the way of honey", svg)
	})
}

// Yards with long names at the corners of the map have their names, cut to what fits; of
// twelve that stand close together, the one that gave most has.
func TestAYardWithRoomHasItsNameOnTheMap(t *testing.T) {
	t.Parallel()
	yard := func(name string, grams int64, lat, long float64) Yard {
		return Yard{YardLine: season.YardLine{Name: name, Yield: season.Yield{HoneyG: grams}}, Lat: lat, Long: long}
	}
	corners := []Yard{yard("Álamos de la quebrada del norte, junto al puente viejo", 900_000, 50, -100), yard("Bajo los eucaliptos", 400_000, 50, -98), yard("Cerro", 0, 49, -100), yard("Dique", 100_000, 49, -98)}
	var close []Yard
	for i := range 12 {
		close = append(close, yard(fmt.Sprintf("Colmenar del potrero %d", i+1), int64(1_200_000-100_000*i), 49+0.0001*float64(i%4), -99+0.0001*float64(i/4)))
	}
	for _, f := range voices {
		for name, form := range forms {
			svg, err := YardMap(form, f, corners)
			if err != nil {
				t.Fatal(err)
			}
			all := standsClear(t, name+" corners", svg)
			for _, y := range corners {
				if !slices.ContainsFunc(all, func(w written) bool { return w.text == form.Fit(y.Name) }) {
					t.Errorf("%s: %s is not named among %v", name, y.Name, all)
				}
			}
			if svg, err = YardMap(form, f, close); err != nil {
				t.Fatal(err)
			}
			if all = standsClear(t, name+" close", svg); !slices.ContainsFunc(all, func(w written) bool { return w.text == form.Fit(close[0].Name) }) {
				t.Errorf("%s: of twelve yards the first is not named among %v", name, all)
			}
			t.Logf("%s: %d of twelve are named", name, len(all)-2)
		}
	}
}
