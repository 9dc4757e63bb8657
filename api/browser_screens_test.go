package api_test

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pullbook/api"
	"pullbook/db"
	"pullbook/domain/invented"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// screen is a page as somebody sees it. A new page joins a list of a visitor's.
type screen struct {
	name string
	// route answers with it, as the server writes it: with its method, where that is
	// not GET. It is empty where no route does.
	route string
	// path is where it is; sent, where there is any, is the form that is sent there.
	path string
	sent url.Values
	// by is what somebody does there before it is looked at.
	by func(*browser)
}

// visitor is who looks at some screens.
type visitor struct {
	name string
	h    *pageHouse
	// enter has a browser come in: signed in, or not.
	enter   func(*browser)
	screens []screen
}

// visitors are all who look, with all that there is to see.
func visitors(t *testing.T) []visitor {
	t.Helper()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	entries := invented.Demo(loc).Entries
	h := pagesOf(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, entries)
	long := pagesOf(t, db.Outfit{Name: strings.TrimSpace(strings.Repeat("Upper Sedge Hollow Apiaries & Daughters ", 2)), TimeZone: loc.String(), Units: "us"}, longNames())
	bare, tablet := pagesOf(t, metricOutfit, nil), pagesOf(t, metricOutfit, nil)
	idle, yard, empty := entryAt(5, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 900_000, HoseMark: "red ring"}), entryAt(5, &ledger.Yard{Name: "Alder Bend"}), entryAt(6, &ledger.Lot{Code: "26-001"})
	early := pagesOf(t, metricOutfit, []*ledger.Entry{entryAt(5, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}), idle, yard, empty})
	for _, each := range []*pageHouse{h, long, bare, early, tablet} {
		each.signIn(t)
	}
	tamsin := func(h *pageHouse) func(*browser) { return func(b *browser) { b.signIn(h) } }
	shed := newShedNow().open(t, "metric")
	crew, reader := h.crewMember(t, "Bracken"), h.crewMember(t, "Sorrel")
	h.sql(t, "UPDATE person SET role = 'reader' WHERE name = 'Sorrel'")
	return []visitor{
		{"manager", h, tamsin(h), managerScreens(t, h, entries)},
		{"sales", h, tamsin(h), salesScreens(t, h, entries)},
		{"papers", h, tamsin(h), paperScreens(t, h)},
		{"forms", h, tamsin(h), formScreens(entries)},
		{"crew", h, func(b *browser) { b.signInAt(h, "Bracken", crew) }, crewScreens(t, h)},
		{"reader", h, func(b *browser) { b.signInAt(h, "Sorrel", reader) }, []screen{
			{name: "lot", route: "/lots/:id", path: h.link(t, "/lots", "/lots/"+anID)}, {name: "not-yours", route: "/entries/new/:kind", path: "/entries/new/pull"},
		}},
		{"nobody", h, func(b *browser) { b.open(b.at(h) + "/") }, publicScreens(t, h)},
		{"tablet", tablet, func(b *browser) { b.becomeTablet(t, tablet) }, []screen{
			{name: "locked", route: "/calculators", path: "/calculators"},
			{name: "wrong-code", route: "POST /unlock", path: "/unlock", sent: url.Values{"person": {uuid.NewString()}, "code": {"1"}}},
		}},
		{"bare", bare, tamsin(bare), setsOf("/", "/season", "/tanks", "/lots", "/dispatches", "/dispatches/new", "/findings", "/balance", "/balance/drying", "/balance/instruments", "/journal", "/recall", "/print", "/settings")},
		{"early", early, tamsin(early), append(setsOf("/", "/season", "/tanks", "/lots", "/findings", "/balance", "/balance/drying", "/balance/instruments"),
			screen{name: "tank", route: "/tanks/:id", path: "/tanks/" + idle.ID.String()},
			screen{name: "yard", route: "/yards/:id", path: "/yards/" + yard.ID.String()},
			screen{name: "lot", route: "/lots/:id", path: "/lots/" + empty.ID.String()},
			screen{name: "labels", route: "/lots/:id/labels", path: "/lots/" + empty.ID.String() + "/labels"})},
		{"long", long, tamsin(long), append(setsOf("/", "/season", "/tanks", "/lots", "/findings", "/balance", "/balance/drying", "/balance/instruments", "/journal", "/settings"),
			screen{name: "tank", route: "/tanks/:id", path: long.link(t, "/tanks", "/tanks/"+anID)},
			screen{name: "yard", route: "/yards/:id", path: long.link(t, "/season", "/yards/"+anID)},
			screen{name: "lot", route: "/lots/:id", path: long.link(t, "/lots", "/lots/"+anID)},
			screen{name: "labels", route: "/lots/:id/labels", path: long.link(t, "/lots", "/lots/"+anID) + "/labels"},
			screen{name: "recall-day", route: "/recall", path: "/recall?day=2026-07-11"})},
		{"shed", shed, tamsin(shed), recordingScreens(allKinds...)},
		{"shed-bare", bare, tamsin(bare), recordingScreens("reading", "run", "pull")},
		{"shed-long", long, tamsin(long), recordingScreens("reading", "pull", "transfer", "fill")},
	}
}

// setsOf are pages that are always there.
func setsOf(paths ...string) (out []screen) {
	for _, path := range paths {
		name := strings.ReplaceAll(cmp.Or(strings.TrimPrefix(path, "/"), "today"), "/", "-")
		out = append(out, screen{name: name, route: path, path: path})
	}
	return out
}

const anID = `[0-9a-f-]{36}`

// link is the first address on a page that is all like a pattern.
func (h *pageHouse) link(t *testing.T, page, pattern string) string {
	t.Helper()
	_, body := h.get(t, page)
	found := regexp.MustCompile(`(?:href|value|id)="(` + pattern + `)"`).FindStringSubmatch(body)
	if found == nil {
		t.Fatalf("%s has nothing like %s", page, pattern)
	}
	return found[1]
}

// lastStanding gives, by kind, the last entry that stands as it was first written.
func lastStanding(entries []*ledger.Entry) map[ledger.Kind]string {
	gone, out := map[ledger.ID]bool{}, map[ledger.Kind]string{}
	for _, e := range entries {
		gone[e.Replaces] = true
	}
	for _, e := range entries {
		if !gone[e.ID] && e.Replaces == (ledger.ID{}) {
			out[e.Kind] = e.ID.String()
		}
	}
	return out
}

func managerScreens(t *testing.T, h *pageHouse, entries []*ledger.Entry) []screen {
	last, id := lastStanding(entries), uuid.NewString
	lot, released, gone := h.link(t, "/lots", "/lots/"+anID), h.link(t, "/lots?state=released", "/lots/"+anID), h.link(t, "/lots?state=gone", "/lots/"+anID)
	corrected := entries[slices.IndexFunc(entries, func(e *ledger.Entry) bool { return e.Replaces != (ledger.ID{}) && e.Kind != ledger.KindWithdrawal })]
	finding := h.link(t, "/findings", `[a-z_]+-`+anID)
	reading := "/journal/" + last[ledger.KindReading]
	imke, err := h.operator.PersonCalled(t.Context(), h.outfit, "Imke")
	if err != nil {
		t.Fatal(err)
	}
	return append(setsOf("/", "/season", "/tanks", "/findings", "/balance", "/lots", "/journal", "/recall", "/calculators", "/import", "/settings", "/settings/people", "/account"),
		screen{name: "yard", route: "/yards/:id", path: h.link(t, "/season", "/yards/"+anID)},
		screen{name: "tank", route: "/tanks/:id", path: h.link(t, "/tanks", "/tanks/"+anID)},
		screen{name: "balance-days", route: "/balance", path: "/balance", by: (*browser).unfold},
		screen{name: "balance-day", route: "/balance", path: "/balance?day=2026-08-05"},
		screen{name: "balance-yard", route: "/balance", path: "/balance?yard=" + last[ledger.KindYard]},
		screen{name: "balance-none", route: "/balance", path: "/balance?day=2026-01-05"},
		screen{name: "balance-drying", route: "/balance/drying", path: "/balance/drying", by: (*browser).unfold},
		screen{name: "balance-instruments", route: "/balance/instruments", path: "/balance/instruments", by: (*browser).unfold},
		screen{name: "finding-refused", route: "POST /findings/accept", path: "/findings/accept", sent: url.Values{"flag": {finding[:len(finding)-37]}, "entry": {finding[len(finding)-36:]}, "reason": {" "}}},
		screen{name: "lots-none", route: "/lots", path: "/lots?state=held"},
		screen{name: "lots-by-one", route: "/lots", path: "/lots?rule_set=eu-honey"},
		screen{name: "lot", route: "/lots/:id", path: lot},
		screen{name: "lot-released", route: "/lots/:id", path: released},
		screen{name: "lot-container", route: "/lots/:id", path: released + "#" + h.link(t, released, `c[0-9a-f]{8}`)},
		screen{name: "lot-gone", route: "/lots/:id", path: gone},
		screen{name: "lot-refused", route: "POST /lots/:id", path: lot, sent: url.Values{"id": {id()}, "do": {"hold"}, "why": {""}}},
		screen{name: "recall-yard", route: "/recall", path: "/recall?of=" + last[ledger.KindYard]},
		screen{name: "recall-lot", route: "/recall", path: "/recall?of=" + last[ledger.KindLot]},
		screen{name: "recall-day", route: "/recall", path: "/recall?day=2026-08-05"},
		screen{name: "journal-none", route: "/journal", path: "/journal?kind=import&person=Imke"},
		screen{name: "entry", route: "/journal/:id", path: reading},
		screen{name: "entry-corrected", route: "/journal/:id", path: "/journal/" + corrected.ID.String()},
		screen{name: "withdraw-refused", route: "POST /journal/:id/withdraw", path: reading + "/withdraw", sent: url.Values{"id": {id()}, "reason": {" "}}},
		screen{name: "calculators-moisture", route: "/calculators", path: askMoisture},
		screen{name: "calculators-warming", route: "/calculators", path: askWarming},
		screen{name: "calculators-hmf", route: "/calculators", path: askHMF},
		screen{name: "calculators-dip", route: "/calculators", path: "/calculators?ask=dip&tank=upright_cylinder&diameter_cm=110&length_cm=150" + dipInATank},
		screen{name: "calculators-refused", route: "/calculators", path: strings.Replace(askWarming, "control_c=45", "control_c=113", 1)},
		screen{name: "import-asks", route: "POST /import", path: "/import", by: func(b *browser) { b.lookAtSheet(t) }},
		screen{name: "person-refused", route: "POST /settings/people", path: "/settings/people", sent: url.Values{"name": {" "}, "role": {"crew"}}},
		screen{name: "person-new-password", route: "POST /settings/people/:id", path: "/settings/people/" + imke.ID.String(), sent: url.Values{"do": {"password"}, "name": {"Imke"}}},
		screen{name: "token-made", route: "POST /settings/tokens", path: "/settings/tokens", sent: url.Values{"person": {"Tamsin"}, "name": {"the office's spreadsheet"}}},
		screen{name: "tablet-refused", route: "POST /settings/tablets", path: "/settings/tablets", sent: url.Values{"name": {" "}}},
		screen{name: "account-refused", route: "POST /account", path: "/account", sent: url.Values{"do": {"code"}, "password": {"not mine"}, "code": {"82640"}}},
		screen{name: "not-there", route: "/journal/:id", path: "/journal/" + id()},
		screen{name: "nowhere", path: "/nowhere"})
}

// salesScreens are what left for buyers, one that was settled, and the forms for more.
func salesScreens(t *testing.T, h *pageHouse, entries []*ledger.Entry) []screen {
	settled := ""
	for _, e := range entries {
		if s, ok := e.Body.(*ledger.Settlement); ok {
			settled = "/dispatches/" + s.DispatchID.String()
		}
	}
	if settled == "" {
		t.Fatal("no dispatch of the demo was settled")
	}
	released := strings.TrimPrefix(h.link(t, "/lots?state=released", "/lots/"+anID), "/lots/")
	return append(setsOf("/dispatches"),
		screen{name: "dispatch", route: "/dispatches/:id", path: settled},
		screen{name: "dispatch-new", route: "/dispatches/new", path: "/dispatches/new?lot=" + released},
		screen{name: "dispatch-refused", route: "POST /dispatches/new", path: "/dispatches/new", sent: url.Values{"id": {uuid.NewString()}, "all": {released}}},
		screen{name: "settle", route: "/dispatches/:id/settle", path: settled + "/settle"},
		screen{name: "settle-refused", route: "POST /dispatches/:id/settle", path: settled + "/settle", sent: url.Values{"id": {uuid.NewString()}, "paid": {"much"}}})
}

// paperScreens are what is for paper, as it is seen before it is printed.
func paperScreens(t *testing.T, h *pageHouse) []screen {
	released := h.link(t, "/lots?state=released", "/lots/"+anID)
	out := append(setsOf("/print"),
		screen{name: "sheet", route: "/lots/:id/sheet", path: released + "/sheet"},
		screen{name: "labels", route: "/lots/:id/labels", path: released + "/labels"},
		screen{name: "labels-each", route: "/lots/:id/labels", path: released + "/labels?each=1"})
	for _, kind := range []string{"reading", "fill", "transfer", "run", "pull", "temperature", "stocktake", "wash"} {
		out = append(out, screen{name: "blank-" + kind, route: "/print/blank/:kind", path: "/print/blank/" + kind})
	}
	return out
}

// formScreens are the forms of entries: new ones of every kind, corrections of those
// that have most to them, and what comes back refused.
func formScreens(entries []*ledger.Entry) (out []screen) {
	for _, kind := range ledger.Kinds() {
		if kind != ledger.KindImport && kind != ledger.KindOperator { // they come with what they tell of
			out = append(out, screen{name: "new-" + string(kind), route: "/entries/new/:kind", path: "/entries/new/" + string(kind)})
		}
	}
	last := lastStanding(entries)
	for _, kind := range []ledger.Kind{ledger.KindTank, ledger.KindPull, ledger.KindReading, ledger.KindCalibration, ledger.KindTemperatureLog, ledger.KindRuleSet} {
		if last[kind] != "" {
			out = append(out, screen{name: "correct-" + string(kind), route: "/journal/:id/correct", path: "/journal/" + last[kind] + "/correct"})
		}
	}
	id := uuid.NewString
	return append(out,
		screen{name: "tank-refused", route: "POST /entries/new/:kind", path: "/entries/new/tank", sent: url.Values{"id": {id()}, "do": {"save"}, "capacity_kg": {"much"}}},
		screen{name: "correction-refused", route: "POST /journal/:id/correct", path: "/journal/" + last[ledger.KindReading] + "/correct", sent: url.Values{"id": {id()}, "do": {"save"}, "occurred_at": {"yesterday"}}})
}

func crewScreens(t *testing.T, h *pageHouse) []screen {
	return append(setsOf("/", "/findings", "/settings", "/account"),
		screen{name: "lot", route: "/lots/:id", path: h.link(t, "/lots", "/lots/"+anID)},
		screen{name: "not-yours", route: "/settings/people", path: "/settings/people"})
}

func publicScreens(t *testing.T, h *pageHouse) []screen {
	sheet := h.link(t, "/lots?state=released", "/lots/"+anID) + "/sheet"
	seal, err := url.Parse(h.link(t, sheet, `[^"]+/verify/[^"]+`))
	if err != nil {
		t.Fatal(err)
	}
	return append(setsOf("/docs"),
		screen{name: "sign-in", route: "/", path: "/"},
		screen{name: "sign-in-to-record", route: "/record/sign-in", path: "/record/sign-in"},
		screen{name: "sign-in-refused", route: "POST /sign-in", path: "/sign-in", sent: url.Values{"outfit": {h.name}, "name": {"Nobody"}, "password": {"wrong"}}},
		screen{name: "docs-readings", route: "/docs/:resource", path: "/docs/readings"},
		screen{name: "docs-feeds", route: "/docs/:resource", path: "/docs/feeds"},
		screen{name: "problem-type", route: "/problems/:code", path: "/problems/invalid"},
		screen{name: "verify", route: "/verify/:token", path: seal.Path},
		screen{name: "verify-unknown", route: "/verify/:token", path: "/verify/none"})
}

// unfold opens all that is folded.
func (b *browser) unfold() {
	b.t.Helper()
	evaluated[bool](b, `(document.querySelectorAll('main details').forEach(e => { e.open = true }), true)`)
}

// lookAtSheet has the page of imports look at a sheet that leaves questions.
func (b *browser) lookAtSheet(t *testing.T) {
	b.t.Helper()
	file := filepath.Join(b.t.TempDir(), "old pulls.csv")
	if err := os.WriteFile(file, []byte(oldPulls), 0o600); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file}))
	evaluated[bool](b, `document.getElementById('kind').value = 'pulls', document.querySelector('#import button[value=look]').click(), true`)
	b.until(`document.querySelector('#answer #problems') && document.getElementById('on-its-way').hidden`)
}

// becomeTablet makes the browser a tablet of the shed that somebody may unlock.
func (b *browser) becomeTablet(t *testing.T, h *pageHouse) {
	b.t.Helper()
	who, err := h.operator.PersonCalled(b.t.Context(), h.outfit, "Tamsin")
	if err != nil {
		b.t.Fatal(err)
	}
	h.send(t, http.MethodPost, "/settings/people/"+who.ID.String(), url.Values{"do": {"code"}, "code": {"82640"}}, nil)
	b.signIn(h)
	b.open(b.at(h) + "/settings/people")
	b.do(chromedp.SendKeys(chromedp.CSS("#tablet-name"), "By the extractor\n"), chromedp.WaitVisible(chromedp.CSS("#code")))
}

// allKinds are what the recording page has a screen for.
var allKinds = []string{"reading", "pull", "transfer", "fill", "temperature", "stocktake", "wash", "run", "start", "supers", "load", "end"}

// recordingScreens are the first screen and those of some kinds of entries.
func recordingScreens(kinds ...string) []screen {
	out := setsOf("/record")
	for _, kind := range kinds {
		out = append(out, screen{name: kind, route: "/record", path: "/record#" + kind})
	}
	return out
}

// show opens a screen, and waits until it is all there.
func (b *browser) show(h *pageHouse, s screen) {
	b.t.Helper()
	b.patience()
	path, part, _ := strings.Cut(s.path, "#")
	switch {
	case s.sent != nil:
		b.submit(path, s.sent)
	case path == "/record":
		b.open(b.at(h) + s.path)
		// The page is the same for each part, and a browser goes there without
		// opening it anew.
		at := map[string]string{"": "home", "run": "run"}[part]
		if at == "" {
			at = "form"
		}
		b.until(fmt.Sprintf(`document.documentElement.dataset.ready === 'true' && document.querySelector('.net.online') && !document.getElementById(%q).hidden
			&& (%[1]q !== 'form' || document.getElementById('form').dataset.kind === %[2]q)`, at, part))
	default:
		b.open(b.at(h) + s.path)
	}
	// The log says of a page that comes with an error's status that it failed.
	b.mu.Lock()
	b.said = slices.DeleteFunc(b.said, func(line string) bool { return strings.HasSuffix(line, " "+b.at(h)+s.path) })
	b.mu.Unlock()
	if s.by != nil {
		s.by(b)
	}
}

// submit sends a form from the page that is open, and waits for the page that answers.
func (b *browser) submit(path string, form url.Values) {
	b.t.Helper()
	var fields strings.Builder
	for _, name := range slices.Sorted(maps.Keys(form)) {
		fmt.Fprintf(&fields, "field(%q, %q);", name, form.Get(name))
	}
	b.mu.Lock()
	b.said = nil
	b.mu.Unlock()
	evaluated[bool](b, fmt.Sprintf(`(() => {
		const form = Object.assign(document.createElement('form'), {method: 'post', action: %q})
		const field = (name, value) => form.append(Object.assign(document.createElement('input'), {type: 'hidden', name, value}));
		%s
		document.body.append(form)
		self.pageBefore = true
		HTMLFormElement.prototype.submit.call(form)
		return true
	})()`, path, fields.String()))
	b.until(`self.pageBefore === undefined && document.readyState === 'complete'`)
}

// patience gives what comes next a time of its own.
func (b *browser) patience() {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.whole, 120*time.Second)
	b.t.Cleanup(cancel)
	b.ctx = ctx
}

// TestEveryScreenInBothLanguages looks at all that there is to see, in English on a
// laptop, there at 200 % zoom, and on a phone, in Spanish on a phone, with all unfolded
// that is folded; and goes through it by Tab, forward on a laptop and backward on a phone.
func TestEveryScreenInBothLanguages(t *testing.T) {
	t.Parallel()
	all := visitors(t)
	t.Run("no page is forgotten", func(t *testing.T) { noPageIsForgotten(t, all) })
	b := startViewer(t)
	for _, v := range all {
		for i, language := range []string{"en-GB", "es-MX"} {
			t.Run(v.name+" "+language, func(t *testing.T) {
				t.Parallel()
				ways := chosenOrigins() // English over HTTP, Spanish over HTTPS, both by a name
				d := b.by(ways[i%len(ways)]).device(t, language)
				d.cutOff = false
				d.resize(sizes[0].width, sizes[0].height)
				v.enter(d)
				for _, s := range v.screens {
					d.lookThrough(v, s, language[:2])
				}
			})
		}
	}
}

// lookThrough looks at a screen in every window, and goes through it by Tab. What is
// slow is done once where the language or the window makes no difference: pictures,
// contrast by axe-core beside our own, and the way by Tab.
func (b *browser) lookThrough(v visitor, s screen, language string) {
	b.t.Helper()
	b.show(v.h, s)
	called := func(size size) string { return strings.Join([]string{v.name, s.name, language, size.name}, "-") }
	windows := sizes
	if language == "es" { // what fits a phone of 320 px in Spanish fits the wider ones
		windows = sizes[2:]
	}
	for _, size := range windows {
		b.resize(size.width, size.height)
		once := map[string]string{"en": "laptop", "es": "phone"}[language] == size.name
		if once {
			b.picture(filepath.Join(screenshots, called(size)+".png"), size.width, size.height)
		}
		evaluated[int](b, unfold)
		if once {
			b.complain(called(size))
		} else {
			b.complain(called(size), byAxesContrast)
		}
		evaluated[int](b, fold)
	}
	switch evaluated[int](b, unfold); {
	case language == "es":
		b.walk(called(sizes[2]), chromedp.ModifierShift)
	case slices.Contains(goForth, v.name):
		b.resize(sizes[0].width, sizes[0].height)
		b.walk(called(sizes[0]))
	}
	b.resize(sizes[0].width, sizes[0].height)
}

// goForth are visitors whose screens are gone through forth and back; those of the
// others are made like them, and are gone through once.
var goForth = []string{"manager", "sales", "nobody", "tablet", "shed"}

// goElsewhere are forms and links whose answer is another page's address.
var goElsewhere = []string{"/entries/new", "/language", "/sign-out", "/lock", "/settings/tokens/:id/revoke", "/settings/tablets/:id/revoke"}

// ofUnreadable are routes of an entry that cannot be read. No visitor's book has one:
// TestABookWithAnEntryThatCannotBeReadStaysOpen looks at them.
var ofUnreadable = []string{"/journal/:id/stored"}

// noPages are routes that answer with something else than a page, with an address
// that each answers.
func noPages(t *testing.T, h *pageHouse) map[string]string {
	t.Helper()
	lot, tank := h.link(t, "/lots?state=released", "/lots/"+anID), h.link(t, "/tanks", "/tanks/"+anID)
	out := map[string]string{
		"/assets/:name": h.link(t, "/", `/assets/style\.[^"]+`), "/charts/heat.svg": strings.Replace(askHMF, "/calculators", "/charts/heat.svg", 1),
		"/lots/:id/heating.svg": lot + "/heating.svg", "/lots/:id/sheet.pdf": lot + "/sheet.pdf", "/tanks/:id/course.svg": tank + "/course.svg",
		"/recall/drawing.svg": "/recall/drawing.svg?day=2026-08-05", "/recall/sheet.csv": "/recall/sheet.csv?day=2026-08-05",
	}
	for _, path := range []string{"/charts/season.svg", "/charts/yards.svg", "/manifest.webmanifest", "/openapi.yaml", "/robots.txt", "/worker.js", "/livez", "/readyz", "/metrics"} {
		out[path] = path
	}
	return out
}

// noPageIsForgotten holds the list of screens against the routes of the server.
// Those of the contract and the feeds are for programs.
func noPageIsForgotten(t *testing.T, all []visitor) {
	routes, err := api.Routes()
	if err != nil {
		t.Fatal(err)
	}
	looked := map[string]bool{}
	for _, v := range all {
		for _, s := range v.screens {
			looked[s.route] = true
			route := regexp.MustCompile(`:[a-z]+`).ReplaceAllString(strings.TrimPrefix(s.route, "POST "), `[^/?#]+`)
			if s.route != "" && !regexp.MustCompile("^"+route+"($|[?#])").MatchString(s.path) {
				t.Errorf("%s %s is said to be of the route %s", v.name, s.name, s.route)
			}
		}
	}
	h := all[0].h
	others := noPages(t, h)
	for _, r := range routes {
		name := map[string]string{http.MethodGet: "", http.MethodPost: "POST "}[r.Method] + r.Path
		switch {
		case strings.HasPrefix(r.Path, "/v1/") || strings.HasPrefix(r.Path, "/feeds/"):
		case looked[name]:
		case slices.Contains(goElsewhere, r.Path), slices.Contains(ofUnreadable, r.Path):
		case others[r.Path] != "":
			response, _ := h.get(t, others[r.Path])
			if of := response.Header.Get("Content-Type"); response.StatusCode != http.StatusOK || strings.HasPrefix(of, "text/html") {
				t.Errorf("%s answers %s with %s, and nobody looks at it", others[r.Path], response.Status, of)
			}
		default:
			t.Errorf("nobody looks at %s %s", r.Method, r.Path)
		}
	}
	contract, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	for path, item := range contract.Paths.Map() {
		for method, operation := range item.Operations() {
			for status, answer := range operation.Responses.Map() {
				if answer.Value.Content["text/html"] != nil {
					t.Errorf("%s %s answers %s with a page, and nobody looks at it", method, path, status)
				}
			}
		}
	}
}
