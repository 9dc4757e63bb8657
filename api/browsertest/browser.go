// Package browsertest looks at pages and uses them in a Chromium, as people do. The tests
// stand in packages below it: screens looks at each page, paper at what is printed, work does
// whole jobs of an evening, recording does what the shed records, by touch and by keys, trust brings
// a device to trust the program itself.
package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
)

// Browser is a Chromium with one page open.
type Browser struct {
	T   testing.TB
	Ctx context.Context
	// whole lasts as long as the test; ctx may end before, so that nothing hangs.
	Whole context.Context
	// origin is by which way it reaches services.
	Origin apitest.Origin

	// cutOff is a device whose way to the book fails on purpose: what Chromium's log
	// says of answers that failed is no complaint; of files that are not there it is.
	CutOff bool

	// ringed are the sorts of things whose line around them was looked at.
	ringed map[string]bool

	// touches counts those of a finger.
	Touches int
	// WithoutGloves lets a finger touch what is smaller than the recording page's: elsewhere
	// axe-core holds targets to their size.
	WithoutGloves bool

	// Anew is whether the page that was looked at last has something made as nothing
	// was that was looked at before it.
	Anew bool

	// width and height are those of the window.
	width, height int64

	Mu sync.Mutex
	// Said is what the console, the log and uncaught errors said since a page
	// was opened.
	Said []string
}

// Start starts a Chromium without the parts around a page, where there is one: it shows
// the same and takes half as much of the processor. PULLBOOK_CHROMIUM names another;
// .ci/run does the whole jobs in the whole browser too. Start fails, and does not skip,
// where there is no Chromium: what it checks is checked nowhere else. More options win over
// those that all tests have.
func Start(t testing.TB, more ...chromedp.ExecAllocatorOption) *Browser {
	t.Helper()
	off := func(what string) chromedp.ExecAllocatorOption { return chromedp.Flag("disable-"+what, true) }
	allocator, cancel := chromedp.NewExecAllocator(context.Background(), slices.Concat(chromedp.DefaultExecAllocatorOptions[:], namesAreHere(), []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(chromium(t)), chromedp.NoSandbox, chromedp.DisableGPU,
		off("quic"), off("component-update"), chromedp.Flag("lang", "en")}, more)...)
	t.Cleanup(cancel)
	ctx, cancel := chromedp.NewContext(allocator)
	t.Cleanup(cancel)
	b := &Browser{T: t, Ctx: ctx, Whole: ctx, Origin: apitest.OverHTTP}
	if err := chromedp.Listen(ctx, b.listen); err != nil {
		t.Fatalf("Chromium did not start: %v", err)
	}
	b.Ctx, cancel = context.WithTimeout(ctx, 180*time.Second)
	t.Cleanup(cancel)
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		if _, err := cdp.Call(ctx, target, cdplog.Enable, cdp.Empty{}); err != nil {
			return err
		}
		_, err := cdp.Call(ctx, target, runtime.Enable, cdp.Empty{})
		return err
	}))
	b.Media()
	return b
}

func chromium(t testing.TB) string {
	t.Helper()
	for _, name := range []string{os.Getenv("PULLBOOK_CHROMIUM"), "chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil {
			return found
		}
	}
	t.Fatal("No Chromium to look at the pages with. Install it (Debian: apt-get install chromium; Fedora: dnf install chromium), or name it in PULLBOOK_CHROMIUM.")
	return ""
}

func (b *Browser) listen(event any) {
	b.Mu.Lock()
	defer b.Mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		var words []string
		for _, a := range e.Args {
			words = append(words, string(a.Value))
		}
		b.Said = append(b.Said, fmt.Sprintf("console %s: %s", e.Type, strings.Join(words, " ")))
	case *runtime.EventExceptionThrown:
		b.Said = append(b.Said, "uncaught: "+e.ExceptionDetails.Text)
	case *cdplog.EventEntryAdded:
		if b.CutOff && strings.HasPrefix(e.Entry.Text, "Failed to load resource") && !strings.Contains(e.Entry.Text, "404") {
			return
		}
		b.Said = append(b.Said, fmt.Sprintf("%s %s: %s %s", e.Entry.Source, e.Entry.Level, e.Entry.Text, e.Entry.URL))
	}
}

// Do takes the steps one after the other. A step whose element went away with the page
// that it was found in is taken again, in the page that came: it had touched nothing.
func (b *Browser) Do(steps ...chromedp.Action[chromedp.Void]) {
	b.T.Helper()
	for _, step := range steps {
		err := chromedp.Do(b.Ctx, step)
		for wentAway(err) {
			err = chromedp.Do(b.Ctx, step)
		}
		if err != nil {
			b.T.Fatalf("in the browser: %v", err)
		}
	}
}

// wentAway reports whether an element was found, and its page left before it could be
// looked at. Mouse and keys need no element, so a step that pressed one never fails so.
func wentAway(err error) bool {
	var refused *cdproto.Error
	return errors.As(err, &refused) && refused.Code == -32000 && slices.Contains([]string{
		"Could not find node with given id", "Node with given id does not belong to the document", "Node is detached from document",
	}, refused.Message)
}

// Evaluated is what a script comes to in the page that is open.
func Evaluated[T any](b *Browser, script string) T {
	b.T.Helper()
	v, err := chromedp.Run(b.Ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.T.Fatalf("in the browser: %v", err)
	}
	return v
}

// Resize gives the window a size, in CSS pixels, and waits until the page is laid out for
// it: without that a script measures the page as it was.
func (b *Browser) Resize(width, height int64) {
	b.T.Helper()
	if b.width == width && b.height == height {
		return
	}
	b.width, b.height = width, height
	b.Do(chromedp.EmulateViewport(width, height))
	Evaluated[bool](b, fmt.Sprintf(`new Promise(done => {
		const look = () => innerWidth === %d && innerHeight === %d ? requestAnimationFrame(() => done(true)) : requestAnimationFrame(look)
		requestAnimationFrame(look)
	})`, width, height))
}

func (b *Browser) Open(url string) {
	b.T.Helper()
	b.Mu.Lock()
	b.Said = nil
	b.Mu.Unlock()
	b.Do(chromedp.Navigate(url), chromedp.WaitReady(chromedp.CSS("main")))
	Evaluated[bool](b, `Promise.all([...document.images].map(i => i.decode())).then(() => true)`)
}

// SignIn types name and password into the page's form.
func (b *Browser) SignIn(h *apitest.House) {
	b.T.Helper()
	b.SignInAt(h, "Tamsin", h.Password)
}

func (b *Browser) SignInAt(h *apitest.House, name, password string) {
	b.T.Helper()
	b.Open(b.At(h) + "/")
	b.Do(chromedp.SetValue(chromedp.CSS("#outfit"), h.Name), chromedp.SendKeys(chromedp.CSS("#name"), name),
		chromedp.SendKeys(chromedp.CSS("#password"), password+"\n"), chromedp.WaitVisible(chromedp.CSS(".who button")))
}

func (b *Browser) SignOut(h *apitest.House) {
	b.T.Helper()
	b.Open(b.At(h) + "/")
	b.Do(chromedp.Click(chromedp.CSS(".who button")), chromedp.WaitVisible(chromedp.CSS("#password")))
}

// Speak chooses a language, as the form at the foot of the page does.
func (b *Browser) Speak(h *apitest.House, lang string) {
	b.T.Helper()
	b.Open(b.At(h) + "/")
	Evaluated[bool](b, `fetch('/language', {method: 'POST', body: new URLSearchParams({language: '`+lang+`', back: '/'})}).then(r => r.ok)`)
}

// Complain fails the test for what is wrong with the page that is open.
func (b *Browser) Complain(name string) {
	b.T.Helper()
	for what, all := range b.Complaints() {
		for _, one := range all {
			b.T.Errorf("%s: %s: %s", name, what, one)
		}
	}
	b.Mu.Lock()
	defer b.Mu.Unlock()
	for _, line := range b.Said {
		b.T.Errorf("%s: the browser said: %s", name, line)
	}
}

// captured is what the window shows, as PNG, packed in a hurry.
func (b *Browser) captured(of page.CaptureScreenshotParams) []byte {
	b.T.Helper()
	yes := true
	of.FromSurface, of.OptimizeForSpeed = &yes, &yes
	var image []byte
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		shot, err := cdp.Call(ctx, target, page.CaptureScreenshot, of)
		image = shot.Data
		return err
	}))
	return image
}

// Picture keeps the whole page, at the width of the window, as an image, where somebody
// asked for pictures.
func (b *Browser) Picture(name string, width, height int64) {
	b.T.Helper()
	if os.Getenv("PULLBOOK_TEST_PICTURES") == "" {
		return
	}
	b.Resize(width, Evaluated[int64](b, `document.documentElement.scrollHeight`))
	Keep(b.T, name+".png", b.captured(page.CaptureScreenshotParams{}))
	b.Resize(width, height)
}

// Keep writes what people may want to look at, a picture or a print, into the folder
// that PULLBOOK_TEST_PICTURES names. Without that it does nothing.
func Keep(t testing.TB, name string, content []byte) {
	t.Helper()
	folder := os.Getenv("PULLBOOK_TEST_PICTURES")
	if folder == "" {
		return
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, name), content, 0o644); err != nil {
		t.Fatal(err)
	}
}

// Device is a phone or tablet of its own in a browser that others share: it has
// its own store, cookies and worker.
func (b *Browser) Device(t testing.TB, language string) *Browser {
	t.Helper()
	return b.another(t, language, chromedp.WithNewBrowserContext())
}

// Tab is another tab of the same device.
func (b *Browser) Tab(language string) *Browser {
	b.T.Helper()
	return b.another(b.T, language)
}

func (b *Browser) another(t testing.TB, language string, options ...chromedp.ContextOption) *Browser {
	t.Helper()
	whole, cancel := chromedp.NewContext(b.Whole, options...)
	t.Cleanup(cancel)
	d := &Browser{T: t, Whole: whole, Origin: b.Origin, CutOff: true}
	if err := chromedp.Listen(whole, d.listen); err != nil {
		t.Fatal(err)
	}
	d.Ctx, cancel = context.WithTimeout(whole, 150*time.Second)
	t.Cleanup(cancel)
	d.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, cdplog.Enable, cdp.Empty{})
		_, err2 := cdp.Call(ctx, target, runtime.Enable, cdp.Empty{})
		_, err3 := cdp.Call(ctx, target, network.Enable, network.EnableParams{})
		_, err4 := cdp.Call(ctx, target, network.SetExtraHTTPHeaders, network.SetExtraHTTPHeadersParams{Headers: network.Headers{"Accept-Language": language}})
		_, err5 := cdp.Call(ctx, target, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
		return errors.Join(err, err2, err3, err4, err5)
	}))
	d.Media()
	d.Resize(390, 780)
	return d
}

// Until waits for a condition in the page.
func (b *Browser) Until(condition string) {
	b.T.Helper()
	for deadline := time.Now().Add(40 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		got, err := chromedp.Run(b.Ctx, chromedp.Evaluate[bool]("Boolean("+condition+")"))
		if err == nil && got {
			return
		}
		if time.Now().After(deadline) {
			shown, _ := chromedp.Run(b.Ctx, chromedp.Evaluate[string](`location.hash + ' at ' + scrollY + ', ' + document.activeElement?.id + '\n' + document.body.innerText.slice(0, 1500)`))
			b.T.Fatalf("it never came to: %s (%v)\nthe page reads:\n%s\nthe browser said: %s", condition, err, shown, strings.Join(b.Said, "\n"))
		}
	}
}

func (b *Browser) Text(selector string) string {
	b.T.Helper()
	return Evaluated[string](b, fmt.Sprintf(`document.querySelector(%q)?.innerText ?? ''`, selector))
}

// NoNetwork cuts a device off: its line, and what the browser says of it.
func (b *Browser) NoNetwork(l *apitest.Line, off bool) {
	b.T.Helper()
	l.Cut.Store(off)
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: off})
		return err
	}))
}

// WithoutScripts has the device run none of the pages' scripts.
func (b *Browser) WithoutScripts() {
	b.T.Helper()
	b.CutOff = true // the log says of each script that it was not loaded
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, network.SetBlockedURLs, network.SetBlockedURLsParams{URLPatterns: []*network.BlockPattern{{URLPattern: "*://*:*/assets/*.js", Block: true}}})
		return err
	}))
}

// LoseCookies ends the device's sign-in, as time does.
func (b *Browser) LoseCookies() {
	b.T.Helper()
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, network.ClearBrowserCookies, cdp.Empty{})
		return err
	}))
}
