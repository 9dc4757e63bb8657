package pages

import (
	"encoding/xml"
	"strings"
	"testing"

	"pullbook/api/pages/chart"
)

// What no bar can show is told in words: a limit that nobody measured for, and one about what is seen.
func TestALimitIsToldInWordsAndDrawnWhereItIsAFigure(t *testing.T) {
	at := func(v float64) *float64 { return &v }
	groups := []chart.LimitGroup{{Name: "Northgate drums", Lines: []chart.LimitLine{
		{Answer: "moisture: meets", Figures: "16.7 ± 0.4, limit: at most 18.6 %", High: at(18.6), Has: &chart.Has{From: 16.7, To: 16.7, Off: 0.4}},
		{Answer: "diastase: fails", Figures: "between 5 and 6, limit: at least 8 Gothe scale", Low: at(8), Has: &chart.Has{From: 5, To: 6}},
		{Answer: "HMF: not measured", Figures: "–, limit: at most 40 mg/kg", High: at(40)},
		{Answer: "clarity: meets", Figures: "–, limit: clear"},
	}}, {Name: "no limits"}}
	for name, form := range map[string]chart.Form{"wide": chart.Wide, "narrow": chart.Narrow} {
		svg, err := chart.Limits(form, groups)
		if err != nil || xml.Unmarshal(svg, new(struct{})) != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, text := range []string{"Northgate drums", "moisture: meets", "at most 18.6", "diastase: fails", "HMF: not measured", "clarity: meets"} {
			if !strings.Contains(string(svg), text) {
				t.Errorf("%s: no %q", name, text)
			}
		}
		if strings.Contains(string(svg), "no limits") {
			t.Errorf("%s: a rule set without limits for the lot is named", name)
		}
	}
}

// Words that are too long for a phone are cut, and stay within the drawing.
func TestWordsOfLimitsStayWithinTheDrawing(t *testing.T) {
	line := chart.LimitLine{Answer: strings.Repeat("an own parameter of the outfit ", 8), Figures: strings.Repeat("9", 200)}
	svg, err := chart.Limits(chart.Narrow, []chart.LimitGroup{{Name: strings.Repeat("Upper Sedge Hollow ", 9), Lines: []chart.LimitLine{line}}})
	if err != nil || strings.Contains(string(svg), strings.Repeat("9", 60)) || strings.Count(string(svg), "…") != 3 {
		t.Errorf("%v: %s", err, svg)
	}
}
