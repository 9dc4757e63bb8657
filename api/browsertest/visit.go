package browsertest

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
)

// Screen is a page as somebody sees it. A new page joins a list of a visitor's.
type Screen struct {
	Name string
	// route answers with it, as the server writes it: with its method, where that is
	// not GET. It is empty where no route does.
	Route string
	// Path is where it is; sent, where there is any, is the form that is sent there.
	Path string
	Sent url.Values
	// by is what somebody does there before it is looked at.
	By func(*Browser)
}

// SetsOf are pages that are always there.
func SetsOf(paths ...string) (out []Screen) {
	for _, path := range paths {
		name := strings.ReplaceAll(cmp.Or(strings.TrimPrefix(path, "/"), "today"), "/", "-")
		out = append(out, Screen{Name: name, Route: path, Path: path})
	}
	return out
}

// Unfold opens all that is folded.
func (b *Browser) Unfold() {
	b.T.Helper()
	Evaluated[bool](b, `(document.querySelectorAll('main details').forEach(e => { e.open = true }), true)`)
}

// LookAtSheet has the page of imports look at a sheet of a kind that leaves questions, and
// unfolds them all.
func (b *Browser) LookAtSheet(t *testing.T, kind, content string) {
	b.T.Helper()
	file := filepath.Join(b.T.TempDir(), "old sheet.csv")
	if err := os.WriteFile(file, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	b.Do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file}))
	Evaluated[bool](b, fmt.Sprintf(`document.getElementById('kind').value = %q, document.querySelector('#import button[value=look]').click(), true`, kind))
	b.Until(`document.querySelector('#answer #problems') && document.getElementById('on-its-way').hidden`)
	b.Unfold()
}

// BecomeTablet makes the browser a tablet of the shed that somebody may unlock.
func (b *Browser) BecomeTablet(t *testing.T, h *apitest.House) {
	b.T.Helper()
	who, err := h.Operator.PersonCalled(b.T.Context(), h.Outfit, "Tamsin")
	if err != nil {
		b.T.Fatal(err)
	}
	h.Send(t, http.MethodPost, "/settings/people/"+who.ID.String(), url.Values{"do": {"code"}, "code": {"82640"}}, nil)
	b.SignIn(h)
	b.Open(b.At(h) + "/settings/people")
	b.Do(chromedp.SendKeys(chromedp.CSS("#tablet-name"), "By the extractor\n"), chromedp.WaitVisible(chromedp.CSS("#code")))
}

// AllKinds are what the recording page has a screen for.
var AllKinds = []string{"reading", "pull", "transfer", "fill", "temperature", "stocktake", "wash", "signs", "run", "start", "supers", "load", "out", "end", "check", "hives"}

// RecordingScreens are the first screen and those of some kinds of entries.
func RecordingScreens(kinds ...string) []Screen {
	out := SetsOf("/record")
	for _, kind := range kinds {
		out = append(out, Screen{Name: kind, Route: "/record", Path: "/record#" + kind})
	}
	return out
}

// Show opens a screen, and waits until it is all there.
func (b *Browser) Show(h *apitest.House, s Screen) {
	b.T.Helper()
	b.Patience()
	path, part, _ := strings.Cut(s.Path, "#")
	switch {
	case s.Sent != nil:
		b.submit(path, s.Sent)
	case path == "/record":
		b.Open(b.At(h) + s.Path)
		// The page is the same for each part, and a browser goes there without
		// opening it anew.
		at := map[string]string{"": "home", "run": "run"}[part]
		if at == "" {
			at = "form"
		}
		b.Until(fmt.Sprintf(`document.documentElement.dataset.ready === 'true' && document.querySelector('.net.online') && !document.getElementById(%q).hidden
			&& (%[1]q !== 'form' || document.getElementById('form').dataset.kind === %[2]q)`, at, part))
	default:
		b.Open(b.At(h) + s.Path)
	}
	// The log says of a page that comes with an error's status that it failed.
	b.Mu.Lock()
	b.Said = slices.DeleteFunc(b.Said, func(line string) bool { return strings.HasSuffix(line, " "+b.At(h)+s.Path) })
	b.Mu.Unlock()
	if s.By != nil {
		s.By(b)
	}
}

// submit sends a form from the page that is open, and waits for the page that answers.
func (b *Browser) submit(path string, form url.Values) {
	b.T.Helper()
	var fields strings.Builder
	for _, name := range slices.Sorted(maps.Keys(form)) {
		fmt.Fprintf(&fields, "field(%q, %q);", name, form.Get(name))
	}
	b.Mu.Lock()
	b.Said = nil
	b.Mu.Unlock()
	Evaluated[bool](b, fmt.Sprintf(`(() => {
		const form = Object.assign(document.createElement('form'), {method: 'post', action: %q})
		const field = (name, value) => form.append(Object.assign(document.createElement('input'), {type: 'hidden', name, value}));
		%s
		document.body.append(form)
		self.pageBefore = true
		HTMLFormElement.prototype.submit.call(form)
		return true
	})()`, path, fields.String()))
	b.Until(`self.pageBefore === undefined && document.readyState === 'complete'`)
}

// Patience gives what comes next a time of its own.
func (b *Browser) Patience() {
	b.T.Helper()
	ctx, cancel := context.WithTimeout(b.Whole, 120*time.Second)
	b.T.Cleanup(cancel)
	b.Ctx = ctx
}
