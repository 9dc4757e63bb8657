package api_test

import (
	"encoding/xml"
	"io"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func TestTheCookieIsRandomAndOnlyForThisSite(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.Client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	response, _ := h.Send(t, http.MethodPost, "/sign-in", h.SignInForm(), nil)
	if response.StatusCode != http.StatusSeeOther || len(response.Cookies()) != 3 {
		t.Fatalf("signing in answered %s with %d cookies", response.Status, len(response.Cookies()))
	}
	for _, cookie := range response.Cookies() {
		if !cookie.HttpOnly || cookie.SameSite != http.SameSiteStrictMode || cookie.Path != "/" {
			t.Errorf("the cookie is %v", cookie)
		}
	}
	cookie := response.Cookies()[slices.IndexFunc(response.Cookies(), func(c *http.Cookie) bool { return strings.HasSuffix(c.Name, "session") })]
	if strings.Contains(cookie.Value, h.Password) || len(cookie.Value) < 60 {
		t.Errorf("the cookie's value is %q", cookie.Value)
	}
}

func TestOverHTTPSTheCookieIsSecure(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.Client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	response, _ := h.Send(t, http.MethodPost, "/sign-in", h.SignInForm(), http.Header{"X-Forwarded-Proto": {"https"}})
	if len(response.Cookies()) != 3 || slices.ContainsFunc(response.Cookies(), func(c *http.Cookie) bool { return !c.Secure || !c.HttpOnly }) {
		t.Errorf("behind HTTPS the cookies are %v", response.Cookies())
	}
}

func TestWhoIsNotSignedInSeesTheFormAndNothingElse(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	response, body := h.Get(t, "/")
	if response.StatusCode != http.StatusOK || !strings.Contains(body, `name="password"`) || strings.Contains(body, "Sedge Hollow") {
		t.Errorf("the first page answered %s:\n%s", response.Status, body)
	}
	if response, body = h.Get(t, "/charts/season.svg"); response.StatusCode != http.StatusUnauthorized || strings.Contains(body, "<svg") {
		t.Errorf("the chart answered %s", response.Status)
	}
}

func TestSigningOutEndsTheSessionForWhoeverKeptTheCookie(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	home, err := url.Parse(h.URL)
	if err != nil {
		t.Fatal(err)
	}
	kept := h.Client.Jar.Cookies(home)
	h.Send(t, http.MethodPost, "/sign-out", url.Values{}, nil)
	for _, left := range h.Client.Jar.Cookies(home) {
		if left.Name == "pullbook_session" {
			t.Errorf("the browser still has %v", left)
		}
	}
	h.Client.Jar.SetCookies(home, kept)
	if _, body := h.Get(t, "/"); strings.Contains(body, "Sign out") {
		t.Error("a kept cookie still opens the book")
	}
}

func TestFormsOfOtherSitesAreRefused(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	for _, header := range []http.Header{{"Sec-Fetch-Site": {"cross-site"}}, {"Sec-Fetch-Site": {"same-site"}}, {"Origin": {"https://elsewhere.example"}}} {
		for _, path := range []string{"/sign-out", "/sign-in"} {
			if response, _ := h.Send(t, http.MethodPost, path, h.SignInForm(), header); response.StatusCode != http.StatusForbidden {
				t.Errorf("%s with %v answered %s", path, header, response.Status)
			}
		}
	}
	if _, body := h.Get(t, "/"); !strings.Contains(body, "Sign out") {
		t.Error("another site's form signed the person out")
	}
}

// The outfit of longNames has 520.25 and 480.125 kg from two yards, 440 kg that
// no pull explains, and a drum of 290 kg; a pound is 0.45359237 kg exactly.
func TestFiguresAreInTheUnitsOfTheOutfit(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		outfit db.Outfit
		want   []string
	}{
		{apitest.MetricOutfit, []string{"masses in kg", ">520.3<", ">480.1<", ">440.0<", "1,440.4", ">290.0<", "of 900.0 kg", "25 °C"}},
		{apitest.USOutfit, []string{"masses in lb", ">1,147.0<", ">1,058.5<", ">970.0<", "3,175.5", ">639.3<", "of 1,984.2 lb", "77 °F"}},
	} {
		h := apitest.Open(t, test.outfit, apitest.LongNames())
		h.SignIn(t)
		_, body := h.Get(t, "/season")
		_, tanks := h.Get(t, "/tanks")
		body += tanks
		for _, want := range test.want {
			if !strings.Contains(body, want) {
				t.Errorf("an outfit in %s units: no %q on the page", test.outfit.Units, want)
			}
		}
	}
}

func TestTimesAreInTheOutfitsZone(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{
		apitest.EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}),
	})
	tank := apitest.EntryAt(0, &ledger.Tank{Name: "sump", Use: ledger.Sump, CapacityG: 300_000})
	washed := apitest.EntryAt(0, &ledger.Wash{TankID: tank.ID})
	washed.OccurredAt = time.Date(2026, time.August, 2, 3, 30, 0, 0, time.UTC)
	h.RecordMore(t, tank, washed)
	h.SignIn(t)
	// Winnipeg is five hours behind in summer, and so still on the first.
	if _, body := h.Get(t, "/tanks"); !strings.Contains(body, "<dt>last moved</dt><dd>1 Aug 2026, 22:30") {
		t.Error("a wash at 03:30 UTC on 2 August is not shown at 22:30 on 1 August")
	}
}

func TestATankOverItsCapacityIsToldInWords(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	h.SignIn(t)
	_, body := h.Get(t, "/tanks")
	for _, want := range []string{"128 % full", "<b>over its capacity</b>", "<b>empty</b>"} {
		if !strings.Contains(body, want) {
			t.Errorf("no %q on the page", want)
		}
	}
}

func TestNamesAreTextAndNeverMarkup(t *testing.T) {
	t.Parallel()
	name := `<script>alert("x")</script>`
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{
		apitest.EntryAt(0, &ledger.Season{Name: name, First: "2026-01-01", Last: "2026-12-31"}),
		apitest.EntryAt(0, &ledger.Tank{Name: name, Use: ledger.Sump, CapacityG: 300_000}),
	})
	h.SignIn(t)
	for _, path := range []string{"/season", "/tanks"} {
		if _, body := h.Get(t, path); strings.Contains(body, name) || !strings.Contains(body, "&lt;script&gt;") {
			t.Errorf("%s: a name was written as markup", path)
		}
	}
}

func TestASeasonCanBeChosenAndAnotherOutfitsCannot(t *testing.T) {
	t.Parallel()
	last := apitest.EntryAt(0, &ledger.Season{Name: "the wet one", First: "2025-01-01", Last: "2025-12-31"})
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{last, apitest.EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})})
	h.SignIn(t)
	if _, body := h.Get(t, "/season"); !strings.Contains(body, "<h1>Season 2026</h1>") {
		t.Error("the latest season that has begun is not the first shown")
	}
	if _, body := h.Get(t, "/season?season="+last.ID.String()); !strings.Contains(body, "<h1>Season the wet one</h1>") {
		t.Error("the season chosen is not shown")
	}
	for _, id := range []string{uuid.NewString(), "x"} {
		if response, body := h.Get(t, "/season?season="+id); response.StatusCode != http.StatusNotFound || !strings.Contains(body, "no such season") {
			t.Errorf("season %s answered %s", id, response.Status)
		}
	}
}

func TestPagesHoldNoInlineScriptOrStyle(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	h.SignIn(t)
	for _, path := range []string{"/", "/season", "/tanks", "/findings", "/docs", "/docs/readings", "/problems/conflict", "/nowhere", "/record"} {
		response, body := h.Get(t, path)
		policy := response.Header.Get("Content-Security-Policy")
		if !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "unsafe") {
			t.Errorf("%s is sent with the policy %q", path, policy)
		}
		for _, bad := range []string{"<script>", "<style", " style=", " onclick=", "http://", "https://"} {
			if strings.Contains(strings.ReplaceAll(body, "BOOK=http://127.0.0.1:8080", ""), bad) {
				t.Errorf("%s holds %q", path, bad)
			}
		}
		if !strings.Contains(body, `<html lang="en-GB">`) || response.Header.Get("X-Robots-Tag") != "noindex" {
			t.Errorf("%s has no language, or may be indexed", path)
		}
	}
}

func TestWhatPagesReferToIsThere(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	h.SignIn(t)
	seen := map[string]bool{}
	ids := map[string]string{}
	var fragments []string
	todo := []string{"/", "/docs", "/problems/invalid"}
	for len(todo) > 0 {
		path := todo[0]
		todo = todo[1:]
		if seen[path] {
			continue
		}
		seen[path] = true
		response, body := h.Get(t, path)
		if response.StatusCode != http.StatusOK {
			t.Errorf("%s answers %s", path, response.Status)
		}
		if strings.HasPrefix(path, "/assets/") {
			if cache := response.Header.Get("Cache-Control"); !strings.Contains(cache, "immutable") {
				t.Errorf("%s is sent with Cache-Control %q", path, cache)
			}
			continue
		}
		ids[path] = body
		for _, m := range reference.FindAllStringSubmatch(body, -1) {
			to, fragment, _ := strings.Cut(strings.ReplaceAll(m[1], "&amp;", "&"), "#")
			if strings.HasPrefix(to, "data:") {
				continue
			}
			to = strings.TrimPrefix(to, h.URL) // a sheet's address to verify is whole
			if to == "" {
				to = path
			}
			todo = append(todo, to)
			if fragment != "" && to != "/record" { // there they are screens that scripts make
				fragments = append(fragments, to+"#"+fragment)
			}
		}
	}
	for _, f := range fragments {
		page, id, _ := strings.Cut(f, "#")
		if !strings.Contains(ids[page], `id="`+id+`"`) {
			t.Errorf("nothing is at %s", f)
		}
	}
	if len(fragments) < 100 || len(seen) < 20 {
		t.Errorf("only %d pages and %d places on them were found", len(seen), len(fragments))
	}
}

var reference = regexp.MustCompile(`(?:href|src|srcset)="([^"]+)"`)

func TestEveryOperationOfTheContractIsExplained(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	_, index := h.Get(t, "/docs")
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	pages := map[string]string{}
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			m := regexp.MustCompile(`href="(/docs/[^"#]+)#` + op.OperationID + `"`).FindStringSubmatch(index)
			if m == nil {
				t.Errorf("%s %s is not in the list of the contract", method, path)
				continue
			}
			if pages[m[1]] == "" {
				_, pages[m[1]] = h.Get(t, m[1])
			}
			for _, p := range op.Parameters {
				if !strings.Contains(pages[m[1]], "<code>"+p.Value.Name+"</code>") {
					t.Errorf("%s %s: the parameter %s is not explained", method, path, p.Value.Name)
				}
			}
			if op.RequestBody == nil || op.RequestBody.Value.Content["application/json"] == nil {
				continue
			}
			for name := range op.RequestBody.Value.Content["application/json"].Schema.Value.Properties {
				if text := "<code>" + name + "</code>"; !strings.Contains(pages[m[1]], text) && !strings.Contains(index, text) {
					t.Errorf("%s %s: the field %s is not explained", method, path, name)
				}
			}
		}
	}
}

func TestTheContractIsServedAsItIs(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	response, body := h.Get(t, "/openapi.yaml")
	if body != string(openapi.YAML) || !strings.HasPrefix(response.Header.Get("Content-Type"), "text/yaml") {
		t.Errorf("openapi.yaml came as %s, %d bytes of %d", response.Header.Get("Content-Type"), len(body), len(openapi.YAML))
	}
	again, _ := h.Send(t, http.MethodGet, "/openapi.yaml", nil, http.Header{"If-None-Match": {response.Header.Get("ETag")}})
	if again.StatusCode != http.StatusNotModified {
		t.Errorf("asked again with its tag it answered %s", again.Status)
	}
}

func TestEveryProblemTypeHasItsPage(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	_, index := h.Get(t, "/docs")
	found := regexp.MustCompile(`/problems/[a-z-]+`).FindAllString(index, -1)
	slices.Sort(found)
	found = slices.Compact(found)
	for _, code := range []string{"malformed", "invalid", "not-found", "conflict", "sign-in", "not-yours", "too-often", "too-large", "too-slow", "busy", "internal"} {
		if !slices.Contains(found, "/problems/"+code) {
			t.Errorf("%s is not among the problems of the contract", code)
		}
	}
	empty := regexp.MustCompile(`<p></p>`)
	for _, path := range found {
		if response, body := h.Get(t, path); response.StatusCode != http.StatusOK || empty.MatchString(body) {
			t.Errorf("%s answers %s, or says nothing", path, response.Status)
		}
	}
	if response, _ := h.Get(t, "/problems/weather"); response.StatusCode != http.StatusNotFound {
		t.Errorf("a problem that there is not answers %s", response.Status)
	}
}

func TestPeopleGetPagesAndProgramsProblemDetails(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	if response, _ := h.Get(t, "/nowhere"); response.StatusCode != http.StatusNotFound || !strings.HasPrefix(response.Header.Get("Content-Type"), "text/html") {
		t.Errorf("a browser got %s as %s", response.Status, response.Header.Get("Content-Type"))
	}
	for path, accept := range map[string]string{"/nowhere": "*/*", "/v1/nowhere": "text/html"} {
		response, _ := h.Send(t, http.MethodGet, path, nil, http.Header{"Accept": {accept}})
		if response.StatusCode != http.StatusNotFound || response.Header.Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s with Accept %s got %s as %s", path, accept, response.Status, response.Header.Get("Content-Type"))
		}
	}
}

// Bars are drawn with lengths in proportion: 520.25 kg to 480.125 kg.
func TestBarsAreAsLongAsTheHoney(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	h.SignIn(t)
	for _, form := range []string{"wide", "narrow"} {
		response, svg := h.Get(t, "/charts/season.svg?form="+form)
		if response.Header.Get("Content-Type") != "image/svg+xml" {
			t.Fatalf("the chart came as %s", response.Header.Get("Content-Type"))
		}
		lengths := barLengths(t, svg)
		// No entry says which supers went into the run that Ox's may have gone into.
		if len(lengths) != 2 || strings.Contains(svg, ">Ox<") {
			t.Fatalf("%s: %d bars for 3 yards, of which the honey of 2 is known", form, len(lengths))
		}
		slices.Sort(lengths)
		if ratio := lengths[0] / lengths[1]; math.Abs(ratio-480.125/520.25) > 1e-3 {
			t.Errorf("%s: bars of %v", form, lengths)
		}
		if !strings.Contains(svg, "Donau") {
			t.Errorf("%s: the yard's name is not on the chart", form)
		}
	}
}

// barLengths reads the widths of the filled shapes, and fails on what is no XML.
func barLengths(t *testing.T, svg string) (out []float64) {
	t.Helper()
	decoder := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := decoder.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		e, ok := token.(xml.StartElement)
		if !ok || e.Name.Local != "path" {
			continue
		}
		attributes := map[string]string{}
		for _, a := range e.Attr {
			attributes[a.Name.Local] = a.Value
		}
		if !strings.Contains(strings.ToLower(attributes["style"]), "fill:#2b666d") {
			continue
		}
		low, high := math.Inf(1), math.Inf(-1)
		for _, point := range regexp.MustCompile(`[ML]([-\d.e]+),`).FindAllStringSubmatch(attributes["d"], -1) {
			x, err := strconv.ParseFloat(point[1], 64)
			if err != nil {
				t.Fatal(err)
			}
			low, high = min(low, x), max(high, x)
		}
		out = append(out, high-low)
	}
}

// What a person waits for must be light: 200 kB compressed at the most.
func TestAPageIsLight(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	h.SignIn(t)
	_, body := h.Get(t, "/season")
	total, seen := 0, map[string]bool{}
	weigh := func(path string) {
		if seen[path] {
			return
		}
		seen[path] = true
		_, packed := h.Send(t, http.MethodGet, path, nil, http.Header{"Accept-Encoding": {"gzip"}})
		total += len(packed)
	}
	weigh("/season")
	for _, m := range regexp.MustCompile(`(?:src|srcset|rel="[a-z]+"(?: type="[^"]+")? href)="([^"]+)"`).FindAllStringSubmatch(body, -1) {
		weigh(strings.ReplaceAll(m[1], "&amp;", "&"))
	}
	if total > 200_000 || len(seen) < 4 {
		t.Errorf("the season weighs %d bytes in %d parts", total, len(seen))
	}
	t.Logf("season: %d bytes compressed in %d parts", total, len(seen))
}

func TestTheFootOfAPageSaysTheVersionToWhoIsSignedIn(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil, func(c *request.Config) { c.Version = "1.4.0" })
	if _, page := h.Send(t, http.MethodGet, "/", nil, nil); strings.Contains(page, "pullbook 1.4.0") {
		t.Error("a stranger sees which version runs")
	}
	h.SignIn(t)
	if _, page := h.Send(t, http.MethodGet, "/tanks", nil, nil); !strings.Contains(page, "pullbook 1.4.0") {
		t.Error("the foot of a page does not say the version")
	}
}
