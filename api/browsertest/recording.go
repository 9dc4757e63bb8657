package browsertest

import (
	"fmt"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
)

// SignInAs signs in by the form, as people do.
func (b *Browser) SignInAs(l *apitest.Line, h *apitest.House, name, password string) {
	b.T.Helper()
	b.Open(b.At(l) + recordSignIn)
	b.Do(chromedp.SetValue(chromedp.CSS("#outfit"), h.Name), chromedp.SetValue(chromedp.CSS("#name"), name), chromedp.SetValue(chromedp.CSS("#password"), password))
	Evaluated[bool](b, `document.querySelector('.slip form button').click(), true`)
	b.Until(`location.pathname === '/record' && document.documentElement.dataset.ready === 'true'`)
}

const recordSignIn = "/record/sign-in"

// Record opens the recording page and waits until it knows the book.
func (b *Browser) Record(l *apitest.Line) {
	b.T.Helper()
	b.Open(b.At(l) + "/record")
	b.Until(`document.documentElement.dataset.ready === 'true'`)
	b.KnowsTheShed()
}

// KnowsTheShed waits until the device is online and has kept what it must know to record without network: the page
// says that it is online as soon as the book has answered at all.
func (b *Browser) KnowsTheShed() {
	b.T.Helper()
	b.Until(`document.querySelector('.net.online') !== null`)
	Evaluated[bool](b, `new Promise((resolve, reject) => {
		const opening = indexedDB.open('pullbook')
		opening.onerror = () => reject(opening.error)
		opening.onsuccess = () => {
			const until = performance.now() + 20_000
			const look = () => {
				const asked = opening.result.transaction('kept').objectStore('kept').get('shed')
				asked.onerror = () => reject(asked.error)
				asked.onsuccess = () => {
					if (!asked.result && performance.now() < until) return setTimeout(look, 20)
					opening.result.close()
					asked.result ? resolve(true) : reject(Error('the device has not kept the shed'))
				}
			}
			look()
		}
	})`)
}

// RecordOffline opens the recording page without network.
func (b *Browser) RecordOffline(l *apitest.Line) {
	b.T.Helper()
	b.Open(b.At(l) + "/record")
	b.Until(`document.documentElement.dataset.ready === 'true'`)
}

// Touch taps the middle of the first element that a selector finds, by a finger.
func (b *Browser) Touch(selector string) { b.T.Helper(); b.TouchOf(selector, "") }

// TouchOf takes the first whose words in bold are these, where some are given.
func (b *Browser) TouchOf(selector, words string) {
	b.T.Helper()
	b.Touches++
	// On a busy machine half a second may pass between a touch and its end, and that
	// is a long press: whoever sees that nothing happened looks and touches again.
	for try := 1; ; try++ {
		point := Evaluated[[]float64](b, fmt.Sprintf(middleOf, selector, words))
		if !b.WithoutGloves && (point[2] < 48 || point[3] < 48) {
			b.T.Errorf("%s is %.0f by %.0f px: too small for a finger in a glove", selector, point[2], point[3])
		}
		b.Do(chromedp.TapXY(point[0], point[1]))
		came, err := chromedp.Run(b.Ctx, chromedp.Evaluate[bool](`new Promise(done => {
			const until = performance.now() + 1500
			const look = () => !self.touched || self.touched.came ? done(true) : performance.now() > until ? done(false) : setTimeout(look, 10)
			look()
		})`, chromedp.EvalAwaitPromise))
		if came || err != nil { // an error is of a page that was left
			return
		}
		if try == 4 {
			b.T.Fatalf("%s was touched four times, and nothing came of it", selector)
		}
	}
}

// middleOf is where an element can be touched, once it stands still, and how large
// it is.
const middleOf = `new Promise(async (resolve, reject) => {
	const find = () => [...document.querySelectorAll(%[1]q)].find(e => e.checkVisibility() && (%[2]q === '' || e.querySelector('b')?.textContent === %[2]q))
	// A person waits a while for a page that is still being drawn.
	const until = performance.now() + 10_000
	while (!find() && performance.now() < until) await new Promise(f => setTimeout(f, 10))
	let e = find()
	if (!e) return reject(new Error('nothing shown is ' + %[1]q))
	// A person scrolls only for what cannot be seen where it is.
	const open = r => document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2)
	const now = e.getBoundingClientRect(), seen = now.top >= 0 && now.bottom <= innerHeight && open(now)
	if (!(seen && (e.contains(seen) || seen.contains(e)))) e.scrollIntoView({block: 'center', behavior: 'instant'})
	for (let before = "", still = 0, r; ; await new Promise(f => requestAnimationFrame(() => requestAnimationFrame(f)))) {
		if (!e.isConnected) { // it was drawn anew since, and whoever looks sees that one
			e = find()
			if (!e) return reject(new Error('no more is shown of ' + %[1]q))
			still = 0
		}
		r = e.getBoundingClientRect()
		still = before === (before = r.top + ' ' + r.height) ? still + 1 : 0
		if (still < 3) continue
		const x = r.left + r.width / 2, y = r.top + r.height / 2
		const there = document.elementFromPoint(x, y)
		if (!e.contains(there) && !there?.contains(e)) return reject(new Error(%[1]q + ' is covered by ' + there?.outerHTML.slice(0, 120)))
		const touched = self.touched = {came: false}
		addEventListener('click', event => touched.came ||= e.contains(event.target) || event.target.contains(e), {capture: true, once: true})
		return resolve([x, y, r.width, r.height])
	}
})`

// Tile goes to a kind's screen from the first one.
func (b *Browser) Tile(kind string) {
	b.T.Helper()
	b.Until(`!document.getElementById('home').hidden && scrollY === 0`)
	b.Touch(`#home .tile[href="#` + kind + `"]`)
	if kind == "run" {
		b.Until(`!document.getElementById('run').hidden`)
		return
	}
	b.Until(`document.getElementById('form').dataset.kind === '` + kind + `' && !document.getElementById('form').hidden`)
}

// Choose touches a choice by its words.
func (b *Browser) Choose(field, label string) {
	b.T.Helper()
	b.TouchOf(`[data-field="`+field+`"] .tab`, label)
}

// Key touches keys of the pad.
func (b *Browser) Key(keys string) {
	b.T.Helper()
	for _, k := range keys {
		name := string(k)
		if k == '.' || k == ',' {
			name = "mark"
		}
		b.Touch(`#pad button[data-key="` + name + `"]`)
	}
}

// Aim touches a field, so that the pad writes in it.
func (b *Browser) Aim(field string) { b.T.Helper(); b.Touch("#in-" + field) }

// Retype writes over what stands in a field.
func (b *Browser) Retype(field, text string) {
	b.T.Helper()
	b.Until(`document.getElementById('in-` + field + `') !== null`)
	Evaluated[bool](b, `(() => { const i = document.getElementById('in-`+field+`'); i.focus(); i.select(); return true })()`)
	b.Do(chromedp.KeyEvent(text))
}

func (b *Browser) Save() {
	b.T.Helper()
	b.Touch("#save")
}

// Saved waits for the first screen after saving.
func (b *Browser) Saved() {
	b.T.Helper()
	b.Save()
	b.Until(`!document.getElementById('home').hidden`)
}

// Waits waits until so many entries wait on the device, as the page says.
func (b *Browser) Waits(n int) {
	b.T.Helper()
	b.Until(fmt.Sprintf(`(() => { const t = document.getElementById('waiting'); return %d === 0 ? t.hidden : !t.hidden && t.innerText.includes('%[1]d') })()`, n))
}

// InBook waits until the first screen says that the last entry is in the book.
func (b *Browser) InBook() {
	b.T.Helper()
	b.Until(`[...document.querySelectorAll('#home-result .sent, #result .sent')].some(e => e.checkVisibility())`)
}
