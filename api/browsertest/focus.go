package browsertest

import (
	"fmt"
	"strings"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// focusHere looks at what has the focus: where it stands in self.order, and what is
// wrong with how it shows. It is to be seen, in its whole height where the window has
// room for it, under nothing that stays while the page moves (WCAG 2.4.11), within a line
// of two pixels at least that is told from what is behind it by 3 to 1 (WCAG 2.4.7,
// 1.4.11). It is null where nothing has the focus.
const focusHere = `(() => {` + Colours + `
	const e = document.activeElement
	if (!e || e === document.body || !document.hasFocus()) return null
	const wrong = [], style = getComputedStyle(e)
	// A choice without a look of its own is seen by the words after it.
	const seen = style.opacity === '0' ? e.nextElementSibling : e
	if (!seen.checkVisibility({visibilityProperty: true, opacityProperty: true})) wrong.push('cannot be seen')
	const box = seen.getBoundingClientRect()
	const room = innerHeight - 2 * (parseFloat(getComputedStyle(document.documentElement).scrollPaddingTop) || 0)
	const inHeight = box.height > room ? Math.min(box.bottom, innerHeight) - Math.max(box.top, 0) > 8 : box.top > -1 && box.bottom < innerHeight + 1
	// Sideways a browser lets be what shows in part.
	const inWidth = Math.min(box.right, innerWidth) - Math.max(box.left, 0) > 0
	if (!inHeight || !inWidth) wrong.push('is out of the window, at ' + [box.left, box.top, box.right, box.bottom].map(Math.round))
	const stays = over => { for (let o = over; o && !o.contains(seen); o = o.parentElement) if (['fixed', 'sticky'].includes(getComputedStyle(o).position)) return o }
	let hit = 0
	for (const r of seen.getClientRects()) for (const [across, down] of [[0.5, 0.5], [0, 0], [1, 0], [0, 1], [1, 1]]) {
		const [left, top_, right, bottom] = [Math.max(r.left, 0) + 2, Math.max(r.top, 0) + 2, Math.min(r.right, innerWidth) - 2, Math.min(r.bottom, innerHeight) - 2]
		const x = left + across * (right - left), y = top_ + down * (bottom - top_)
		const top = document.elementFromPoint(x, y)
		if (!top) continue
		if (e.contains(top) || seen.contains(top) || top.contains(seen)) { hit++; continue }
		const over = stays(top)
		if (over) { wrong.push('is covered by ' + over.outerHTML.slice(0, 80)); break }
	}
	if (hit === 0 && box.width > 4) wrong.push('is covered')
	const line = getComputedStyle(seen)
	if (line.outlineStyle === 'none' || parseFloat(line.outlineWidth) < 2) wrong.push('does not show that it has the focus')
	else {
		const told = contrast(line.outlineColor, ground(seen.parentElement))
		if (told < 3) wrong.push('has a line around it of ' + told.toFixed(1) + ' to 1')
	}
	return {at: self.placeOf?.(e) ?? -1, parts: e.matches('[type=date], [type=datetime-local]'), what: e.outerHTML.replace(/\s+/g, ' ').slice(0, 100), wrong}
})()`

// Unfold shows all that is folded, and fold puts it back.
const (
	Unfold = `(self.unfolded = [...document.querySelectorAll('details:not([open])')]).map(d => d.open = true).length`
	Fold   = `self.unfolded.map(d => d.open = false).length`
)

// stops are all that Tab is to stop at, in the order of the page; of a group of
// radio buttons one.
const stops = `(() => {
	const one = r => { const group = [...document.querySelectorAll('input[type=radio]')].filter(o => o.name === r.name && o.form === r.form); return (group.find(o => o.checked) ?? group[0]) === r }
	self.order = [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex], [contenteditable]')].filter(e =>
		e.tabIndex >= 0 && !e.disabled && e.type !== 'hidden' && e.checkVisibility({visibilityProperty: true}) && (e.type !== 'radio' || one(e)))
	// Of a group of which nothing is chosen Tab comes to the first, and Shift and Tab to the last.
	self.placeOf = e => self.order.findIndex(o => o === e || o.type === 'radio' && e.type === 'radio' && o.name === e.name && o.form === e.form && !o.checked)
	self.stopped = []
	if (!self.stopping) addEventListener('keyup', event => event.key === 'Tab' && self.stopped.push(` + focusHere + `), true)
	self.stopping = true
	return self.order.length
})()`

// picturesStand is that all pictures in sight are the ones for this window, and are loaded: one that comes later moves
// what is below it.
const picturesStand = `[...document.images].filter(i => i.checkVisibility()).every(i => {
	const source = [...i.closest('picture')?.querySelectorAll('source') ?? []].find(s => !s.media || matchMedia(s.media).matches)
	return i.complete && (!i.closest('picture') || i.currentSrc === new URL(source ? source.srcset : i.getAttribute('src'), document.baseURI).href)
})`

// stop is a place where Tab stopped.
type stop struct {
	At    int
	Parts bool
	What  string
	Wrong []string
}

func (b *Browser) Press(keys string, with ...chromedp.Modifier) {
	b.T.Helper()
	b.Do(chromedp.KeyEvent(keys, chromedp.KeyModifiers(with...)))
}

// Walk goes through the page that is open by Tab, and on a page that is walked
// back by Shift and Tab: each thing that can be used is stopped at once, in the
// order of the page, shows that it is, and lets go.
func (b *Browser) Walk(name string, with ...chromedp.Modifier) {
	b.T.Helper()
	b.Until(picturesStand)
	n := Evaluated[int](b, stops)
	back := len(with) > 0
	begin, end := 0, n-1
	if back {
		begin, end = end, begin
	}
	// Where the page, or its address, has put the focus somewhere, the walk begins
	// once that has gone out. Some browsers go on at the other end at once.
	b.Press(kb.Tab, with...)
	if Evaluated[int](b, `self.placeOf(document.activeElement)`) != begin {
		if !b.out(end, with...) {
			b.T.Errorf("%s: Tab does not get out of the page", name)
			return
		}
		Evaluated[int](b, `(self.stopped = [`+focusHere+`].filter(Boolean)).length`)
	}
	if !b.out(end, with...) {
		b.T.Errorf("%s: Tab does not get out of the page", name)
		return
	}
	reached, last := map[int]bool{}, -1
	if back {
		last = n
	}
	for _, s := range Evaluated[[]*stop](b, `self.stopped`) {
		if s == nil {
			continue // it was the way out
		}
		for _, wrong := range s.Wrong {
			b.T.Errorf("%s: by Tab, %s %s", name, s.What, wrong)
		}
		switch ahead := s.At > last; {
		case s.At < 0:
			b.T.Errorf("%s: Tab stops at %s, which nobody uses", name, s.What)
		case s.At == last && s.Parts:
		case reached[s.At]:
			b.T.Errorf("%s: Tab stops at %s again", name, s.What)
		case ahead == back:
			b.T.Errorf("%s: Tab stops at %s out of order", name, s.What)
		}
		reached[s.At], last = true, s.At
	}
	for i := range n {
		if !reached[i] {
			b.T.Errorf("%s: Tab does not reach %s", name, Evaluated[string](b, fmt.Sprintf(`self.order[%d].outerHTML.replace(/\s+/g, ' ').slice(0, 100)`, i)))
		}
	}
}

// out goes on by Tab until the focus leaves the last stop, whose number is end, and reports
// whether it did.
func (b *Browser) out(end int, with ...chromedp.Modifier) bool {
	b.T.Helper()
	for range 40 { // a date has up to seven parts, and so takes some rounds
		at := Evaluated[int](b, `self.placeOf(document.activeElement)`)
		switch {
		case at == end:
			b.Press(kb.Tab, with...)
			// The browser takes the focus in its own time; what was looked at until
			// then was the last again.
			if Evaluated[bool](b, fmt.Sprintf(waitToLeave, end)) {
				return Evaluated[bool](b, fmt.Sprintf(`self.stopped.splice(self.stopped.findLastIndex((s, i) => s?.at === %d && self.stopped[i - 1]?.at !== %[1]d) + 1), true`, end))
			}
		case at < 0:
			b.Press(kb.Tab, with...)
		default:
			b.Press(strings.Repeat(kb.Tab, max(at-end, end-at)), with...)
		}
	}
	return false
}

// waitToLeave waits a while for the focus to leave the stop of a number.
const waitToLeave = `new Promise(done => {
	const until = performance.now() + 5000
	const look = () => !document.hasFocus() || self.placeOf(document.activeElement) !== %d ? done(true) : performance.now() > until ? done(false) : setTimeout(look, 5)
	look()
})`
