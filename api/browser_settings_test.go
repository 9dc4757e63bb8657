package api_test

import (
	"net/http"
	"net/url"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pullbook/db"
	"pullbook/domain/invented"
	"pullbook/domain/ledger"
)

// The journal, an entry, its correction, the settings and the ways in fit every
// window, and axe-core finds nothing in either language.
func TestTheBookAndItsSettingsInABrowser(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	entries := invented.Outfit(invented.Options{Seed: 7, Location: loc, FirstYear: 2025, Seasons: 2, Outline: 1, Yards: 8, Supers: 300, Runs: 8, Import: true}).Entries
	h := pagesOf(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "us"}, entries)
	last := map[ledger.Kind]string{}
	for _, e := range entries {
		last[e.Kind] = e.ID.String()
	}
	bare := pagesOf(t, db.Outfit{Name: "New Hollow Honey", TimeZone: loc.String(), Units: "metric"}, nil)
	b := startBrowser(t)
	screens := []struct{ name, path string }{
		{"journal", "/journal?kind=calibration"}, {"entry", "/journal/" + last[ledger.KindReading]}, {"correct", "/journal/" + last[ledger.KindTank] + "/correct"},
		{"settings", "/settings"}, {"people", "/settings/people"}, {"account", "/account"}, {"new-rule-set", "/entries/new/rule_set"},
	}
	b.signIn(h)
	for _, size := range []size{sizes[0], sizes[2]} {
		look := b.lookAt(size)
		for _, s := range screens {
			look(s.name, h, s.path)
		}
	}
	b.speak(h, "es")
	look := b.lookAt(sizes[2])
	for _, s := range screens {
		look(s.name+"-es", h, s.path)
	}
	b.speak(h, "en")
	b.signOut(h)

	b.signIn(bare)
	for _, s := range []struct{ name, path string }{{"journal-bare", "/journal"}, {"settings-bare", "/settings"}} {
		look(s.name, bare, s.path)
	}
	bare.signIn(t)
	who, err := bare.operator.PersonCalled(t.Context(), bare.outfit, "Tamsin")
	if err != nil {
		t.Fatal(err)
	}
	bare.send(t, http.MethodPost, "/settings/people/"+who.ID.String(), url.Values{"do": {"code"}, "code": {"82640"}}, nil)
	b.open(bare.url + "/settings/people")
	b.do(chromedp.SendKeys(chromedp.CSS("#tablet-name"), "By the extractor\n"), chromedp.WaitVisible(chromedp.CSS("#code")))
	b.open(bare.url + "/calculators")
	b.mu.Lock()
	b.said = nil // that the page answered 401, which is what a locked tablet's is
	b.mu.Unlock()
	b.complain("locked tablet")
	b.picture(filepath.Join(screenshots, "locked-tablet-phone.png"), sizes[2].width, sizes[2].height)
	b.do(chromedp.Click(chromedp.CSS(`.names label`)), chromedp.SendKeys(chromedp.CSS("#code"), "82640\n"), chromedp.WaitVisible(chromedp.CSS(`form[action="/lock"] button`)))
}
