package browsertest

import (
	"strings"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"pullbook/api/apitest"
)

func (b *Browser) SignInByKeys(l *apitest.Line, h *apitest.House, name, password string) {
	b.T.Helper()
	b.Open(b.At(l) + recordSignIn)
	b.Write("Outfit", h.Name)
	b.Write("Your name", name)
	b.Write("Password", password)
	b.Goes(kb.Enter)
	b.Until(`location.pathname === '/record' && document.documentElement.dataset.ready === 'true' && document.querySelector('.net.online')`)
}

// TabToBegun goes on by Tab to what has a name that begins so.
func (b *Browser) TabToBegun(name string, with ...chromedp.Modifier) {
	b.T.Helper()
	var passed []string
	for range 200 {
		b.Press(kb.Tab, with...)
		h := b.Here()
		if strings.HasPrefix(h.Name, name) {
			return
		}
		passed = append(passed, h.Role+" "+h.Name)
	}
	b.T.Fatalf("Tab does not come to %q, but to\n%s", name, strings.Join(passed[:60], "\n"))
}

// ScreenOf opens the screen of a sort of entry from the first one. It puts the focus
// where typing begins, once the device knows the book: right after a sign-in the screen has
// nothing to type in yet, and says so.
func (b *Browser) ScreenOf(tile, kind string) {
	b.T.Helper()
	b.TabToBegun(tile)
	b.Press(kb.Enter)
	b.Until(`!document.getElementById('form').hidden && document.getElementById('form').dataset.kind === '` + kind + `' && document.getElementById('lacks').hidden && document.getElementById('form').contains(document.activeElement)`)
	b.Here()
}

// OfTheRun opens a screen from that of the run.
func (b *Browser) OfTheRun(tile, kind string) {
	b.T.Helper()
	b.TabToBegun("Run ")
	b.Press(kb.Enter)
	b.Until(`!document.getElementById('run').hidden && document.activeElement.id === 'run-title'`)
	b.ScreenOf(tile, kind)
}

// Among goes to the choices of a field and moves among them by arrows.
func (b *Browser) Among(field, label string, with ...chromedp.Modifier) {
	b.T.Helper()
	for range 60 {
		if Evaluated[string](b, `document.activeElement.name ?? ''`) == field {
			break
		}
		b.Press(kb.Tab, with...)
		b.Here()
	}
	for range 40 {
		if Evaluated[string](b, `document.querySelector('[name="`+field+`"]:checked')?.parentElement.querySelector('b').textContent ?? ''`) == label {
			if h := b.Here(); h.Role != "radio" {
				b.T.Fatalf("after %s was chosen the focus is on %v", label, h)
			}
			return
		}
		b.Press(kb.ArrowDown)
	}
	b.T.Fatalf("%s has no choice %q", field, label)
}

// SavedByKeys presses a key on what has the focus, and waits for the first screen and
// for the book. The focus is at its beginning.
func (b *Browser) SavedByKeys(key string) {
	b.T.Helper()
	b.Press(key)
	b.Until(`!document.getElementById('home').hidden && document.activeElement.id === 'content'`)
	b.InBook()
}

// FillByKeys fills a drum of some number.
func (b *Browser) FillByKeys(number string) {
	b.T.Helper()
	b.ScreenOf("Fill drums", "fill")
	b.Back("Container number")
	b.Press(number)
	b.Write("Gross", "308")
	b.Press(kb.Enter)
	b.Until(`document.activeElement.id === 'in-gross' && document.activeElement.value === ''`)
	b.Back("Back")
	b.Press(kb.Enter)
	b.Until(`!document.getElementById('home').hidden && document.querySelectorAll('#refused-list li').length === 1`)
}

// Stays fails unless the focus comes to a place.
func (b *Browser) Stays(where string) {
	b.T.Helper()
	b.Until(`document.querySelector('` + where + `')?.contains(document.activeElement)`)
}
