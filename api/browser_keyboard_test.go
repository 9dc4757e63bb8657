package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"pullbook/domain/ledger"
)

// held is what has the focus.
type held struct {
	// Name and Role are what a screen reader says of it.
	Name, Role string
	// What it is in the page's own terms.
	What string
}

// here is what has the focus; nothing where nothing has. Whatever is stopped at by
// the keyboard has a name, and shows that it has the focus.
func (b *browser) here() held {
	b.t.Helper()
	shows := evaluated[*stop](b, focusHere)
	if shows == nil {
		return held{}
	}
	h := held{What: shows.What}
	// A browser works a name out a moment after the page was drawn, and here the page may
	// draw what has the focus anew.
	for range 40 {
		if h.Name, h.Role = b.readOut("document.activeElement"); h.Name != "" {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	for _, wrong := range shows.Wrong {
		b.t.Errorf("%s: %s %s", evaluated[string](b, `location.pathname + location.hash`), h.What, wrong)
	}
	if h.Name == "" {
		b.t.Errorf("%s: %s has no name", evaluated[string](b, `location.pathname + location.hash`), h.What)
	}
	if b.ringed == nil {
		b.ringed = map[string]bool{}
	}
	if sort := h.Role + " in " + evaluated[string](b, `document.activeElement.parentElement.tagName + '.' + document.activeElement.parentElement.className`); !b.ringed[sort] && len(shows.Wrong) == 0 {
		b.ringed[sort] = true
		b.ring(h.What)
	}
	return h
}

// ring looks at the line around what has the focus, in pixels: taken away, it leaves
// others behind, that are told from it by 3 to 1, along two pixels of most of its edge.
func (b *browser) ring(what string) {
	b.t.Helper()
	box := evaluated[[]float64](b, `(() => {
		const e = document.activeElement, r = (getComputedStyle(e).opacity === '0' ? e.nextElementSibling : e).getBoundingClientRect()
		return e.getClientRects().length > 1 || r.left < 8 || r.top < 8 || r.right > innerWidth - 8 || r.bottom > innerHeight - 8 ? [] : [r.left + scrollX, r.top + scrollY, r.width, r.height]
	})()`)
	if len(box) == 0 {
		return // at the window's edge, or in two lines
	}
	clip := page.Viewport{X: box[0] - 8, Y: box[1] - 8, Width: box[2] + 16, Height: box[3] + 16, Scale: 1}
	with := b.pixels(clip)
	evaluated[int](b, `(self.unlined = new CSSStyleSheet(), self.unlined.replaceSync('* { outline: none !important }'), document.adoptedStyleSheets.push(self.unlined))`)
	without := b.pixels(clip)
	evaluated[int](b, `document.adoptedStyleSheets.splice(document.adoptedStyleSheets.indexOf(self.unlined), 1).length`)
	changed := 0.0
	for y := with.Bounds().Min.Y; y < with.Bounds().Max.Y; y++ {
		for x := with.Bounds().Min.X; x < with.Bounds().Max.X; x++ {
			if contrastOf(with.At(x, y), without.At(x, y)) >= 3 {
				changed++
			}
		}
	}
	if want := 0.8 * 2 * 2 * (box[2] + box[3]); changed < want {
		b.t.Errorf("%s: the line around %s is %.0f pixels, not %.0f", evaluated[string](b, `location.pathname + location.hash`), what, changed, want)
	}
}

func (b *browser) pixels(clip page.Viewport) image.Image {
	b.t.Helper()
	yes := true
	decoded, err := png.Decode(bytes.NewReader(b.captured(page.CaptureScreenshotParams{Clip: &clip, CaptureBeyondViewport: &yes})))
	if err != nil {
		b.t.Fatal(err)
	}
	return decoded
}

// contrastOf is the contrast of two colours (WCAG 2.2, relative luminance).
func contrastOf(one, other color.Color) float64 {
	light := func(c color.Color) float64 {
		part := func(v uint32) float64 {
			if s := float64(v) / 0xffff; s > 0.04045 {
				return math.Pow((s+0.055)/1.055, 2.4)
			} else {
				return s / 12.92
			}
		}
		r, g, b, _ := c.RGBA()
		return 0.2126*part(r) + 0.7152*part(g) + 0.0722*part(b)
	}
	a, b := light(one), light(other)
	return (max(a, b) + 0.05) / (min(a, b) + 0.05)
}

// readOut is the name and the role of an element, as the browser tells them to a
// screen reader.
func (b *browser) readOut(element string) (name, role string) {
	b.t.Helper()
	b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		object, err := cdp.Call(ctx, target, runtime.Evaluate, runtime.EvaluateParams{Expression: element})
		if err != nil {
			return err
		}
		no := false
		tree, err := cdp.Call(ctx, target, accessibility.GetPartialAXTree, accessibility.GetPartialAXTreeParams{ObjectID: object.Result.ObjectID, FetchRelatives: &no})
		if err != nil || len(tree.Nodes) == 0 {
			return err
		}
		text := func(v *accessibility.Value) (s string) {
			if v != nil {
				_ = json.Unmarshal([]byte(v.Value), &s)
			}
			return s
		}
		name, role = strings.ReplaceAll(text(tree.Nodes[0].Name), "\u00a0", " "), text(tree.Nodes[0].Role)
		return nil
	}))
	return name, role
}

// tabTo goes on by Tab to what has a name. Each stop on the way is held to what here
// holds it to.
func (b *browser) tabTo(name string, with ...chromedp.Modifier) held {
	b.t.Helper()
	var passed []string
	for out := 0; out < 2 && len(passed) < 500; {
		b.press(kb.Tab, with...)
		h := b.here()
		if h.Name == name {
			return h
		}
		if h.What == "" {
			out++ // once through, and from the other end on
		}
		passed = append(passed, h.Role+" "+h.Name)
	}
	b.t.Fatalf("%s: Tab does not come to %q, but to\n%s", evaluated[string](b, `location.pathname + location.hash`), name, strings.Join(passed[:min(len(passed), 120)], "\n"))
	return held{}
}

// back goes back to what has a name.
func (b *browser) back(name string) held {
	b.t.Helper()
	return b.tabTo(name, chromedp.ModifierShift)
}

// goes presses a key that leads to another page, and waits until that is there.
func (b *browser) goes(key string) {
	b.t.Helper()
	evaluated[bool](b, `self.pageBefore = true`)
	b.press(key)
	b.until(`self.pageBefore === undefined && document.readyState === 'complete'`)
}

// follow goes to a link or a button, and where it leads.
func (b *browser) follow(name string) {
	b.t.Helper()
	b.tabTo(name)
	b.goes(kb.Enter)
}

// skip skips what is the same on every page.
func (b *browser) skip() {
	b.t.Helper()
	b.tabTo("Skip to the page's content")
	b.press(kb.Enter)
	b.until(`document.activeElement.id === 'content'`)
}

// write goes to a field and writes in it, over what stands there.
func (b *browser) write(name, text string) {
	b.t.Helper()
	b.tabTo(name)
	b.press(text)
}

// pick goes to a list and chooses a line of it by arrows.
func (b *browser) pick(name, line string) {
	b.t.Helper()
	b.tabTo(name)
	b.press(kb.Home)
	for range evaluated[int](b, `document.activeElement.length`) {
		if b.chosen() == line {
			return
		}
		b.press(kb.ArrowDown)
	}
	if b.chosen() != line {
		b.t.Fatalf("%s has no line %q", name, line)
	}
}

func (b *browser) chosen() string {
	b.t.Helper()
	return evaluated[string](b, `document.activeElement.selectedOptions[0].text`)
}

// reads fails unless the page says something.
func (b *browser) reads(texts ...string) {
	b.t.Helper()
	shown := strings.ReplaceAll(evaluated[string](b, `document.body.innerText`), "\u00a0", " ")
	for _, text := range texts {
		if !strings.Contains(shown, text) {
			b.t.Errorf("%s does not say %q:\n%s", evaluated[string](b, `location.pathname`), text, shown[:min(len(shown), 2500)])
		}
	}
}

// TestTheBooksWholeWorkByKeys does what a manager does of an evening, by keys alone:
// nothing is focused, clicked or touched by a script. Each origin has a browser of its
// own: the line around what has the focus is drawn in one window at a time.
func TestTheBooksWholeWorkByKeys(t *testing.T) {
	t.Parallel()
	for _, o := range chosenOrigins() {
		t.Run(o.name, func(t *testing.T) {
			t.Parallel()
			wholeWorkByKeys(t, startBrowser(t).by(o))
		})
	}
}

func wholeWorkByKeys(t *testing.T, b *browser) {
	h := lotHouseOf(t, metricOutfit)
	h.signIn(t)
	small := entryAt(0, &ledger.Tank{Name: "small tank", Use: ledger.Settling, CapacityG: 900_000})
	h.recordMore(t, small, entryAt(2.3, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceTank, ID: small.ID}, To: ledger.Place{Kind: ledger.PlaceWaste}, MassG: 40_000}))
	d := b.device(t, "en-GB")
	d.cutOff = false
	d.resize(1280, 800)
	for _, job := range []struct {
		name string
		do   func(*testing.T, *browser, *lotHouse)
	}{
		{"signing in", keysSignIn},
		{"from the season to a yard", keysToAYard},
		{"a new yard", keysNewYard},
		{"a reading is corrected", keysCorrect},
		{"an entry is withdrawn", keysWithdraw},
		{"a finding is settled", keysSettle},
		{"a lot is checked and released", keysRelease},
		{"a container is sent off", keysDispatch},
		{"a buyer's limits", keysLimits},
		{"somebody new", keysPerson},
		{"a sheet is brought in", keysImport},
		{"another language", keysLanguage},
		{"a calculator", keysCalculator},
		{"printing, and signing out", keysPrint},
	} {
		if !t.Run(job.name, func(t *testing.T) {
			d.t = t
			d.patience()
			job.do(t, d, h)
		}) {
			return // the next goes on where this ended
		}
	}
}

func keysSignIn(t *testing.T, d *browser, h *lotHouse) {
	d.open(d.at(h) + "/")
	d.write("Outfit", h.name)
	d.write("Your name", "Tamsin")
	d.write("Password", h.password)
	d.follow("Open the book")
	d.reads("Needs attention")
}

func keysToAYard(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Season")
	d.skip()
	d.press(kb.Tab)
	if first := d.here(); !evaluated[bool](d, `Boolean(document.activeElement.closest('main'))`) {
		t.Errorf("after the head of the page was skipped, Tab comes to %s", first.What)
	}
	d.follow("Alder Bend")
	d.reads("By season", "Pulls")
}

func keysNewYard(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Settings")
	d.skip()
	d.follow("Add one : Yards")
	d.skip()
	d.write("name needed", "Fern Hollow")
	d.write("registration", "MB-77")
	d.follow("Put it in the book")
	d.reads("Fern Hollow", "MB-77")
	if yards := h.ask(t, "yards"); len(yards) != 2 {
		t.Errorf("the book has %d yards", len(yards))
	}
}

func keysCorrect(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Journal")
	d.skip()
	d.pick("Kind", "reading")
	d.follow("Show")
	d.skip()
	d.tabTo("Journal") // the table, which arrows move
	first := func() string {
		return evaluated[string](d, `document.querySelector('.journal tbody tr:nth-child(2) a').textContent`)
	}
	d.follow(first())
	d.follow("Correct")
	d.skip()
	d.write("moisture, %", "17.9")
	d.write("Why it is corrected needed", "read off the wrong line")
	d.follow("Correct it")
	d.reads("17.9", "as it stood before", "read off the wrong line")
	if !slices.ContainsFunc(h.ask(t, "readings"), func(r M) bool { return r["moisture_pct"] == 17.9 }) {
		t.Error("the book does not have the reading as it was corrected")
	}
}

func keysWithdraw(t *testing.T, d *browser, h *lotHouse) {
	d.skip()
	d.tabTo("Withdraw")
	d.press(kb.Enter)
	d.write("Why it is withdrawn", "it was of another drum")
	d.follow("Withdraw it")
	d.reads("it was of another drum")
}

func keysSettle(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Findings")
	d.skip()
	d.tabTo("It is so: accept")
	d.press(" ")
	d.write("Why it is so", "a bucket that nobody weighed")
	d.follow("Accept")
	d.reads("a bucket that nobody weighed", "Settled")
}

func keysRelease(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Lots")
	d.skip()
	d.follow("L-1")
	d.skip()
	d.tabTo("Canadian Grade Compendium Volume 6: Honey (grades), Compendium Vol. 6, 2019")
	d.press(" ")
	d.follow("Record the check")
	d.reads("Checks recorded", "meets, grade No. 3")
	d.skip()
	d.tabTo("By which check")
	d.follow("Release it")
	d.reads("What was decided", "released")
	if state := h.state(t, h.pageHouse); state != "released" {
		t.Errorf("the lot is %s", state)
	}
}

func keysDispatch(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Dispatches")
	d.skip()
	d.follow("Send containers off")
	d.skip()
	d.pick("Buyer", "Northgate Packing")
	d.write("Waybill or order number", "W-17")
	d.tabTo("One by one , Lot L-1")
	d.press(kb.Enter)
	d.tabTo("D-2, drum, 290.0 kg")
	d.press(" ")
	d.follow("Book that it left")
	d.reads("Northgate Packing", "W-17", "D-2")
}

func keysLimits(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Settings")
	d.skip()
	d.follow("Add one : Buyers' limits and own rules")
	d.skip()
	d.write("name needed", "Northgate drums")
	d.pick("buyer", "Northgate Packing")
	d.write("contract or text needed", "NP-3")
	d.follow("Put it in the book")
	d.reads("This is missing")
	d.skip()
	d.pick("form needed", "every limit has to be met")
	d.pick("parameter needed", "moisture")
	d.pick("unit", "%")
	d.pick("is to be needed", "at most")
	d.write("limit", "18.5")
	d.write("clause", "4")
	d.follow("Put it in the book")
	d.reads("Northgate drums", "18.5")
	if sets := h.ask(t, "rule-sets"); len(sets) == 0 {
		t.Error("the book has no limits of the buyer's")
	}
}

func keysPerson(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Settings")
	d.skip()
	d.follow("People, tokens and tablets")
	d.skip()
	d.write("Name", "Linnet")
	d.pick("Role", "crew")
	d.follow("Add")
	d.reads("The password of Linnet is:")
}

func keysImport(t *testing.T, d *browser, h *lotHouse) {
	file := filepath.Join(t.TempDir(), "old pulls.csv")
	if err := os.WriteFile(file, []byte(oldPulls), 0o600); err != nil {
		t.Fatal(err)
	}
	d.follow("Settings")
	d.skip()
	d.follow("Bring old sheets in")
	d.skip()
	d.pick("Each row is", "pulls")
	d.tabTo("File")
	d.chooseFile(file)
	d.tabTo("Look at it")
	d.answers(kb.Enter)
	d.pick("What is Alder Bnd?", "Alder Bend, spelt otherwise")
	d.pick("What is Mill Race?", "a new one: set it up")
	d.tabTo("Leave out rows of totals")
	d.press(" ")
	d.tabTo("Look again")
	d.answers(kb.Enter)
	d.tabTo("Bring it in")
	d.answers(kb.Enter)
	d.reads("It is in the book")
	d.follow("Look at it or take it back")
	if pulls, yards := h.ask(t, "pulls"), h.ask(t, "yards"); len(pulls) != 4 || len(yards) != 3 {
		t.Errorf("the book has %d pulls and %d yards, not 4 and 3", len(pulls), len(yards))
	}
}

// answers presses a key that has the page of imports ask for an answer, and waits for
// it. The focus is where it begins.
func (b *browser) answers(key string) {
	b.t.Helper()
	evaluated[bool](b, `self.before = document.getElementById('answer').firstElementChild, true`)
	b.press(key)
	b.until(`document.getElementById('answer').firstElementChild && document.getElementById('answer').firstElementChild !== self.before && document.getElementById('on-its-way').hidden`)
	b.until(`document.getElementById('answer').contains(document.activeElement)`)
}

// chooseFile opens the browser's own window for files by a key, and chooses one in it.
func (b *browser) chooseFile(file string) {
	b.t.Helper()
	opened := make(chan cdp.BackendNodeID, 1)
	if err := chromedp.Listen(b.ctx, func(event any) {
		if e, ok := event.(*page.EventFileChooserOpened); ok {
			opened <- e.BackendNodeID
		}
	}); err != nil {
		b.t.Fatal(err)
	}
	b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.SetInterceptFileChooserDialog, page.SetInterceptFileChooserDialogParams{Enabled: true})
		return err
	}))
	b.press(kb.Enter)
	select {
	case field := <-opened:
		b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{file}, BackendNodeID: field})
			return err
		}))
	case <-b.ctx.Done():
		b.t.Fatal("no window for files was opened")
	}
}

func keysLanguage(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Español")
	d.reads("Temporada")
	d.follow("English")
}

func keysCalculator(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Calculators")
	d.skip()
	d.pick("The instrument shows", "refractive index")
	d.write("Reading", "1.4935")
	d.goes(kb.Enter)
	d.reads("17.20 %")
}

func keysPrint(t *testing.T, d *browser, h *lotHouse) {
	d.follow("Printing")
	d.skip()
	d.follow("labels L-1")
	d.reads("D-1")
	d.follow("Sign out")
	d.reads("Password")
}
