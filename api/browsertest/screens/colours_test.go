package screens_test

import (
	"image/color"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// lost names what cannot be told any more in the colours that a page is shown in: the
// page that one is on, what was chosen, and shapes.
const lost = `(() => {` + browsertest.Colours + `
	const out = [], say = (e, why) => out.push(why + ': ' + e.outerHTML.slice(0, 120))
	const shown = e => e.checkVisibility({visibilityProperty: true})
	for (const list of document.querySelectorAll('nav ul')) {
		const line = a => contrast(getComputedStyle(a).borderBottomColor, ground(a.parentElement))
		const opaque = a => (channels(getComputedStyle(a).borderBottomColor)[3] ?? 1) > 0.5
		for (const a of list.querySelectorAll('a')) {
			if (!shown(a) || a.closest('.ranges')) continue
			const seen = opaque(a) && line(a) >= 3
			if (seen !== a.hasAttribute('aria-current')) say(a, a.hasAttribute('aria-current') ? 'not seen to be here' : 'seen as if it were here')
		}
	}
	for (const e of document.querySelectorAll('.tab')) {
		const words = e.querySelector('span'), style = getComputedStyle(words), chosen = e.querySelector('input').checked
		const sign = getComputedStyle(words.querySelector('b'), '::before').content.includes('✓')
		if (chosen && !(sign && parseFloat(style.borderTopWidth) >= 3 && contrast(style.borderTopColor, ground(words.parentElement)) >= 3)) say(e, 'not seen to be chosen')
		if (!chosen && sign) say(e, 'seen as if it were chosen')
	}
	for (const e of document.querySelectorAll('svg path, svg rect, svg circle')) {
		if (!shown(e)) continue
		const style = getComputedStyle(e)
		const told = ['stroke', 'fill'].some(part => style[part].startsWith('rgb') && Number(style[part + 'Opacity']) > 0.2 && contrast(style[part], ground(e.closest('svg').parentElement)) >= 3)
		if (!told) say(e, 'a shape that is not seen, ' + style.stroke + ' and ' + style.fill)
	}
	for (const e of document.querySelectorAll('input, select, textarea, main button')) {
		if (!shown(e) || getComputedStyle(e).opacity === '0' || e.matches('.unseen, [type=radio], [type=checkbox]')) continue
		const style = getComputedStyle(e)
		if (!e.disabled && parseFloat(style.borderTopWidth) > 0 && Math.max(contrast(style.borderTopColor, ground(e.parentElement)), contrast(style.backgroundColor, ground(e.parentElement))) < 3) say(e, 'no edge is seen')
	}
	return out.slice(0, 6)
})()`

// TestStateIsToldInTheColoursThatAReaderAsksFor looks at what is seen first, with more
// contrast, and with a reader's own few colours forced on it, light and dark.
func TestStateIsToldInTheColoursThatAReaderAsksFor(t *testing.T) {
	t.Parallel()
	b := browsertest.Start(t)
	entries, tank, yard, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	lot := h.Link(t, "/lots", "/lots/"+apitest.AnID)
	shed := apitest.NewShed().Open(t, "metric")
	looks := []struct {
		name     string
		features []emulation.MediaFeature
	}{
		{"as it is", nil},
		{"more contrast", []emulation.MediaFeature{{Name: "prefers-contrast", Value: "more"}}},
		{"forced, light", []emulation.MediaFeature{{Name: "forced-colors", Value: "active"}, {Name: "prefers-color-scheme", Value: "light"}}},
		{"forced, dark", []emulation.MediaFeature{{Name: "forced-colors", Value: "active"}, {Name: "prefers-color-scheme", Value: "dark"}}},
	}
	for _, v := range []visitor{
		{"manager", h, func(b *browsertest.Browser) { b.SignIn(h) }, append(browsertest.SetsOf("/", "/season", "/tanks", "/lots", "/findings", "/journal"),
			browsertest.Screen{Name: "tank", Path: "/tanks/" + tank.ID.String()}, browsertest.Screen{Name: "yard", Path: "/yards/" + yard.ID.String()}, browsertest.Screen{Name: "lot", Path: lot})},
		{"shed", shed, func(b *browsertest.Browser) { b.SignIn(shed) }, browsertest.RecordingScreens("reading", "transfer", "fill", "run")},
	} {
		t.Run(v.name, func(t *testing.T) {
			t.Parallel()
			d := b.Device(t, "en-GB")
			d.Resize(browsertest.Sizes[0].Width, browsertest.Sizes[0].Height)
			v.enter(d)
			for _, s := range v.screens {
				d.Show(v.h, s)
				for _, look := range looks {
					d.Media(look.features...)
					for what, found := range browsertest.Evaluated[map[string][]string](d, `({"told by colour": `+browsertest.Untold+`, "too pale": `+browsertest.Pale+`, "lost": `+lost+`})`) {
						for _, one := range found {
							t.Errorf("%s %s, %s: %s: %s", v.name, s.Name, look.name, what, one)
						}
					}
					d.Drawn(s.Name + ", " + look.name)
				}
				if dark := browsertest.Evaluated[string](d, `matchMedia('(forced-colors: active)').matches + ' ' + getComputedStyle(document.body).backgroundColor`); dark != "true rgb(0, 0, 0)" {
					t.Fatalf("no colours are forced: %s", dark)
				}
				d.Media()
			}
		})
	}
}

// What is written on drawings is as dark as what is written on pages.
func TestDrawingsAreWrittenInInk(t *testing.T) {
	t.Parallel()
	entries, tank, yard, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	lot := h.Link(t, "/lots", "/lots/"+apitest.AnID)
	sheet := color.RGBA{0xfd, 0xfd, 0xfb, 0xff} // --sheet of style.css
	for _, path := range []string{"/charts/season.svg", "/charts/course.svg", "/charts/moisture.svg", "/charts/yards.svg", "/yards/" + yard.ID.String() + "/seasons.svg", "/yards/" + yard.ID.String() + "/pulls.svg", "/tanks/" + tank.ID.String() + "/course.svg", "/recall/drawing.svg?of=" + strings.TrimPrefix(lot, "/lots/"), lot + "/limits.svg?form=narrow", "/tanks/day.svg",
		strings.Replace(apitest.AskHMF, "/calculators", "/charts/heat.svg", 1), "/plans/yards/drawing.svg", strings.Replace(apitest.AskDays, "days?", "days/drawing.svg?", 1)} {
		response, svg := h.Get(t, path)
		written := regexp.MustCompile(`<text[^>]*fill:#([0-9A-Fa-f]{6})`).FindAllStringSubmatch(svg, -1)
		if response.StatusCode != http.StatusOK || len(written) == 0 || len(written) != strings.Count(svg, "<text") {
			t.Errorf("%s answered %s, with %d texts of which the colour of %d is told", path, response.Status, strings.Count(svg, "<text"), len(written))
		}
		for _, m := range written {
			rgb, err := strconv.ParseUint(m[1], 16, 32)
			if err != nil {
				t.Fatal(err)
			}
			ink := color.RGBA{uint8(rgb >> 16), uint8(rgb >> 8), uint8(rgb), 0xff}
			if found := browsertest.ContrastOf(ink, sheet); found < 7 {
				t.Errorf("%s is written in #%s, told by %.1f to 1", path, m[1], found)
			}
		}
	}
}
