package recording_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// TestRecordingByKeys saves an entry of every sort by keys alone, as one does who has
// a keyboard and no finger free.
func TestRecordingByKeys(t *testing.T) {
	t.Parallel()
	b := browsertest.Start(t)
	t.Run("every sort of entry", func(t *testing.T) { browsertest.AtEach(t, browsertest.Origins(), b, everyKindByKeys) })
	for name, test := range map[string]func(*testing.T, *browsertest.Browser){
		"what is refused is mended or dropped":        refusedByKeys,
		"what was not saved is gone on with":          draftByKeys,
		"what the book thinks is followed":            opinionByKeys,
		"news of the book leaves what is being typed": newsByKeys,
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
func atTheTankByKeys(t *testing.T, b *browsertest.Browser) (*apitest.Shed, *apitest.House, *apitest.Line, *browsertest.Browser) {
	t.Helper()
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := b.Device(t, "en-GB")
	d.SignInByKeys(l, h, "Tamsin", h.Password)
	return s, h, l, d
}

func everyKindByKeys(t *testing.T, b *browsertest.Browser) {
	s, h, _, d := atTheTankByKeys(t, b)

	d.ScreenOf("Moisture", "reading")
	d.Among("on", "tank 2", chromedp.ModifierShift)
	d.TabToBegun("More")
	d.Press(kb.Enter)
	d.Among("point", "mixed")
	d.Back("The instrument shows")
	d.Press("192")
	d.SavedByKeys(kb.Enter)
	if r := h.One(t, "readings"); r["moisture_pct"] != 19.2 || r["on"].(apitest.M)["id"] != s.Two.String() || r["point"] != "mixed" {
		t.Errorf("the book has %v", r)
	}

	d.ScreenOf("Pull", "pull")
	d.Among("yard", "Mill Race", chromedp.ModifierShift)
	d.Write("Supers, deep if known", "20")
	d.Write("Gross weight of all boxes if known", "812")
	d.TabTo("Save")
	d.SavedByKeys(" ")
	if p := h.One(t, "pulls"); p["gross_kg"] != 812.0 {
		t.Errorf("the book has %v", p)
	}

	d.OfTheRun("Supers in", "supers")
	d.Among("pull", "Mill Race", chromedp.ModifierShift)
	d.TabTo("How many supers")
	d.Press("12")
	d.SavedByKeys(kb.Enter)
	h.One(t, "run-supers")

	d.OfTheRun("Load", "load")
	d.TabTo("Save")
	d.SavedByKeys(kb.Enter)
	h.One(t, "loads")

	d.ScreenOf("Transfer", "transfer")
	d.Among("from", "this morning", chromedp.ModifierShift)
	d.Among("to", "tank 2")
	d.Write("Honey", "205")
	d.SavedByKeys(kb.Enter)
	if m := h.One(t, "movements"); m["mass_kg"] != 205.0 {
		t.Errorf("the book has %v", m)
	}

	d.OfTheRun("End the run", "end")
	d.Press("4")
	d.SavedByKeys(kb.Enter)
	h.One(t, "run-ends")

	d.ScreenOf("Run none open: start one", "start")
	d.Write("Name of the run", "the next")
	d.SavedByKeys(kb.Enter)
	if r := h.One(t, "runs"); r["name"] != "the next" {
		t.Errorf("the book has %v", r)
	}

	d.ScreenOf("Fill drums", "fill")
	for i, gross := range []string{"308", "307.5"} { // one after another
		d.Press(gross)
		d.Press(kb.Enter)
		d.Until(fmt.Sprintf(`document.activeElement.id === 'in-gross' && document.activeElement.value === '' && document.getElementById('in-container').value === 'D-%03d'`, 11+i))
	}
	d.Back("Back")
	d.Press(kb.Enter)
	d.Until(`!document.getElementById('home').hidden`)
	d.InBook()
	if fills := h.Booked(t, "fills"); len(fills) != 2 || fills[1]["gross_kg"] != 307.5 {
		t.Errorf("the book has %v", fills)
	}

	d.ScreenOf("Temperature", "temperature")
	d.Among("on", "hot room", chromedp.ModifierShift)
	d.Write("Temperature", "40")
	d.SavedByKeys(kb.Enter)
	h.One(t, "temperature-logs")

	d.ScreenOf("Stocktake", "stocktake")
	d.Among("tank", "large tank")
	d.Write("Dip, to the honey under the foam", "70")
	d.Write("Temperature of the honey", "30")
	d.SavedByKeys(kb.Enter)
	h.One(t, "stocktakes")

	d.ScreenOf("Wash a tank", "wash")
	d.Among("tank", "tank 2")
	d.TabTo("Save as typed")
	d.SavedByKeys(kb.Enter)
	if w := h.One(t, "washes"); w["tank_id"] != s.Two.String() {
		t.Errorf("the book has %v", w)
	}
}

func refusedByKeys(t *testing.T, b *browsertest.Browser) {
	_, h, _, d := atTheTankByKeys(t, b)
	d.Resize(browsertest.Sizes[2].Width, browsertest.Sizes[2].Height)
	d.FillByKeys("D-009") // is in use
	d.Back("1 refused")
	d.Press(kb.Enter)
	d.Stays("#refused-title")
	d.TabTo("Mend")
	d.Press(kb.Enter)
	d.Until(`document.getElementById('form').dataset.kind === 'fill' && !document.getElementById('mending').hidden && document.getElementById('form').contains(document.activeElement)`)
	d.Back("Container number")
	d.Press("D-077")
	time.Sleep(500 * time.Millisecond) // nobody types as fast as a scanner
	d.SavedByKeys(kb.Enter)
	if fills := h.Booked(t, "fills"); len(fills) != 1 || fills[0]["container"] != "D-077" {
		t.Errorf("the book has %v", fills)
	}

	d.FillByKeys("D-009")
	d.TabTo("Drop")
	d.Press(kb.Enter)
	d.Stays("#refused-list .danger")
	d.TabTo("Keep it")
	d.Press(" ")
	d.Stays("#refused-list .choices")
	if h := d.Here(); h.Name != "Drop" {
		t.Errorf("after it was kept the focus is on %v", h)
	}
	d.Press(" ")
	d.Stays("#refused-list .danger")
	d.Press(kb.Enter)
	d.Until(`document.querySelectorAll('#refused-list li').length === 0`)
	d.Stays("#content")
	if fills := h.Booked(t, "fills"); len(fills) != 1 {
		t.Errorf("after dropping, the book has %d fills", len(fills))
	}
}

func draftByKeys(t *testing.T, b *browsertest.Browser) {
	_, h, _, d := atTheTankByKeys(t, b)
	typed := func(mass string) {
		d.ScreenOf("Transfer", "transfer")
		d.Press(mass)
		d.Back("Back")
		d.Press(kb.Enter)
		d.Until(`!document.getElementById('home').hidden && document.querySelectorAll('#draft-list li').length === 1`)
	}
	typed("123")
	d.Back("1 not saved yet")
	d.Press(kb.Enter)
	d.Stays("#drafts-title")
	d.TabTo("Go on")
	d.Press(kb.Enter)
	d.Until(`document.getElementById('in-mass')?.value === '123' && document.getElementById('form').contains(document.activeElement)`)
	d.Among("from", "large tank", chromedp.ModifierShift)
	d.Among("to", "tank 2")
	d.Write("Honey", "124")
	d.SavedByKeys(kb.Enter)
	if m := h.One(t, "movements"); m["mass_kg"] != 124.0 {
		t.Errorf("the book has %v", m)
	}
	typed("99")
	d.TabTo("Discard")
	d.Press(kb.Enter)
	d.Until(`document.querySelectorAll('#draft-list li').length === 0`)
	d.Stays("#content")
}

// opinionByKeys: what the book has comes some while after the sign-in, so that the first
// screen has nothing to type in when it opens.
func opinionByKeys(t *testing.T, b *browsertest.Browser) {
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	late := func(_ http.ResponseWriter, r *http.Request) bool {
		if r.URL.Path == "/v1/reports/shed" {
			time.Sleep(time.Second)
		}
		return false
	}
	l.Instead.Store(&late)
	d := b.Device(t, "en-GB")
	d.SignInByKeys(l, h, "Tamsin", h.Password)
	d.ScreenOf("Moisture", "reading")
	d.Press("191") // fits tank 2
	d.Until(`document.getElementById('opinion').innerText.includes('tank 2')`)
	d.TabTo("It is tank 2")
	d.Press(kb.Enter)
	d.Until(`document.querySelector('#opinion .fine')`)
	d.Stays("#form")
	d.TabTo("Save")
	d.SavedByKeys(kb.Enter)
	if r := h.One(t, "readings"); r["on"].(apitest.M)["id"] != s.Two.String() {
		t.Errorf("the book has %v", r)
	}
	// What is missing is asked for where it is missing, and news of the book leaves that.
	d.ScreenOf("Transfer", "transfer")
	d.TabTo("Save")
	d.Press(" ")
	d.Until(`document.activeElement.name === 'from'`)
	newsComes(t, s, h, l, d, "700 kg")
	if got := d.Text("#opinion"); !strings.Contains(got, "Something is missing: From.") {
		t.Errorf("the page says %q", got)
	}
	d.Among("from", "large tank")
	d.Among("to", "tank 2")
	d.TabTo("Save")
	d.Press(" ")
	d.Until(`document.activeElement.id === 'in-mass' && document.activeElement.getAttribute('aria-invalid') === 'true'`)
	if got := d.Text("#opinion"); !strings.Contains(got, "Something is missing: Honey.") {
		t.Errorf("the page says %q", got)
	}
	d.Here()
}

// newsComes: somebody moves honey into tank 2, which now holds so much, and the device hears
// of it.
func newsComes(t *testing.T, s *apitest.Shed, h *apitest.House, l *apitest.Line, d *browsertest.Browser, held string) {
	t.Helper()
	moved := &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceTank, ID: s.Large}, To: ledger.Place{Kind: ledger.PlaceTank, ID: s.Two}, MassG: 100_000}
	h.RecordMore(t, &ledger.Entry{ID: uuid.New(), Kind: moved.Kind(), OccurredAt: time.Now().UTC().Truncate(time.Second), Body: moved})
	d.NoNetwork(l, true)
	d.NoNetwork(l, false)
	d.Until(`document.getElementById('fields').innerText.replaceAll('\u00a0', ' ').includes('` + held + `')`)
}

// newsByKeys: news comes between two digits of a figure. What the tanks hold is drawn anew
// around the field, which nothing takes away meanwhile; where the field itself is drawn anew,
// the caret stays.
func newsByKeys(t *testing.T, b *browsertest.Browser) {
	s, h, l, d := atTheTankByKeys(t, b)
	d.ScreenOf("Moisture", "reading")
	d.Press("19")
	browsertest.Evaluated[bool](d, `(self.refocused = 0, addEventListener('focusin', () => self.refocused++), true)`)
	newsComes(t, s, h, l, d, "700 kg")
	if n := browsertest.Evaluated[int](d, `self.refocused`); n != 0 {
		t.Errorf("the field got the focus anew %d times, which a screen reader reads out", n)
	}
	d.Press("1")
	d.Until(`document.getElementById('in-shown').value === '19.1'`)
	d.Among("on", "tank 2", chromedp.ModifierShift)
	d.TabTo("Save")
	d.SavedByKeys(kb.Enter)
	if r := h.One(t, "readings"); r["moisture_pct"] != 19.1 {
		t.Errorf("the book has %v", r)
	}

	d.ScreenOf("Transfer", "transfer")
	d.Among("from", "large tank", chromedp.ModifierShift)
	d.Among("to", "tank 2")
	d.Write("Honey", "12")
	d.Press(kb.ArrowLeft) // between the two
	newsComes(t, s, h, l, d, "800 kg")
	d.Press("0")
	d.Until(`document.getElementById('in-mass').value === '102'`)
	d.SavedByKeys(kb.Enter)
	if m := h.Booked(t, "movements"); m[len(m)-1]["mass_kg"] != 102.0 {
		t.Errorf("the book has %v", m)
	}
}

func takeOverByKeys(t *testing.T, b *browsertest.Browser) {
	h := apitest.NewShed().Open(t, "metric")
	l := h.Line(t)
	tam := h.CrewMember(t, "Tam")
	d := b.Device(t, "en-GB")
	d.SignInByKeys(l, h, "Tam", tam)
	d.WorkerStands()
	d.NoNetwork(l, true)
	d.ScreenOf("Moisture", "reading")
	d.Among("on", "large tank", chromedp.ModifierShift)
	d.TabTo("The instrument shows")
	d.Press("175")
	d.Press(kb.Enter)
	d.Waits(1)
	d.LoseCookies()
	refuse := func(w http.ResponseWriter, r *http.Request) bool {
		if r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, "/v1/") {
			w.WriteHeader(http.StatusServiceUnavailable)
			return true
		}
		return false
	}
	l.Instead.Store(&refuse)
	d.NoNetwork(l, false)
	d.SignInByKeys(l, h, "Tamsin", h.Password)
	l.Instead.Store(nil)
	d.Until(`document.getElementById('notices').innerText.includes('wait for Tam to sign in')`)
	d.TabTo("Send them in my name")
	d.Press(kb.Enter)
	d.Waits(0)
	d.Stays("#content")
	if last := h.One(t, "readings"); last["recorded_by"] != "Tamsin" {
		t.Errorf("taken over, it is %v", last)
	}
}

func manyByKeys(t *testing.T, b *browsertest.Browser) {
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	for n := range 12 {
		h.RecordMore(t, apitest.EntryAt(0, &ledger.Tank{Name: fmt.Sprint("spare ", n+1), Use: ledger.Settling, CapacityG: 900_000}))
	}
	l := h.Line(t)
	d := b.Device(t, "en-GB")
	d.SignInByKeys(l, h, "Tamsin", h.Password)
	d.ScreenOf("Wash a tank", "wash")
	d.TabTo("6 more") // 8 of 14 are shown
	d.Press(kb.Enter)
	d.Until(`document.activeElement.name === 'tank'`)
	ninth := d.Here()
	if ninth.Role != "radio" {
		t.Errorf("after the others are shown the focus is on %v", ninth)
	}
	d.Press(" ")
	d.Press(kb.ArrowDown)
	label := browsertest.Evaluated[string](d, `document.querySelector('[name=tank]:checked').parentElement.querySelector('b').textContent`)
	d.TabTo("Save")
	d.SavedByKeys(" ")
	washed := h.One(t, "washes")["tank_id"]
	for _, tank := range h.Ask(t, "tanks") {
		if tank["id"] == washed && tank["name"] != label {
			t.Errorf("%v was washed, not %s", tank["name"], label)
		}
	}
}
