package work_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// Every page of the menu is one touch or two away on a phone, without scripts, and says where one
// is without a touch. What somebody does most is one touch away.
func TestEveryPageIsTwoTouchesAwayOnAPhone(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	crew := h.CrewMember(t, "Bracken")
	b := browsertest.Start(t)
	for _, who := range []struct {
		name, password string
		first          map[string][]string // what is in sight at once, by the width of the window
	}{
		{"Tamsin", h.Password, map[string][]string{"320": {"/", "/record"}, "640": {"/", "/record"}, "1280": {"/", "/record", "/season", "/tanks", "/lots", "/dispatches", "/findings"}}},
		{"Bracken", crew, map[string][]string{"320": {"/", "/record"}, "640": {"/", "/record"}, "1280": {"/", "/record", "/tanks", "/lots"}}},
	} {
		t.Run(who.name, func(t *testing.T) {
			d := b.Device(t, "es-MX")
			d.WithoutScripts()
			d.SignInAt(h.House, who.name, who.password)
			for _, width := range []int64{320, 640, 1280} {
				d.Resize(width, 640)
				d.Open(d.At(h.House) + "/")
				if first := browsertest.Evaluated[[]string](d, linksInSight); !slices.Equal(first, who.first[fmt.Sprint(width)]) {
					t.Errorf("at %d px these are one touch away: %q", width, first)
				}
				reachEveryPage(t, d, h, width)
			}
		})
	}
}

// linksInSight are the pages that one touch leads to.
const linksInSight = `[...document.querySelectorAll('header nav a')].filter(a => a.checkVisibility({contentVisibilityAuto: true})).map(a => a.getAttribute('href'))`

func reachEveryPage(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse, width int64) {
	t.Helper()
	all := browsertest.Evaluated[[]string](d, `[...document.querySelectorAll('.menu nav a')].map(a => a.getAttribute('href'))`)
	if len(all) < 13 {
		t.Fatalf("the menu has %q", all)
	}
	for _, page := range all {
		d.Patience()
		d.Open(d.At(h.House) + "/account")
		d.Do(chromedp.Click(chromedp.CSS(".menu summary")))
		d.Until(`document.querySelector('.menu').open`)
		browsertest.Evaluated[bool](d, `self.pageBefore = true`)
		d.Do(chromedp.Click(chromedp.CSS(fmt.Sprintf(".menu nav a[href=%q]", page))))
		d.Until(`self.pageBefore === undefined && document.readyState === 'complete'`)
		if at := browsertest.Evaluated[string](d, `location.pathname`); at != page {
			t.Fatalf("two touches lead to %s, not to %s", at, page)
		}
		here := browsertest.Evaluated[[]string](d, `[...document.querySelectorAll('header [aria-current], .menu summary .note')].filter(e => e.checkVisibility({contentVisibilityAuto: true})).map(e => e.textContent)`)
		name := browsertest.Evaluated[string](d, `document.querySelector('.menu nav [aria-current]').textContent`)
		if len(here) != 1 || here[0] != name {
			t.Errorf("at %d px %s says that one is at %q, not at %q", width, page, here, name)
		}
	}
}
