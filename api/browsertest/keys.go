package browsertest

import (
	"bytes"
	"context"
	"encoding/json"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// held is what has the focus.
type held struct {
	// Name and Role are what a screen reader says of it.
	Name, Role string
	// What it is in the page's own terms.
	What string
}

// Here is what has the focus; nothing where nothing has. Whatever is stopped at by
// the keyboard has a name, and shows that it has the focus.
func (b *Browser) Here() held {
	b.T.Helper()
	shows := Evaluated[*stop](b, focusHere)
	// A busy browser is still on its way to what has the focus: it glides there.
	for range 40 {
		if shows == nil || len(shows.Wrong) == 0 {
			break
		}
		time.Sleep(50 * time.Millisecond)
		shows = Evaluated[*stop](b, focusHere)
	}
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
		b.T.Errorf("%s: %s %s", Evaluated[string](b, `location.pathname + location.hash`), h.What, wrong)
	}
	if h.Name == "" {
		b.T.Errorf("%s: %s has no name", Evaluated[string](b, `location.pathname + location.hash`), h.What)
	}
	if b.ringed == nil {
		b.ringed = map[string]bool{}
	}
	if sort := h.Role + " in " + Evaluated[string](b, `document.activeElement.parentElement.tagName + '.' + document.activeElement.parentElement.className`); !b.ringed[sort] && len(shows.Wrong) == 0 {
		b.ringed[sort] = true
		b.ring(h.What)
	}
	return h
}

// ring looks at the line around what has the focus, in pixels: taken away, it leaves
// others behind, that are told from it by 3 to 1, along two pixels of most of its edge.
func (b *Browser) ring(what string) {
	b.T.Helper()
	want, changed := 0., 0
	// A busy browser may show a moment later what has the focus, and the page may have moved
	// on below it meanwhile: where it is, is asked each time.
	for range 5 {
		clip, within := b.ringedBox()
		if !within {
			return
		}
		want = 0.8 * 2 * 2 * (clip.Width - 2*aroundRing + clip.Height - 2*aroundRing)
		if changed = b.changedByLine(clip); float64(changed) >= want {
			return
		}
		time.Sleep(200 * time.Millisecond)
	}
	b.T.Errorf("%s: the line around %s is %d pixels, not %.0f", Evaluated[string](b, `location.pathname + location.hash`), what, changed, want)
}

// aroundRing is how far around what has the focus is looked, in pixels.
const aroundRing = 8

// ringedBox is what has the focus with some room around it; within is false where it is at
// the window's edge, or in two lines.
func (b *Browser) ringedBox() (clip page.Viewport, within bool) {
	b.T.Helper()
	box := Evaluated[[]float64](b, `(() => {
		const e = document.activeElement, r = (getComputedStyle(e).opacity === '0' ? e.nextElementSibling : e).getBoundingClientRect()
		return e.getClientRects().length > 1 || r.left < 8 || r.top < 8 || r.right > innerWidth - 8 || r.bottom > innerHeight - 8 ? [] : [r.left + scrollX, r.top + scrollY, r.width, r.height]
	})()`)
	if len(box) == 0 {
		return clip, false
	}
	return page.Viewport{X: box[0] - aroundRing, Y: box[1] - aroundRing, Width: box[2] + 2*aroundRing, Height: box[3] + 2*aroundRing, Scale: 1}, true
}

// changedByLine is how many pixels the line around what has the focus makes others.
func (b *Browser) changedByLine(clip page.Viewport) (changed int) {
	b.T.Helper()
	with := b.pixels(clip)
	Evaluated[int](b, `(self.unlined = new CSSStyleSheet(), self.unlined.replaceSync('* { outline: none !important }'), document.adoptedStyleSheets.push(self.unlined))`)
	without := b.pixels(clip)
	Evaluated[int](b, `document.adoptedStyleSheets.splice(document.adoptedStyleSheets.indexOf(self.unlined), 1).length`)
	for y := with.Bounds().Min.Y; y < with.Bounds().Max.Y; y++ {
		for x := with.Bounds().Min.X; x < with.Bounds().Max.X; x++ {
			if ContrastOf(with.At(x, y), without.At(x, y)) >= 3 {
				changed++
			}
		}
	}
	return changed
}

func (b *Browser) pixels(clip page.Viewport) image.Image {
	b.T.Helper()
	yes := true
	decoded, err := png.Decode(bytes.NewReader(b.captured(page.CaptureScreenshotParams{Clip: &clip, CaptureBeyondViewport: &yes})))
	if err != nil {
		b.T.Fatal(err)
	}
	return decoded
}

// ContrastOf is the contrast of two colours (WCAG 2.2, relative luminance).
func ContrastOf(one, other color.Color) float64 {
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
func (b *Browser) readOut(element string) (name, role string) {
	b.T.Helper()
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
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

// TabTo goes on by Tab to what has a name. Each stop on the way is held to what here
// holds it to.
func (b *Browser) TabTo(name string, with ...chromedp.Modifier) held {
	b.T.Helper()
	var passed []string
	for out := 0; out < 2 && len(passed) < 500; {
		b.Press(kb.Tab, with...)
		h := b.Here()
		if h.Name == name {
			return h
		}
		if h.What == "" {
			out++ // once through, and from the other end on
		}
		passed = append(passed, h.Role+" "+h.Name)
	}
	b.T.Fatalf("%s: Tab does not come to %q, but to\n%s", Evaluated[string](b, `location.pathname + location.hash`), name, strings.Join(passed[:min(len(passed), 120)], "\n"))
	return held{}
}

// Back goes back to what has a name.
func (b *Browser) Back(name string) held {
	b.T.Helper()
	return b.TabTo(name, chromedp.ModifierShift)
}

// Goes presses a key that leads to another page, and waits until that is there.
func (b *Browser) Goes(key string) {
	b.T.Helper()
	Evaluated[bool](b, `self.pageBefore = true`)
	b.Press(key)
	b.Until(`self.pageBefore === undefined && document.readyState === 'complete'`)
}

// Follow goes to a link or a button, and where it leads.
func (b *Browser) Follow(name string) {
	b.T.Helper()
	b.TabTo(name)
	b.Goes(kb.Enter)
}

// Menu unfolds the menu and follows a line of it.
func (b *Browser) Menu(name string) {
	b.T.Helper()
	b.TabTo(Evaluated[string](b, `document.querySelector('.menu summary').innerText.replace(/\s+/g, ' ').trim()`))
	b.Press(kb.Enter)
	b.Until(`document.querySelector('.menu').open`)
	b.Follow(name)
}

// Skip skips what is the same on every page.
func (b *Browser) Skip() {
	b.T.Helper()
	b.TabTo("Skip to the page's content")
	b.Press(kb.Enter)
	b.Until(`document.activeElement.id === 'content'`)
}

// Write goes to a field and writes in it, over what stands there.
func (b *Browser) Write(name, text string) {
	b.T.Helper()
	b.TabTo(name)
	b.Press(text)
}

// Pick goes to a list and chooses a line of it by arrows.
func (b *Browser) Pick(name, line string) {
	b.T.Helper()
	b.TabTo(name)
	b.Press(kb.Home)
	for range Evaluated[int](b, `document.activeElement.length`) {
		if b.chosen() == line {
			return
		}
		b.Press(kb.ArrowDown)
	}
	if b.chosen() != line {
		b.T.Fatalf("%s has no line %q", name, line)
	}
}

func (b *Browser) chosen() string {
	b.T.Helper()
	return Evaluated[string](b, `document.activeElement.selectedOptions[0].text`)
}

// Reads fails unless the page says something.
func (b *Browser) Reads(texts ...string) {
	b.T.Helper()
	shown := strings.ReplaceAll(Evaluated[string](b, `document.body.innerText`), "\u00a0", " ")
	for _, text := range texts {
		if !strings.Contains(shown, text) {
			b.T.Errorf("%s does not say %q:\n%s", Evaluated[string](b, `location.pathname`), text, shown[:min(len(shown), 2500)])
		}
	}
}

// Answers presses a key that has the page of imports ask for an answer, and waits for
// it. The focus is where it begins.
func (b *Browser) Answers(key string) {
	b.T.Helper()
	Evaluated[bool](b, `self.before = document.getElementById('answer').firstElementChild, true`)
	b.Press(key)
	b.Until(`document.getElementById('answer').firstElementChild && document.getElementById('answer').firstElementChild !== self.before && document.getElementById('on-its-way').hidden`)
	b.Until(`document.getElementById('answer').contains(document.activeElement)`)
}

// ChooseFile opens the browser's own window for files by a key, and chooses one in it.
func (b *Browser) ChooseFile(file string) {
	b.T.Helper()
	b.ChooseFileBy(file, func() { b.Press(kb.Enter) })
}

// ChooseFileBy is ChooseFile where something else opens the window for files.
func (b *Browser) ChooseFileBy(file string, opens func()) {
	b.T.Helper()
	opened := make(chan cdp.BackendNodeID, 1)
	if err := chromedp.Listen(b.Ctx, func(event any) {
		if e, ok := event.(*page.EventFileChooserOpened); ok {
			select {
			case opened <- e.BackendNodeID:
			default: // it was for another file
			}
		}
	}); err != nil {
		b.T.Fatal(err)
	}
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.SetInterceptFileChooserDialog, page.SetInterceptFileChooserDialogParams{Enabled: true})
		return err
	}))
	opens()
	select {
	case field := <-opened:
		b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{file}, BackendNodeID: field})
			return err
		}))
	case <-b.Ctx.Done():
		b.T.Fatal("no window for files was opened")
	}
}
