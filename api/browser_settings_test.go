package api_test

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// A device becomes a tablet of the shed, and whoever chooses a name and types its
// code is at it.
func TestATabletIsUnlockedInABrowser(t *testing.T) {
	t.Parallel()
	h := pagesOf(t, metricOutfit, nil)
	h.signIn(t)
	b := startBrowser(t)
	b.resize(1280, 800)
	b.becomeTablet(t, h)
	b.open(b.at(h) + "/calculators")
	b.do(chromedp.Click(chromedp.CSS(`.names label`)), chromedp.SendKeys(chromedp.CSS("#code"), "82640\n"), chromedp.WaitVisible(chromedp.CSS(`form[action="/lock"] button`)))
}
