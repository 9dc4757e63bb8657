package api_test

import (
	"strings"
	"testing"
	"time"

	"pullbook/db"
	"pullbook/domain/invented"
	"pullbook/domain/ledger"
)

// firstLink is the first address on a page that leads into a folder.
func (b *browser) firstLink(h *pageHouse, page, within string) string {
	b.t.Helper()
	b.open(h.url + page)
	return evaluated[string](b, `new URL(document.querySelector('a[href^="`+within+`/"]').href).pathname`)
}

// tankWith is the address of the tank whose card says something.
func (b *browser) tankWith(h *pageHouse, text string) string {
	b.t.Helper()
	b.open(h.url + "/tanks")
	return evaluated[string](b, `new URL([...document.querySelectorAll('.tank')].find(e => e.innerText.includes('`+text+`')).querySelector('a').href).pathname`)
}

// speak chooses a language, as the form at the foot of the page does.
func (b *browser) speak(h *pageHouse, lang string) {
	b.t.Helper()
	b.open(h.url + "/")
	evaluated[bool](b, `fetch('/language', {method: 'POST', body: new URLSearchParams({language: '`+lang+`', back: '/'})}).then(r => r.ok)`)
}

// lookInBothLanguages looks at screens, by name, in all windows; in Spanish in the
// widest and the narrowest.
func (b *browser) lookInBothLanguages(h *pageHouse, of string, screens map[string]string) {
	b.t.Helper()
	for _, one := range []struct {
		lang string
		size size
	}{{"en", sizes[0]}, {"es", sizes[0]}, {"en", sizes[1]}, {"es", sizes[2]}, {"en", sizes[2]}} {
		b.resize(one.size.width, one.size.height)
		b.speak(h, one.lang)
		look := b.lookAt(one.size)
		for name, path := range screens {
			look(of+"-"+one.lang+"-"+name, h, path)
		}
	}
}

// TestTheScreensToLookWith looks at the manager's screens of the demo season in
// both languages.
func TestTheScreensToLookWith(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	h := pagesOf(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, invented.Demo(loc).Entries)
	b := startBrowser(t)
	b.resize(1280, 800)
	b.signIn(h)
	screens := map[string]string{
		"today": "/", "season": "/season", "tanks": "/tanks", "findings": "/findings",
		"tank": b.tankWith(h, "settling tank"), "yard": b.firstLink(h, "/season", "/yards"),
	}
	b.lookInBothLanguages(h, "look", screens)
}

// TestTheScreensToLookWithWhereThereIsLittleOrTooMuch looks at an outfit with
// nothing, one with a season and no entry, and one with the longest names.
func TestTheScreensToLookWithWhereThereIsLittleOrTooMuch(t *testing.T) {
	t.Parallel()
	metric := db.Outfit{Name: "Sedge Hollow Honey", TimeZone: "America/Winnipeg", Units: "metric"}
	bare := pagesOf(t, metric, nil)
	idle := entryAt(5, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 900_000, HoseMark: "red ring"})
	yard := entryAt(5, &ledger.Yard{Name: "Alder Bend"})
	early := pagesOf(t, metric, []*ledger.Entry{entryAt(5, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}), idle, yard})
	long := pagesOf(t, db.Outfit{Name: strings.TrimSpace(strings.Repeat("Upper Sedge Hollow Apiaries & Daughters ", 2)), TimeZone: "America/Winnipeg", Units: "us"}, longNames())
	b := startBrowser(t)
	for _, one := range []struct {
		name  string
		h     *pageHouse
		sizes []size
		paths map[string]string
	}{
		{"bare", bare, sizes[2:], nil},
		{"early", early, sizes[2:], map[string]string{"tank": "/tanks/" + idle.ID.String(), "yard": "/yards/" + yard.ID.String()}},
		{"long", long, []size{sizes[0], sizes[2]}, map[string]string{"tank": "", "yard": ""}},
	} {
		b.resize(1280, 800)
		b.signIn(one.h)
		for _, size := range one.sizes {
			look := b.lookAt(size)
			for name, path := range map[string]string{"today": "/", "season": "/season", "tanks": "/tanks", "findings": "/findings"} {
				look("look-"+one.name+"-"+name, one.h, path)
			}
			for name, path := range one.paths {
				if path == "" {
					path = b.firstLink(one.h, map[string]string{"tank": "/tanks", "yard": "/season"}[name], "/"+name+"s")
				}
				look("look-"+one.name+"-"+name, one.h, path)
			}
		}
		b.signOut(one.h)
	}
}
