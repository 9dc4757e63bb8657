package work_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// TestEverybodyGetsInAndOutByEveryName signs in, chooses a language and signs out with
// the pages' own forms.
func TestEverybodyGetsInAndOutByEveryName(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	browsertest.AtEach(t, apitest.AllOrigins, browsertest.Start(t), func(t *testing.T, b *browsertest.Browser) {
		d := b.Device(t, "en-GB")
		d.CutOff = false
		d.Resize(1280, 800)
		d.SignIn(h)
		d.Do(chromedp.Click(chromedp.CSS(`form[action="/language"] [lang="es"]`)), chromedp.WaitVisible(chromedp.CSS(`html[lang^="es"] .who button`)))
		if got := d.Text(".who button"); got != "Salir" {
			t.Errorf("after choosing Spanish the button reads %q", got)
		}
		d.Do(chromedp.Click(chromedp.CSS(".who button")), chromedp.WaitVisible(chromedp.CSS("#password")))
		if at := browsertest.Evaluated[string](d, "location.href"); at != d.At(h)+"/" {
			t.Errorf("signing out leads to %s", at)
		}
		d.Mu.Lock()
		defer d.Mu.Unlock()
		if len(d.Said) > 0 {
			t.Errorf("the browser said: %s", strings.Join(d.Said, "\n"))
		}
	})
}

// A device becomes a tablet of the shed, and whoever chooses a name and types its
// code is at it.
func TestATabletIsUnlockedInABrowser(t *testing.T) {
	t.Parallel()
	browsertest.AtEach(t, apitest.AllOrigins, browsertest.Start(t), func(t *testing.T, b *browsertest.Browser) {
		h := apitest.Open(t, apitest.MetricOutfit, nil)
		h.SignIn(t)
		d := b.Device(t, "en-GB")
		d.Resize(1280, 800)
		d.BecomeTablet(t, h)
		d.Open(d.At(h) + "/calculators")
		d.Do(chromedp.Click(chromedp.CSS(`.names label`)), chromedp.SendKeys(chromedp.CSS("#code"), "82640\n"), chromedp.WaitVisible(chromedp.CSS(`form[action="/lock"] button`)))
		d.Do(chromedp.Click(chromedp.CSS(`form[action="/lock"] button`)), chromedp.WaitVisible(chromedp.CSS("#code")))
	})
}

// What is typed into the form and sent is what is answered: the form works
// without script, by its address alone.
func TestAFormThatIsTypedIsAnswered(t *testing.T) {
	t.Parallel()
	h, _ := apitest.OpenWithTank(t, apitest.MetricOutfit)
	browsertest.AtEach(t, browsertest.Origins(), browsertest.Start(t), func(t *testing.T, b *browsertest.Browser) {
		d := b.Device(t, "en-GB")
		d.Resize(1280, 800)
		d.SignIn(h)
		d.Open(d.At(h) + "/calculators")
		d.Do(chromedp.SendKeys(chromedp.CSS("#moisture-reading"), "1.4935\n"), chromedp.WaitVisible(chromedp.CSS(".answer b")))
		if got := browsertest.Evaluated[string](d, `document.querySelector('.answer b').innerText + ' ' + location.hash`); got != "17.20 % #moisture" {
			t.Errorf("answered is %q", got)
		}
	})
}
