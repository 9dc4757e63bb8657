package api_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browser is a Chromium with one page open.
type browser struct {
	t   testing.TB
	ctx context.Context
	// whole lasts as long as the test; ctx may end before, so that nothing hangs.
	whole context.Context
	axe   string
	// origin is by which way it reaches services.
	origin origin

	// cutOff is a device whose way to the book fails on purpose: what Chromium's log
	// says of answers that failed is no complaint; of files that are not there it is.
	cutOff bool

	// ringed are the sorts of things whose line around them was looked at.
	ringed map[string]bool

	// touches counts those of a finger.
	touches int

	mu sync.Mutex
	// said is what the console, the log and uncaught errors said since a page
	// was opened.
	said []string
}

// startBrowser fails, and does not skip, where there is no Chromium: what it
// checks is checked nowhere else.
func startBrowser(t testing.TB) *browser {
	t.Helper()
	return start(t, "chromium", "chromium-browser", "google-chrome")
}

// startViewer is a Chromium without the parts around a page, where there is one: it
// draws the same and takes a third less of the processor. It is for tests that look at
// pages; what a person does is tried in the whole browser.
func startViewer(t testing.TB) *browser {
	t.Helper()
	return start(t, "chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
}

func start(t testing.TB, programs ...string) *browser {
	t.Helper()
	axe, err := os.ReadFile("testdata/axe-core/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	off := func(what string) chromedp.ExecAllocatorOption { return chromedp.Flag("disable-"+what, true) }
	allocator, cancel := chromedp.NewExecAllocator(context.Background(), slices.Concat(chromedp.DefaultExecAllocatorOptions[:], namesAreHere(), []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(chromium(t, programs)), chromedp.NoSandbox, chromedp.DisableGPU,
		off("quic"), off("component-update"), chromedp.Flag("lang", "en")})...)
	t.Cleanup(cancel)
	ctx, cancel := chromedp.NewContext(allocator)
	t.Cleanup(cancel)
	b := &browser{t: t, ctx: ctx, whole: ctx, axe: string(axe), origin: chosenOrigins()[0]}
	if err := chromedp.Listen(ctx, b.listen); err != nil {
		t.Fatalf("Chromium did not start: %v", err)
	}
	b.ctx, cancel = context.WithTimeout(ctx, 180*time.Second)
	t.Cleanup(cancel)
	b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		if _, err := cdp.Call(ctx, target, cdplog.Enable, cdp.Empty{}); err != nil {
			return err
		}
		_, err := cdp.Call(ctx, target, runtime.Enable, cdp.Empty{})
		return err
	}))
	b.media()
	return b
}

func chromium(t testing.TB, programs []string) string {
	t.Helper()
	for _, name := range append([]string{os.Getenv("PULLBOOK_CHROMIUM")}, programs...) {
		if found, err := exec.LookPath(name); err == nil {
			return found
		}
	}
	t.Fatal("No Chromium to look at the pages with. Install it (Debian: apt-get install chromium; Fedora: dnf install chromium), or name it in PULLBOOK_CHROMIUM.")
	return ""
}

func (b *browser) listen(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		var words []string
		for _, a := range e.Args {
			words = append(words, string(a.Value))
		}
		b.said = append(b.said, fmt.Sprintf("console %s: %s", e.Type, strings.Join(words, " ")))
	case *runtime.EventExceptionThrown:
		b.said = append(b.said, "uncaught: "+e.ExceptionDetails.Text)
	case *cdplog.EventEntryAdded:
		if b.cutOff && strings.HasPrefix(e.Entry.Text, "Failed to load resource") && !strings.Contains(e.Entry.Text, "404") {
			return
		}
		b.said = append(b.said, fmt.Sprintf("%s %s: %s %s", e.Entry.Source, e.Entry.Level, e.Entry.Text, e.Entry.URL))
	}
}

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatalf("in the browser: %v", err)
	}
}

// evaluated is what a script comes to in the page that is open.
func evaluated[T any](b *browser, script string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("in the browser: %v", err)
	}
	return v
}

func (b *browser) resize(width, height int64) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(width, height))
}

func (b *browser) open(url string) {
	b.t.Helper()
	b.mu.Lock()
	b.said = nil
	b.mu.Unlock()
	b.do(chromedp.Navigate(url), chromedp.WaitReady(chromedp.CSS("main")))
	evaluated[bool](b, `Promise.all([...document.images].map(i => i.decode())).then(() => true)`)
}

// signIn types name and password into the page's form.
func (b *browser) signIn(h *pageHouse) {
	b.t.Helper()
	b.signInAt(h, "Tamsin", h.password)
}

func (b *browser) signInAt(h *pageHouse, name, password string) {
	b.t.Helper()
	b.open(b.at(h) + "/")
	b.do(chromedp.SetValue(chromedp.CSS("#outfit"), h.name), chromedp.SendKeys(chromedp.CSS("#name"), name),
		chromedp.SendKeys(chromedp.CSS("#password"), password+"\n"), chromedp.WaitVisible(chromedp.CSS(".who button")))
}

func (b *browser) signOut(h *pageHouse) {
	b.t.Helper()
	b.open(b.at(h) + "/")
	b.do(chromedp.Click(chromedp.CSS(".who button")), chromedp.WaitVisible(chromedp.CSS("#password")))
}

// speak chooses a language, as the form at the foot of the page does.
func (b *browser) speak(h *pageHouse, lang string) {
	b.t.Helper()
	b.open(b.at(h) + "/")
	evaluated[bool](b, `fetch('/language', {method: 'POST', body: new URLSearchParams({language: '`+lang+`', back: '/'})}).then(r => r.ok)`)
}

// complain fails the test for what is wrong with the page that is open.
func (b *browser) complain(name string, but ...string) {
	b.t.Helper()
	for what, all := range b.complaints(but...) {
		for _, one := range all {
			b.t.Errorf("%s: %s: %s", name, what, one)
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, line := range b.said {
		b.t.Errorf("%s: the browser said: %s", name, line)
	}
}

// captured is what the window shows, as PNG, packed in a hurry.
func (b *browser) captured(of page.CaptureScreenshotParams) []byte {
	b.t.Helper()
	yes := true
	of.FromSurface, of.OptimizeForSpeed = &yes, &yes
	var image []byte
	b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		shot, err := cdp.Call(ctx, target, page.CaptureScreenshot, of)
		image = shot.Data
		return err
	}))
	return image
}

// picture keeps the whole page, at the width of the window, as an image.
func (b *browser) picture(file string, width, height int64) {
	b.t.Helper()
	b.resize(width, evaluated[int64](b, `document.documentElement.scrollHeight`))
	image := b.captured(page.CaptureScreenshotParams{})
	b.resize(width, height)
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(file, image, 0o644); err != nil {
		b.t.Fatal(err)
	}
}
