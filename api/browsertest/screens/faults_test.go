package screens_test

import (
	"testing"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// What is looked for is found where it is.
func TestWhatIsWrongWithAPageIsFound(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	b := browsertest.Start(t)
	b.Resize(browsertest.Sizes[2].Width, browsertest.Sizes[2].Height)
	b.SignIn(h)
	for _, wrong := range []struct{ path, script, found string }{
		{"/", `main.insertAdjacentHTML('beforeend', '<p class="made">an endless line</p>'); made.style.width = '500px'`, "wider than the window"},
		{"/", `main.insertAdjacentHTML('beforeend', '<details><summary>More</summary><p class="made">folded away</p></details>'); made.style.width = '500px'`, "wider than the window"},
		{"/", `main.insertAdjacentHTML('beforeend', '<p class="made">two lines of a text that just fits</p>'); made.style.cssText = 'overflow: hidden; height: ' + made.clientHeight + 'px'`, "cut off when text is spaced"},
		{"/", `main.insertAdjacentHTML('beforeend', '<p>Lot <b class="made"></b></p>'); made.style.cssText = 'display: inline-block; width: 9px; height: 9px; background: red'`, "told by colour"},
		{"/", `main.insertAdjacentHTML('beforeend', '<p class="told bad made"></p>'); made.style.padding = '9px'`, "told by colour"},
		{"/", `main.insertAdjacentHTML('beforeend', '<svg class="made" width="20" height="20"><circle r="9"/></svg>')`, "told by colour"},
		{"/", `main.insertAdjacentHTML('beforeend', '<p class="made">sliding</p>'); made.animate({opacity: [0, 1]}, 60_000)`, "moves"},
		{"/", `document.documentElement.style.scrollBehavior = 'smooth'`, "moves"},
		{"/", `main.insertAdjacentHTML('beforeend', '<h2 class="made">Compradores</h2>'); made.style.cssText = 'width: 4em; overflow-wrap: anywhere'`, "broken within a word"},
		{"/record", `document.querySelector('.tile').style.cssText = 'min-height: 0; height: 40px'`, "too small"},
		{"/", `main.insertAdjacentHTML('beforeend', '<input class="made" aria-label="x" value="pale">'); made.style.color = '#5f6f78'`, "too pale for the sun"},
		{"/", `main.insertAdjacentHTML('beforeend', '<p class="made">pale</p>'); made.style.color = '#5f6f78'`, "too pale for the sun"},
		{"/", `main.insertAdjacentHTML('beforeend', '<div><p class="made">shines through</p></div>'); made.parentElement.style.opacity = '0.6'`, "too pale for the sun"},
		{"/", `main.insertAdjacentHTML('beforeend', '<p><button class="made">x</button><button>y</button></p>'); for (const e of made.parentElement.children) e.style.cssText = 'min-height: 0; height: 15px; width: 15px; padding: 0'`, "axe-core: target-size"},
		{"/", `main.insertAdjacentHTML('beforeend', '<input>')`, "axe-core: label"},
		{"/", `main.insertAdjacentHTML('beforeend', '<a href="/season"><span></span></a>')`, "axe-core: link-name"},
		{"/", `main.insertAdjacentHTML('beforeend', '<h6>deep down</h6>')`, "axe-core: heading-order"},
		{"/", `main.setAttribute('aria-describes', 'x')`, "axe-core: aria-valid-attr"},
		{"/", `main.insertAdjacentHTML('beforeend', '<nav aria-label="a"><a href="/">here</a></nav>'.repeat(2))`, "axe-core: landmark-unique"},
		{"/", `document.documentElement.lang = 'xx'`, "axe-core: html-lang-valid"},
	} {
		b.Open(b.At(h) + wrong.path)
		if wrong.path == "/record" {
			b.Until(`document.documentElement.dataset.ready === 'true'`)
		}
		before := b.Complaints()
		browsertest.Evaluated[bool](b, `(() => { const main = document.querySelector('main'); const self = globalThis; Object.defineProperty(self, 'made', {configurable: true, get: () => document.querySelector('.made')}); `+wrong.script+`; return true })()`)
		if after := b.Complaints(); len(before[wrong.found]) > 0 || len(after[wrong.found]) == 0 {
			t.Errorf("%s\nwas to be found as %s, beside %v: %v", wrong.script, wrong.found, before, after)
		}
	}
}
