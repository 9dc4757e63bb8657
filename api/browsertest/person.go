package browsertest

import (
	"fmt"
	"strings"
	"time"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
)

// Stranger is somebody who never saw the pages, with a device in hand: knows words that are
// in sight, and nothing of what is inside.
type Stranger struct {
	*Browser
	h     *apitest.House
	began time.Time
	marks int
}

// Stranger gives the device to somebody who never saw it.
func (b *Browser) Stranger(h *apitest.House) *Stranger { return &Stranger{Browser: b, h: h} }

// Begins starts to count touches and time.
func (p *Stranger) Begins() { p.Touches, p.began = 0, time.Now() }

// Sees touches what can be touched and reads so, or begins so where nothing reads just so.
func (p *Stranger) Sees(words string) { p.T.Helper(); p.SeesUnder("", words) }

// SeesUnder is Sees for what stands under a heading.
func (p *Stranger) SeesUnder(heading, words string) {
	p.T.Helper()
	p.marks++
	p.Until(fmt.Sprintf(seen, words, p.marks, heading))
	p.Touch(fmt.Sprintf(`[data-seen="%d"]`, p.marks))
}

// seen marks the first thing to touch that is shown and whose words are these, under a
// heading if there is one. What words stand over a box for typing are about that box.
const seen = `(() => {
	const words = e => (e.getAttribute('aria-label') ?? e.innerText).split('\n').map(l => l.replace(/\s+/g, ' ').trim()).filter(Boolean)
	const shown = [...document.querySelectorAll('main a, main button, main label, main summary')].filter(e => e.checkVisibility() && !e.disabled && (%[3]q === '' || (e.closest('fieldset')?.querySelector('legend') ?? e.closest('section')?.querySelector('h2'))?.innerText.startsWith(%[3]q)))
	const found = shown.find(e => words(e).includes(%[1]q)) ?? shown.find(e => words(e).some(l => l.startsWith(%[1]q)))
	;(found?.control?.type === 'text' ? found.control : found)?.setAttribute('data-seen', '%[2]d')
	return Boolean(found)
})()`

// Types types figures on the pad that is in sight.
func (p *Stranger) Types(figure string) {
	p.T.Helper()
	for _, k := range strings.Split(figure, "") {
		if k == "." {
			k = "Decimal mark"
		}
		p.Sees(k)
	}
}

// Writes types words on the device's own keyboard.
func (p *Stranger) Writes(words string) { p.T.Helper(); p.Do(chromedp.KeyEvent(words)) }

// Reads fails unless the page says so within a while.
func (p *Stranger) Reads(words string) {
	p.T.Helper()
	p.Until(fmt.Sprintf(`document.querySelector('main').innerText.replaceAll('\u00a0', ' ').includes(%q)`, words))
}

// Saves touches the button that saves, and waits until the book has so many entries more.
func (p *Stranger) Saves(what string, entries int64) {
	p.T.Helper()
	before := p.h.Entries(p.T)
	p.Sees("Save")
	for until := time.Now().Add(20 * time.Second); p.h.Entries(p.T) < before+entries; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(until) {
			p.T.Fatalf("%s did not come into the book; the page reads\n%s", what, p.Text("main"))
		}
	}
	p.T.Logf("%-32s %2d touches, %4.1f s at the machine's own pace", what, p.Touches, time.Since(p.began).Seconds())
	// Whoever goes on looks first that nothing waits any more.
	p.Until(`!document.querySelector('main').innerText.match(/Kept on this device|[1-9]\d* entr\w+ waits? on this device/)`)
}
