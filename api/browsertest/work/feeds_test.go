package work_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// TestAnAddressWithItsKeyIsCopied makes a key and copies an address. The button says that it is copied only
// where the browser says so.
func TestAnAddressWithItsKeyIsCopied(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	browsertest.AtEach(t, browsertest.Origins(), browsertest.Start(t), func(t *testing.T, b *browsertest.Browser) {
		d := b.Device(t, "en-GB")
		d.Resize(1280, 800)
		d.SignIn(h)
		d.Open(d.At(h) + "/settings/feeds")
		d.Do(chromedp.SendKeys(chromedp.CSS("#key-name"), "the office\n"), chromedp.WaitVisible(chromedp.CSS(`.copied input[value*="/feeds/lots.csv?key=pullbookfeed_"]`)))
		d.Do(chromedp.Click(chromedp.CSS(`.copied:has(input[value*="/feeds/lots.csv"]) button`)))
		d.Until(`document.querySelector('.copied:has(input[value*="/feeds/lots.csv"]) [role=status]').textContent === "Copied"`)
	})
}
