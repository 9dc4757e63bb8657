package browsertest

import (
	"context"
	_ "embed"
	"image/color"
	"strconv"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/db/dbtest"
)

// overflowing names the document and each thing that sticks out of the window,
// unless it is inside something that scrolls. What is folded away is unfolded for it: a
// browser does not lay out again what it does not show.
const overflowing = `(() => {
	const unfolded = new CSSStyleSheet()
	unfolded.replaceSync('details::details-content { content-visibility: visible !important }')
	document.adoptedStyleSheets.push(unfolded)
	const width = document.documentElement.clientWidth, out = []
	if (document.documentElement.scrollWidth > width) out.push('the page, ' + document.documentElement.scrollWidth + ' px')
	for (const e of document.querySelectorAll('main *, header *, footer *')) {
		if (e.parentElement.closest('.scroll, pre')) continue
		const right = e.getBoundingClientRect().right
		if (right > width + 0.5) out.push(e.outerHTML.slice(0, 120) + ', ' + right + ' px')
	}
	document.adoptedStyleSheets = document.adoptedStyleSheets.filter(s => s !== unfolded)
	return out.slice(0, 5)
})()`

// crowded names what is cut off or sticks out when somebody spaces text as WCAG
// 1.4.12 says: lines 1.5, paragraphs 2, letters 0.12 and words 0.16 times the size
// of the letters. A label keeps its size, as paper does.
const crowded = `(() => {
	const wide = new CSSStyleSheet()
	wide.replaceSync('* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important } p { margin-bottom: 2em !important }')
	document.adoptedStyleSheets.push(wide)
	const out = ` + overflowing + `
	for (const e of document.querySelectorAll('main *, header *, footer *')) {
		if (e.closest('.label, .unseen, .sr, svg, pre') || e.matches('input, select, textarea, .scroll, html')) continue
		if (![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim() !== '') || !e.checkVisibility({visibilityProperty: true})) continue
		const style = getComputedStyle(e)
		if (style.display === 'inline') continue
		const cut = o => o === 'hidden' || o === 'clip' || e.matches('button, .tile, .tab span')
		if (cut(style.overflowY) && e.scrollHeight > e.clientHeight + 2 || cut(style.overflowX) && e.scrollWidth > e.clientWidth + 2)
			out.push(e.outerHTML.slice(0, 120) + ', ' + [e.clientWidth, e.scrollWidth, e.clientHeight, e.scrollHeight].join(' '))
	}
	document.adoptedStyleSheets.pop()
	return out.slice(0, 5)
})()`

// Untold names what tells its state by colour alone. All that the style sheets
// colour to say something has words of its own, or a sign beside words; whatever is
// painted and empty is a picture and has a name.
const Untold = `(() => {` + Colours + `
	const out = [], say = (e, why) => out.push(why + ': ' + e.outerHTML.slice(0, 160))
	const shown = e => e.checkVisibility({visibilityProperty: true})
	const words = e => /\p{L}{2}|\d/u.test(e.innerText ?? '')
	for (const e of document.querySelectorAll('.told, .net, .said, .odd, .result, .waiting, .leaf-list li, .opinion .offer, .caution, [aria-current], .tab'))
		if (shown(e) && !words(e)) say(e, 'without words')
	for (const e of document.querySelectorAll('.sign, .told > [aria-hidden], svg')) {
		if (!shown(e) || e.closest('svg svg')) continue
		if (e.getAttribute('role') === 'img' && e.getAttribute('aria-label')) continue
		if (e.getAttribute('aria-hidden') !== 'true') say(e, 'a sign that is read out as it looks')
		else if (!words(e.closest('a, button, li, p, td, .standing, .said, .told') ?? e.parentElement) && !e.closest('tr')) say(e, 'a sign without words beside it')
	}
	for (const e of document.querySelectorAll('[aria-invalid="true"]')) {
		const why = (e.getAttribute('aria-describedby') ?? '').split(' ').map(id => document.getElementById(id)).filter(Boolean)
		if (shown(e) && !why.some(w => shown(w) && words(w))) say(e, 'wrong, and not said why')
	}
	for (const e of document.querySelectorAll('tr.changed')) if (!e.querySelector('del') || !e.querySelector('ins')) say(e, 'changed, and not said from what')
	for (const e of document.querySelectorAll('main *, header *, footer *')) {
		if (e.childElementCount > 0 || (e.textContent ?? '').trim() !== '' || e.closest('svg, .unseen, .sr') || e.matches('img, input, select, textarea, progress, source, script, hr') || !shown(e)) continue
		const box = e.getBoundingClientRect(), own = getComputedStyle(e).backgroundColor
		if (box.width > 2 && box.height > 2 && (channels(own)[3] ?? 1) > 0.02 && own !== ground(e.parentElement)) say(e, 'painted, and says nothing')
	}
	const aim = document.querySelector('main :target')
	if (aim?.matches('tr, li') && !['borderLeft', 'outline'].some(line => { const style = getComputedStyle(aim.cells?.[0] ?? aim); return style[line + 'Style'] !== 'none' && parseFloat(style[line + 'Width']) >= 3 }))
		say(aim, 'aimed at, and only coloured')
	return out.slice(0, 5)
})()`

// Colours are what scripts about contrast have in common: how light a colour is, what
// is behind a thing, and the contrast of two colours, as WCAG 2.2 reckons them.
const Colours = `
	const channels = c => c.match(/[\d.]+/g).map(Number)
	const light = c => { const [r, g, b] = channels(c).slice(0, 3).map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b }
	const ground = o => { for (; o; o = o.parentElement) { const c = getComputedStyle(o).backgroundColor; if ((channels(c)[3] ?? 1) > 0.5) return c } return getComputedStyle(document.documentElement).colorScheme.includes('dark') ? 'rgb(0, 0, 0)' : 'rgb(255, 255, 255)' }
	const contrast = (one, other) => { const [a, b] = [light(one), light(other)]; return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05) }
`

// Pale names text, also in fields, that is told from what is behind it by less than 7 to 1, large
// text by less than 4.5 to 1 (WCAG 1.4.6). What lets through what is behind it has the
// colour that comes of both.
const Pale = `(() => {` + Colours + `
	const out = []
	const opacity = e => e ? Number(getComputedStyle(e).opacity) * opacity(e.parentElement) : 1
	const seen = (e, colour, behind) => {
		const through = (channels(colour)[3] ?? 1) * opacity(e), under = channels(behind)
		return through >= 1 ? colour : 'rgb(' + channels(colour).slice(0, 3).map((v, i) => v * through + under[i] * (1 - through)) + ')'
	}
	for (const e of document.querySelectorAll('main *, header *, footer *')) {
		const field = e.matches('input:not([type=checkbox], [type=radio], [type=file], [type=hidden], [type=range]), select, textarea')
		if (e.disabled || e.closest('svg, .unseen, .sr') || !field && ![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim() !== '') || !e.checkVisibility({visibilityProperty: true})) continue
		const style = getComputedStyle(e), size = parseFloat(style.fontSize)
		const behind = ground(e), found = contrast(seen(e, style.color, behind), behind)
		if (found < (size >= 24 || size >= 18.66 && Number(style.fontWeight) >= 700 ? 4.5 : 7)) out.push(found.toFixed(2) + ' to 1: ' + e.outerHTML.slice(0, 120))
	}
	return out.slice(0, 5)
})()`

// moving names what moves on its own although the reader asked that nothing does.
const moving = `(() => {
	if (!matchMedia('(prefers-reduced-motion: reduce)').matches) return ['nobody asked for less motion']
	const out = document.getAnimations({subtree: true}).map(a => a.animationName ?? a.transitionProperty ?? String(a))
	for (const e of [document.documentElement, ...document.querySelectorAll('.scroll, pre')])
		if (getComputedStyle(e).scrollBehavior !== 'auto') out.push('scrolling of ' + e.outerHTML.slice(0, 60))
	for (const e of document.querySelectorAll('progress:indeterminate')) if (getComputedStyle(e).appearance !== 'none') out.push('a bar without end')
	return out
})()`

// small names what is too small for a finger in a glove, on the recording page:
// 48 px. Elsewhere axe-core holds targets to the 24 px of WCAG 2.5.8.
const small = `(() => {
	if (!document.getElementById('record')) return []
	return [...document.querySelectorAll('a[href], button, input, select, textarea, summary')].filter(e => e.checkVisibility({visibilityProperty: true}) && !e.matches('.skip')).map(e => {
		const box = (e.closest('label') ?? e).getBoundingClientRect()
		return box.width < 47.5 || box.height < 47.5 ? e.outerHTML.slice(0, 120) + ', ' + box.width + ' by ' + box.height + ' px' : ''
	}).filter(Boolean).slice(0, 5)
})()`

// broken names words of menus, headings, table heads and buttons that are broken within, as
// where a line is narrower than its word. A word of more letters than a phone's line has room for
// is somebody's own.
const broken = `(() => {
	const out = [], range = document.createRange()
	for (const e of document.querySelectorAll('nav a, h1, h2, h3, h4, th, caption, legend, button, summary, .act')) {
		if (e.closest('.unseen, .sr, .label') || !e.checkVisibility({visibilityProperty: true})) continue
		const texts = document.createTreeWalker(e, NodeFilter.SHOW_TEXT)
		for (let text; text = texts.nextNode();) {
			if (text.parentElement.closest('.unseen, .sr')) continue
			for (const word of text.data.matchAll(/[\p{L}\p{M}]{2,}/gu)) {
				const end = word.index + word[0].length
				if (word[0].length > 20 || text.data[word.index - 1] === '\u00ad' || text.data[end] === '\u00ad') continue // a hyphen may show there
				range.setStart(text, word.index)
				range.setEnd(text, end)
				const lines = new Set([...range.getClientRects()].filter(r => r.width > 0).map(r => Math.round(r.top)))
				if (lines.size > 1) out.push(word[0] + ' in ' + e.outerHTML.slice(0, 160))
			}
		}
	}
	return out.slice(0, 5)
})()`

// Media asks for what a reader can ask of pages: less motion always, so that tests
// need not wait for what glides, and more as given.
func (b *Browser) Media(features ...emulation.MediaFeature) {
	b.T.Helper()
	all := []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}
	for _, f := range features {
		all = append(all, &f)
	}
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: all})
		return err
	}))
}

// Complaints are what is wrong with the page that is open, by what was looked for. The
// rules of axe-core are about structure: they look at a page where something of it is
// made as nothing was that they looked at before.
func (b *Browser) Complaints() map[string][]string {
	b.T.Helper()
	out := Evaluated[map[string][]string](b, `({"wider than the window": `+overflowing+`, "cut off when text is spaced": `+crowded+`,
		"told by colour": `+Untold+`, "too pale for the sun": `+Pale+`, "moves": `+moving+`, "too small": `+small+`, "broken within a word": `+broken+`})`)
	if b.Anew = unlooked(Evaluated[[]int64](b, structure)); !b.Anew {
		return out
	}
	if !Evaluated[bool](b, `Boolean(self.axe)`) {
		b.Do(chromedp.Evaluate[chromedp.Void](`void (() => {` + axe + `})()`))
	}
	for rule, found := range Evaluated[map[string][]string](b, findByAxe) {
		out["axe-core: "+rule] = found
	}
	return out
}

// findByAxe gives what axe-core finds, by rule, without selectors, which nobody reads. Contrast
// is what Pale looks for on every page; axe-core takes long for it, and looks at it as well
// where the whole is tried. Its 7 to 1 takes in the 4.5 to 1 of WCAG AA.
var findByAxe = `axe.run(document, {preload: false, selectors: false, resultTypes: ['violations'],
	rules: {'color-contrast': {enabled: false}, 'color-contrast-enhanced': {enabled: ` + strconv.FormatBool(dbtest.Whole()) + `}, 'target-size': {enabled: true}}})
	.then(r => Object.fromEntries(r.violations.map(v => [v.id, v.nodes.slice(0, 5).map(n => n.html.slice(0, 160) + ': ' + n.failureSummary)])))`

// Drawn looks at the drawings on a page: their ink is told from what is behind it.
func (b *Browser) Drawn(name string) {
	b.T.Helper()
	box := Evaluated[[]float64](b, `(() => { const r = document.querySelector('img.chart, img.flow')?.getBoundingClientRect(); return r?.width ? [r.left + scrollX, r.top + scrollY, r.width, r.height] : [] })()`)
	if len(box) == 0 {
		return
	}
	image := b.pixels(page.Viewport{X: box[0], Y: box[1], Width: box[2], Height: box[3], Scale: 1})
	often := map[color.Color]int{}
	for y := image.Bounds().Min.Y; y < image.Bounds().Max.Y; y++ {
		for x := image.Bounds().Min.X; x < image.Bounds().Max.X; x++ {
			often[image.At(x, y)]++
		}
	}
	var sheet color.Color
	for c, n := range often {
		if sheet == nil || n > often[sheet] {
			sheet = c
		}
	}
	ink := 0
	for c, n := range often {
		if ContrastOf(c, sheet) >= 7 {
			ink += n
		}
	}
	if ink < 200 {
		b.T.Errorf("%s: only %d pixels of a drawing are told from what is behind them by 7 to 1", name, ink)
	}
}

// Size is a window that a page must fit: a laptop's, the same at 200 % zoom, a
// phone's.
type Size struct {
	Name          string
	Width, Height int64
}

var Sizes = []Size{{"laptop", 1280, 800}, {"zoomed", 640, 400}, {"phone", 320, 640}}

// LookAt gives the browser a size, and the way to look at a page in it: opened,
// complained about, and kept as a picture.
func (b *Browser) LookAt(s Size) func(name string, h *apitest.House, path string) {
	b.Resize(s.Width, s.Height)
	return func(name string, h *apitest.House, path string) {
		b.Open(b.At(h) + path)
		b.Complain(s.Name + " " + name)
		b.Picture(name+"-"+s.Name, s.Width, s.Height)
	}
}

// Look keeps a picture of the screen and complains about what is wrong with it.
func (b *Browser) Look(name string, sizes ...Size) {
	b.T.Helper()
	for _, s := range sizes {
		b.Resize(s.Width, s.Height)
		b.Complain(s.Name + " " + name)
		b.Picture("record-"+name+"-"+s.Name, s.Width, s.Height)
	}
	b.Resize(390, 780)
}

//go:embed axe-core/axe.min.js
var axe string
