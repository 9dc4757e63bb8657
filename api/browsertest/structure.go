package browsertest

import "sync"

// structure gives what the page that is open is made of, as numbers: one for each sort of
// element that is shown, by what it is and what it stands in, and one for each of the
// page's headings and landmarks in their order. What is written, figures and addresses
// count only as there or not there. What decides whether a finger hits a thing counts too:
// whether it is smaller than 24 px, and whether another stands that close to it.
// Pages with the same numbers are the same to a rule about structure.
const structure = `(() => {
	const mix = (h, text) => { for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193) >>> 0; return h }
	const both = (h, text) => [mix(h[0], text), mix(h[1], '~' + text)]
	const number = h => h[0] * 0x100000 + (h[1] & 0xfffff)
	const often = new Map()
	for (const e of document.querySelectorAll('[id]')) often.set(e.id, (often.get(e.id) ?? 0) + 1)
	const names = new Map(), landmark = e => e.matches('main, header, footer, nav, aside, form, section, [role]') && !e.closest('svg')
	const named = e => e.tagName + (e.getAttribute('role') ?? '') + (e.getAttribute('aria-label') ?? document.getElementById(e.getAttribute('aria-labelledby'))?.textContent ?? '')
	for (const e of document.querySelectorAll('*')) if (landmark(e)) names.set(named(e), (names.get(named(e)) ?? 0) + 1)
	const targets = [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex], [role]')].filter(e => e.checkVisibility({visibilityProperty: true})).map(e => [e, e.getBoundingClientRect()])
	const little = new Map()
	for (const [e, r] of targets) if (r.width < 24 || r.height < 24)
		little.set(e, targets.some(([o, s]) => o !== e && !e.contains(o) && !o.contains(e) && Math.hypot(Math.max(s.left - r.right, r.left - s.right, 0), Math.max(s.top - r.bottom, r.top - s.bottom, 0)) < 24) ? 'close' : 'alone')
	const refers = ['for', 'aria-labelledby', 'aria-describedby', 'aria-controls', 'aria-owns', 'aria-activedescendant', 'aria-errormessage', 'aria-details', 'headers', 'list', 'form']
	const asItIs = new Set(['class', 'role', 'type', 'style', 'tabindex', 'scope', 'colspan', 'rowspan', 'lang', 'dir', 'hidden', 'disabled', 'readonly', 'required', 'multiple', 'autocomplete', 'inputmode', 'contenteditable', 'target', 'rel', 'http-equiv', 'name'])
	const said = (e, a) => {
		const v = a.value
		if (a.name === 'id') return 'id' + (often.get(v) > 1 ? 'again' : '')
		if (refers.includes(a.name)) return a.name + v.split(/\s+/).map(id => { const o = document.getElementById(id); return o ? o.tagName + Boolean(o.textContent.trim()) : '?' })
		if (a.name === 'lang') return 'lang' + (/^(en|es)(-[A-Z]{2})?$/.test(v) ? 'known' : v)
		if (a.name === 'content') return 'content' + (e.name === 'viewport' ? v : Boolean(v))
		if (a.name === 'name') return 'name' + (e.matches('meta') ? v : Boolean(v))
		if (a.name === 'href') return 'href' + (v.startsWith('#') ? 'here' + Boolean(document.getElementById(v.slice(1))) : Boolean(v))
		if (a.name === 'autocomplete' || a.name.startsWith('aria-') && !['aria-label', 'aria-valuenow', 'aria-valuetext', 'aria-valuemin', 'aria-valuemax', 'aria-roledescription', 'aria-placeholder', 'aria-posinset', 'aria-setsize', 'aria-rowindex', 'aria-rowcount'].includes(a.name) || asItIs.has(a.name)) return a.name + v
		return a.name + Boolean(v.trim())
	}
	const all = new Set()
	const page = []
	const walk = (e, above) => {
		if (!e.matches('html, head, head *') && !e.checkVisibility({visibilityProperty: true}) && !e.matches('.sr, .unseen')) {
			if (getComputedStyle(e).display === 'none') return
		}
		let h = both(above, e.tagName)
		for (const a of [...e.attributes].sort((a, b) => a.name < b.name ? -1 : 1)) if (!(e.closest('svg') && /^(d|x|y|x1|x2|y1|y2|cx|cy|r|rx|ry|width|height|points|transform|viewBox)$/.test(a.name))) h = both(h, said(e, a))
		h = both(h, Boolean(e.textContent.trim()) + ' ' + [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim() !== ''))
		h = both(h, (little.get(e) ?? '') + (landmark(e) && names.get(named(e)) > 1 ? 'twice' : '') + (e.disabled ? 'off' : '') + (e.checkVisibility({visibilityProperty: true}) ? '' : 'unseen'))
		all.add(number(h))
		if (e.matches('h1, h2, h3, h4, h5, h6, main, body > header, body > footer, nav')) page.push(e.tagName)
		for (const child of e.children) walk(child, h)
	}
	walk(document.documentElement, [0x811c9dc5, 0x1000193])
	// What follows the same again is the same order.
	const order = page.join(' ').replace(/(\b\w+(?: \w+)*?)(?: \1\b)+/g, '$1')
	all.add(number(both([7, 11], order)))
	return [...all]
})()`

// looked has the numbers of what axe-core looked at already. All tests of a package share
// it.
var looked = struct {
	sync.Mutex
	at map[int64]bool
}{at: map[int64]bool{}}

// unlooked reports whether axe-core has not looked at something of these. From then on it
// has looked at all of them.
func unlooked(all []int64) (some bool) {
	looked.Lock()
	defer looked.Unlock()
	for _, part := range all {
		some = some || !looked.at[part]
		looked.at[part] = true
	}
	return some
}
