package api_test

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// A device becomes a tablet of the shed, and whoever chooses a name and types its
// code is at it.
func TestATabletIsUnlockedInABrowser(t *testing.T) {
	t.Parallel()
	fromEverywhere(t, startBrowser(t), func(t *testing.T, b *browser) {
		h := pagesOf(t, metricOutfit, nil)
		h.signIn(t)
		d := b.device(t, "en-GB")
		d.resize(1280, 800)
		d.becomeTablet(t, h)
		d.open(d.at(h) + "/calculators")
		d.do(chromedp.Click(chromedp.CSS(`.names label`)), chromedp.SendKeys(chromedp.CSS("#code"), "82640\n"), chromedp.WaitVisible(chromedp.CSS(`form[action="/lock"] button`)))
		d.do(chromedp.Click(chromedp.CSS(`form[action="/lock"] button`)), chromedp.WaitVisible(chromedp.CSS("#code")))
	})
}
