package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"pullbook/domain/ledger"
)

// TestRecordingByKeys saves an entry of every sort by keys alone, as one does who has
// a keyboard and no finger free.
func TestRecordingByKeys(t *testing.T) {
	t.Parallel()
	b := startBrowser(t)
	t.Run("every sort of entry", func(t *testing.T) { fromEverywhere(t, b, everyKindByKeys) })
	for name, test := range map[string]func(*testing.T, *browser){
		"what is refused is mended or dropped":        refusedByKeys,
		"what was not saved is gone on with":          draftByKeys,
		"what the book thinks is followed":            opinionByKeys,
		"a choice among many is found":                manyByKeys,
		"what somebody else typed is sent in my name": takeOverByKeys,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			test(t, b)
		})
	}
}

// atTheTankByKeys is a device that somebody signed in on by keys.
func atTheTankByKeys(t *testing.T, b *browser) (*shedNow, *pageHouse, *line, *browser) {
	t.Helper()
	s := newShedNow()
	h := s.open(t, "metric")
	l := h.line(t)
	d := b.device(t, "en-GB")
	d.signInByKeys(l, h, "Tamsin", h.password)
	return s, h, l, d
}

func (b *browser) signInByKeys(l *line, h *pageHouse, name, password string) {
	b.t.Helper()
	b.open(b.at(l) + recordSignIn)
	b.write("Outfit", h.name)
	b.write("Your name", name)
	b.write("Password", password)
	b.goes(kb.Enter)
	b.until(`location.pathname === '/record' && document.documentElement.dataset.ready === 'true' && document.querySelector('.net.online')`)
}

// tabToBegun goes on by Tab to what has a name that begins so.
func (b *browser) tabToBegun(name string, with ...chromedp.Modifier) {
	b.t.Helper()
	var passed []string
	for range 200 {
		b.press(kb.Tab, with...)
		h := b.here()
		if strings.HasPrefix(h.Name, name) {
			return
		}
		passed = append(passed, h.Role+" "+h.Name)
	}
	b.t.Fatalf("Tab does not come to %q, but to\n%s", name, strings.Join(passed[:60], "\n"))
}

// screenOf opens the screen of a sort of entry from the first one. It puts the focus
// where typing begins.
func (b *browser) screenOf(tile, kind string) {
	b.t.Helper()
	b.tabToBegun(tile)
	b.press(kb.Enter)
	b.until(`!document.getElementById('form').hidden && document.getElementById('form').dataset.kind === '` + kind + `' && document.getElementById('form').contains(document.activeElement)`)
	b.here()
}

// ofTheRun opens a screen from that of the run.
func (b *browser) ofTheRun(tile, kind string) {
	b.t.Helper()
	b.tabToBegun("Run ")
	b.press(kb.Enter)
	b.until(`!document.getElementById('run').hidden && document.activeElement.id === 'run-title'`)
	b.screenOf(tile, kind)
}

// among goes to the choices of a field and moves among them by arrows.
func (b *browser) among(field, label string, with ...chromedp.Modifier) {
	b.t.Helper()
	for range 60 {
		if evaluated[string](b, `document.activeElement.name ?? ''`) == field {
			break
		}
		b.press(kb.Tab, with...)
		b.here()
	}
	for range 40 {
		if evaluated[string](b, `document.querySelector('[name="`+field+`"]:checked')?.parentElement.querySelector('b').textContent ?? ''`) == label {
			if h := b.here(); h.Role != "radio" {
				b.t.Fatalf("after %s was chosen the focus is on %v", label, h)
			}
			return
		}
		b.press(kb.ArrowDown)
	}
	b.t.Fatalf("%s has no choice %q", field, label)
}

// savedByKeys presses a key on what has the focus, and waits for the first screen and
// for the book. The focus is at its beginning.
func (b *browser) savedByKeys(key string) {
	b.t.Helper()
	b.press(key)
	b.until(`!document.getElementById('home').hidden && document.activeElement.id === 'content'`)
	b.inBook()
}

func everyKindByKeys(t *testing.T, b *browser) {
	s, h, _, d := atTheTankByKeys(t, b)

	d.screenOf("Moisture", "reading")
	d.among("on", "tank 2", chromedp.ModifierShift)
	d.tabToBegun("More")
	d.press(kb.Enter)
	d.among("point", "mixed")
	d.back("The instrument shows")
	d.press("192")
	d.savedByKeys(kb.Enter)
	if r := h.one(t, "readings"); r["moisture_pct"] != 19.2 || r["on"].(M)["id"] != s.two.String() || r["point"] != "mixed" {
		t.Errorf("the book has %v", r)
	}

	d.screenOf("Pull", "pull")
	d.among("yard", "Mill Race", chromedp.ModifierShift)
	d.write("Supers, deep if known", "20")
	d.write("Gross weight of all boxes if known", "812")
	d.tabTo("Save")
	d.savedByKeys(" ")
	if p := h.one(t, "pulls"); p["gross_kg"] != 812.0 {
		t.Errorf("the book has %v", p)
	}

	d.ofTheRun("Supers in", "supers")
	d.press("12")
	d.savedByKeys(kb.Enter)
	h.one(t, "run-supers")

	d.ofTheRun("Load", "load")
	d.tabTo("Save")
	d.savedByKeys(kb.Enter)
	h.one(t, "loads")

	d.screenOf("Transfer", "transfer")
	d.among("from", "this morning", chromedp.ModifierShift)
	d.among("to", "tank 2")
	d.write("Honey", "205")
	d.savedByKeys(kb.Enter)
	if m := h.one(t, "movements"); m["mass_kg"] != 205.0 {
		t.Errorf("the book has %v", m)
	}

	d.ofTheRun("End the run", "end")
	d.press("4")
	d.savedByKeys(kb.Enter)
	h.one(t, "run-ends")

	d.ofTheRun("Start a run", "start")
	d.write("Name of the run", "the next")
	d.savedByKeys(kb.Enter)
	if r := h.one(t, "runs"); r["name"] != "the next" {
		t.Errorf("the book has %v", r)
	}

	d.screenOf("Fill drums", "fill")
	for i, gross := range []string{"308", "307.5"} { // one after another
		d.press(gross)
		d.press(kb.Enter)
		d.until(fmt.Sprintf(`document.activeElement.id === 'in-gross' && document.activeElement.value === '' && document.getElementById('in-container').value === 'D-%03d'`, 11+i))
	}
	d.back("Back")
	d.press(kb.Enter)
	d.until(`!document.getElementById('home').hidden`)
	d.inBook()
	if fills := h.booked(t, "fills"); len(fills) != 2 || fills[1]["gross_kg"] != 307.5 {
		t.Errorf("the book has %v", fills)
	}

	d.screenOf("Temperature", "temperature")
	d.among("on", "hot room", chromedp.ModifierShift)
	d.write("Temperature", "40")
	d.savedByKeys(kb.Enter)
	h.one(t, "temperature-logs")

	d.screenOf("Stocktake", "stocktake")
	d.write("Dip, to the honey under the foam", "70")
	d.write("Temperature of the honey", "30")
	d.savedByKeys(kb.Enter)
	h.one(t, "stocktakes")

	d.screenOf("Wash a tank", "wash")
	d.among("tank", "tank 2")
	d.tabTo("Save as typed")
	d.savedByKeys(kb.Enter)
	if w := h.one(t, "washes"); w["tank_id"] != s.two.String() {
		t.Errorf("the book has %v", w)
	}
}

// fillByKeys fills a drum of some number.
func (b *browser) fillByKeys(number string) {
	b.t.Helper()
	b.screenOf("Fill drums", "fill")
	b.back("Container number")
	b.press(number)
	b.write("Gross", "308")
	b.press(kb.Enter)
	b.until(`document.activeElement.id === 'in-gross' && document.activeElement.value === ''`)
	b.back("Back")
	b.press(kb.Enter)
	b.until(`!document.getElementById('home').hidden && document.querySelectorAll('#refused-list li').length === 1`)
}

// stays fails unless the focus comes to a place.
func (b *browser) stays(where string) {
	b.t.Helper()
	b.until(`document.querySelector('` + where + `')?.contains(document.activeElement)`)
}

func refusedByKeys(t *testing.T, b *browser) {
	_, h, _, d := atTheTankByKeys(t, b)
	d.resize(sizes[2].width, sizes[2].height)
	d.fillByKeys("D-009") // is in use
	d.back("1 refused")
	d.press(kb.Enter)
	d.stays("#refused-title")
	d.tabTo("Mend")
	d.press(kb.Enter)
	d.until(`document.getElementById('form').dataset.kind === 'fill' && !document.getElementById('mending').hidden && document.getElementById('form').contains(document.activeElement)`)
	d.back("Container number")
	d.press("D-077")
	d.savedByKeys(kb.Enter)
	if fills := h.booked(t, "fills"); len(fills) != 1 || fills[0]["container"] != "D-077" {
		t.Errorf("the book has %v", fills)
	}

	d.fillByKeys("D-009")
	d.tabTo("Drop")
	d.press(kb.Enter)
	d.stays("#refused-list .danger")
	d.tabTo("Keep it")
	d.press(" ")
	d.stays("#refused-list .choices")
	if h := d.here(); h.Name != "Drop" {
		t.Errorf("after it was kept the focus is on %v", h)
	}
	d.press(" ")
	d.stays("#refused-list .danger")
	d.press(kb.Enter)
	d.until(`document.querySelectorAll('#refused-list li').length === 0`)
	d.stays("#content")
	if fills := h.booked(t, "fills"); len(fills) != 1 {
		t.Errorf("after dropping, the book has %d fills", len(fills))
	}
}

func draftByKeys(t *testing.T, b *browser) {
	_, h, _, d := atTheTankByKeys(t, b)
	typed := func(mass string) {
		d.screenOf("Transfer", "transfer")
		d.press(mass)
		d.back("Back")
		d.press(kb.Enter)
		d.until(`!document.getElementById('home').hidden && document.querySelectorAll('#draft-list li').length === 1`)
	}
	typed("123")
	d.back("1 not saved yet")
	d.press(kb.Enter)
	d.stays("#drafts-title")
	d.tabTo("Go on")
	d.press(kb.Enter)
	d.until(`document.getElementById('in-mass')?.value === '123' && document.getElementById('form').contains(document.activeElement)`)
	d.back("large tank 2,000 kg · hose red")
	d.write("Honey", "124")
	d.savedByKeys(kb.Enter)
	if m := h.one(t, "movements"); m["mass_kg"] != 124.0 {
		t.Errorf("the book has %v", m)
	}
	typed("99")
	d.tabTo("Discard")
	d.press(kb.Enter)
	d.until(`document.querySelectorAll('#draft-list li').length === 0`)
	d.stays("#content")
}

func opinionByKeys(t *testing.T, b *browser) {
	s, h, _, d := atTheTankByKeys(t, b)
	d.screenOf("Moisture", "reading")
	d.press("191") // fits tank 2
	d.tabTo("It is tank 2")
	d.press(kb.Enter)
	d.until(`document.querySelector('#opinion .fine')`)
	d.stays("#form")
	d.tabTo("Save")
	d.savedByKeys(kb.Enter)
	if r := h.one(t, "readings"); r["on"].(M)["id"] != s.two.String() {
		t.Errorf("the book has %v", r)
	}
	// What is missing is asked for where it is missing.
	d.screenOf("Transfer", "transfer")
	d.tabTo("Save")
	d.press(" ")
	d.until(`document.activeElement.id === 'in-mass' && document.activeElement.getAttribute('aria-invalid') === 'true'`)
	if got := d.text("#opinion"); !strings.Contains(got, "Something is missing: Honey.") {
		t.Errorf("the page says %q", got)
	}
	d.here()
}

func takeOverByKeys(t *testing.T, b *browser) {
	h := newShedNow().open(t, "metric")
	l := h.line(t)
	tam := h.crewMember(t, "Tam")
	d := b.device(t, "en-GB")
	d.signInByKeys(l, h, "Tam", tam)
	d.workerStands()
	d.noNetwork(l, true)
	d.screenOf("Moisture", "reading")
	d.press("175")
	d.press(kb.Enter)
	d.waits(1)
	d.loseCookies()
	refuse := func(w http.ResponseWriter, r *http.Request) bool {
		if r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, "/v1/") {
			w.WriteHeader(http.StatusServiceUnavailable)
			return true
		}
		return false
	}
	l.instead.Store(&refuse)
	d.noNetwork(l, false)
	d.signInByKeys(l, h, "Tamsin", h.password)
	l.instead.Store(nil)
	d.until(`document.getElementById('notices').innerText.includes('wait for Tam to sign in')`)
	d.tabTo("Send them in my name")
	d.press(kb.Enter)
	d.waits(0)
	d.stays("#content")
	if last := h.one(t, "readings"); last["recorded_by"] != "Tamsin" {
		t.Errorf("taken over, it is %v", last)
	}
}

func manyByKeys(t *testing.T, b *browser) {
	s := newShedNow()
	h := s.open(t, "metric")
	for n := range 12 {
		h.recordMore(t, entryAt(0, &ledger.Tank{Name: fmt.Sprint("spare ", n+1), Use: ledger.Settling, CapacityG: 900_000}))
	}
	l := h.line(t)
	d := b.device(t, "en-GB")
	d.signInByKeys(l, h, "Tamsin", h.password)
	d.screenOf("Wash a tank", "wash")
	d.tabTo("6 more") // 8 of 14 are shown
	d.press(kb.Enter)
	d.until(`document.activeElement.name === 'tank'`)
	ninth := d.here()
	if ninth.Role != "radio" {
		t.Errorf("after the others are shown the focus is on %v", ninth)
	}
	d.press(" ")
	d.press(kb.ArrowDown)
	label := evaluated[string](d, `document.querySelector('[name=tank]:checked').parentElement.querySelector('b').textContent`)
	d.tabTo("Save")
	d.savedByKeys(" ")
	washed := h.one(t, "washes")["tank_id"]
	for _, tank := range h.ask(t, "tanks") {
		if tank["id"] == washed && tank["name"] != label {
			t.Errorf("%v was washed, not %s", tank["name"], label)
		}
	}
}
