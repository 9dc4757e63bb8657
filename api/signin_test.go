package api_test

import (
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/db"
)

func isSignedIn(t *testing.T, h *apitest.House) bool {
	t.Helper()
	_, body := h.Get(t, "/calculators")
	return strings.Contains(body, "Sign out")
}

func TestOutfitNameAndPasswordHaveToGoTogether(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	var refusals []string
	for _, wrong := range []struct{ field, value string }{
		{"outfit", "Two Rivers Honey"}, {"name", "Odell"}, {"password", "wrong-wrong-wrong"}, {"password", h.Password + " "},
	} {
		form := h.SignInForm()
		form.Set(wrong.field, wrong.value)
		response, body := h.Send(t, http.MethodPost, "/sign-in", form, nil)
		why := regexp.MustCompile(`role="alert"[^>]*>([^<]*)`).FindStringSubmatch(body)
		if response.StatusCode != http.StatusUnauthorized || len(response.Cookies()) > 0 || why == nil {
			t.Fatalf("with the wrong %s the page answered %s", wrong.field, response.Status)
		}
		refusals = append(refusals, why[1])
	}
	for _, r := range refusals {
		if r != refusals[0] {
			t.Errorf("a wrong guess learns which part was right: %q and %q", refusals[0], r)
		}
	}
	form := h.SignInForm()
	form.Set("outfit", strings.ToUpper(h.Name))
	form.Set("next", "/calculators")
	response, body := h.Device(t).Send(t, http.MethodPost, "/sign-in", form, nil)
	if response.Request.URL.Path != "/calculators" || !strings.Contains(body, "Sign out") {
		t.Errorf("the right ones lead to %s, %s", response.Request.URL, response.Status)
	}
}

func TestGuessingIsSlow(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil, stopped)
	form := h.SignInForm()
	form.Set("password", "wrong-wrong-wrong")
	for range 10 {
		h.Send(t, http.MethodPost, "/sign-in", form, nil)
	}
	response, body := h.Send(t, http.MethodPost, "/sign-in", h.SignInForm(), nil)
	if response.StatusCode != http.StatusTooManyRequests || response.Header.Get("Retry-After") == "" || !strings.Contains(body, "Too many tries") {
		t.Errorf("the eleventh try answered %s", response.Status)
	}
}

func TestTheDatabaseKeepsSessionsAsHashesAndEndsThem(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	for _, c := range []struct {
		stay  string
		lasts time.Duration
	}{{"", 12 * time.Hour}, {"yes", 30 * 24 * time.Hour}} {
		form := h.SignInForm()
		form.Set("stay", c.stay)
		h.Send(t, http.MethodPost, "/sign-in", form, nil)
		if !isSignedIn(t, h) {
			t.Fatal("not signed in")
		}
		home, _ := url.Parse(h.URL)
		for _, cookie := range h.Client.Jar.Cookies(home) {
			_, token, found := strings.Cut(cookie.Value, ".")
			if had := h.SQL(t, "SELECT token FROM session WHERE token = $1 OR encode(data, 'escape') LIKE '%' || $1 || '%'", token); found && len(had) > 0 {
				t.Errorf("the database has the cookie's text")
			}
		}
		lasts := h.SQL(t, "SELECT round(extract(epoch FROM expiry - now()) / 3600)::text FROM session")
		if len(lasts) != 1 || lasts[0]+"h0m0s" != c.lasts.String() {
			t.Errorf("staying %q leaves sessions of %v hours", c.stay, lasts)
		}
	}
	h.SQL(t, "UPDATE session SET expiry = now() RETURNING token")
	if isSignedIn(t, h) {
		t.Error("a session outlives its end")
	}
}

func TestAManagerSignsSomebodyOutEverywhere(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	odell := h.Somebody(t, "Odell", db.Crew)
	who, err := h.Operator.PersonCalled(t.Context(), h.Outfit, "Odell")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ do, extra, value string }{{do: "sign-out"}, {do: "password"}, {do: "leave"}} {
		if !isSignedIn(t, odell) {
			t.Fatalf("before %q Odell is not signed in", c.do)
		}
		_, body := h.Send(t, http.MethodPost, "/settings/people/"+who.ID.String(), url.Values{"do": {c.do}, "name": {"Odell"}}, nil)
		if isSignedIn(t, odell) {
			t.Errorf("after %q Odell is still in", c.do)
		}
		if shown := regexp.MustCompile(`class="secret"><code>([^<]+)`).FindStringSubmatch(body); shown != nil {
			odell.Password = shown[1]
		}
		form := odell.SignInForm()
		form.Set("name", "Odell")
		odell.Send(t, http.MethodPost, "/sign-in", form, nil)
	}
	if isSignedIn(t, odell) {
		t.Error("who has left signs in")
	}
}

func TestAShedTabletStaysSignedInAndIsUnlockedByACode(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	h.Somebody(t, "Odell", db.Crew)
	for name, code := range map[string]string{"Odell": "4071", "Tamsin": "82640"} {
		who, err := h.Operator.PersonCalled(t.Context(), h.Outfit, name)
		if err != nil {
			t.Fatal(err)
		}
		response, _ := h.Send(t, http.MethodPost, "/settings/people/"+who.ID.String(), url.Values{"do": {"code"}, "code": {code}}, nil)
		if response.StatusCode != http.StatusOK {
			t.Fatalf("setting %s's code answered %s", name, response.Status)
		}
	}
	tablet := h.Device(t)
	tablet.SignIn(t)
	response, body := tablet.Send(t, http.MethodPost, "/settings/tablets", url.Values{"name": {"By the extractor"}}, nil)
	if response.StatusCode != http.StatusUnauthorized || !strings.Contains(body, "Who is there?") {
		t.Fatalf("the new tablet shows %s: %s", response.Status, body)
	}
	people := map[string]string{}
	for _, m := range regexp.MustCompile(`name="person" value="([^"]+)"[^>]*> <span>([^<]+)`).FindAllStringSubmatch(body, -1) {
		people[m[2]] = m[1]
	}
	if r, _ := tablet.Send(t, http.MethodGet, "/v1/outfit", nil, nil); r.StatusCode != http.StatusUnauthorized {
		t.Errorf("a locked tablet is let into the book: %s", r.Status)
	}
	unlock := func(name, code string) (*http.Response, string) {
		return tablet.Send(t, http.MethodPost, "/unlock", url.Values{"person": {people[name]}, "code": {code}, "next": {"/calculators"}}, nil)
	}
	if r, body := unlock("Odell", "4072"); r.StatusCode != http.StatusUnauthorized || !strings.Contains(body, "not the code") {
		t.Errorf("a wrong code answered %s", r.Status)
	}
	if r, body := unlock("Odell", "4071"); r.StatusCode != http.StatusOK || !strings.Contains(body, "Odell") || !strings.Contains(body, "Lock") {
		t.Fatalf("the right code answered %s", r.Status)
	}
	if got := h.SQL(t, "SELECT round(extract(epoch FROM expiry - now()) / 86400)::text FROM session ORDER BY expiry DESC LIMIT 1"); got[0] != "300" {
		t.Errorf("the tablet stays signed in for %v days", got)
	}
	if _, body := tablet.Send(t, http.MethodPost, "/lock", url.Values{}, nil); !strings.Contains(body, "Who is there?") {
		t.Error("locking leaves the tablet open")
	}
	unlock("Tamsin", "82640")
	if r, body := tablet.Get(t, "/settings/people"); r.StatusCode != http.StatusForbidden {
		t.Errorf("by a few digits a manager manages: %s: %s", r.Status, body)
	}
	_, body = h.Get(t, "/settings/people")
	h.Send(t, http.MethodPost, regexp.MustCompile(`/settings/tablets/[^"]+/revoke`).FindString(body), url.Values{}, nil)
	if r, body := tablet.Get(t, "/calculators"); r.StatusCode != http.StatusUnauthorized || !strings.Contains(body, `name="password"`) {
		t.Errorf("a tablet that was signed out shows %s", r.Status)
	}
}

func TestCrewAreToldWhatIsNotTheirsAndTheAPIAgrees(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	odell := h.Somebody(t, "Odell", db.Crew)
	if response, body := odell.Get(t, "/settings/people"); response.StatusCode != http.StatusForbidden || !strings.Contains(body, "Only a manager may see this page.") {
		t.Errorf("a manager's page answered %s to crew", response.Status)
	}
	if response, _ := odell.Send(t, http.MethodPost, "/settings/people", url.Values{"name": {"Juno"}, "role": {"manager"}}, nil); response.StatusCode != http.StatusForbidden {
		t.Errorf("crew adding a manager answered %s", response.Status)
	}
	for _, c := range []struct {
		site   string
		status int
	}{{"same-origin", http.StatusForbidden}, {"cross-site", http.StatusForbidden}} {
		if got := bookYard(t, odell, c.site); got != c.status {
			t.Errorf("crew setting up a yard from %s answered %d", c.site, got)
		}
	}
	if got := bookYard(t, h.Device(t), "same-origin"); got != http.StatusUnauthorized {
		t.Errorf("nobody setting up a yard answered %d", got)
	}
}

func TestAPagesSessionRecordsFromThePagesOnly(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	if got := bookYard(t, h, "cross-site"); got != http.StatusForbidden {
		t.Errorf("another site's entry answered %d", got)
	}
	if got := bookYard(t, h, "same-origin"); got != http.StatusCreated {
		t.Errorf("the page's own entry answered %d", got)
	}
}

// bookYard sends an entry as a script of a page of that site would.
func bookYard(t *testing.T, h *apitest.House, site string) int {
	t.Helper()
	body := `{"id":"` + uuid.NewString() + `","occurred_at":"2026-05-01T08:00:00-05:00","name":"Yard ` + uuid.NewString()[:8] + `"}`
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.URL+"/v1/yards", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Sec-Fetch-Site", site)
	response, err := h.Client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if _, err := io.Copy(io.Discard, response.Body); err != nil {
		t.Fatal(err)
	}
	return response.StatusCode
}

func TestOnesOwnPasswordAndCodeAreChangedWithThePassword(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	for _, c := range []struct {
		form   url.Values
		status int
		says   string
	}{
		{url.Values{"do": {"code"}, "password": {"guessed-it"}, "code": {"7305"}}, http.StatusUnprocessableEntity, "not your password"},
		{url.Values{"do": {"code"}, "password": {h.Password}, "code": {"1234"}}, http.StatusUnprocessableEntity, "among the first"},
		{url.Values{"do": {"code"}, "password": {h.Password}, "code": {"73o5"}}, http.StatusUnprocessableEntity, "4 to 8 digits"},
		{url.Values{"do": {"code"}, "password": {h.Password}, "code": {"7305"}}, http.StatusOK, "is changed"},
		{url.Values{"do": {"password"}, "password": {h.Password}, "new": {"short"}}, http.StatusUnprocessableEntity, "has 5 characters"},
	} {
		response, body := h.Send(t, http.MethodPost, "/account", c.form, nil)
		if response.StatusCode != c.status || !strings.Contains(body, c.says) {
			t.Errorf("%v answered %s, without %q", c.form["do"], response.Status, c.says)
		}
	}
	h.Send(t, http.MethodPost, "/account", url.Values{"do": {"password"}, "password": {h.Password}, "new": {"clover after the rain"}}, nil)
	if isSignedIn(t, h) {
		t.Error("a new password leaves the old session open")
	}
	h.Password = "clover after the rain"
	if d := h.Device(t); !func() bool { d.SignIn(t); return isSignedIn(t, d) }() {
		t.Error("the new password does not sign in")
	}
}

func TestThePagesOwnScriptsAreAnsweredInTheReadersLanguageAndProgramsInEnglish(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.USOutfit, nil)
	h.SignIn(t)
	send := func(token string) (status int, detail string) {
		t.Helper()
		body := `{"id":"` + uuid.NewString() + `","occurred_at":"2026-05-01T08:00:00-05:00","yard_id":"` + uuid.NewString() + `","supers":[]}`
		r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.URL+"/v1/pulls", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Accept-Language", "es-ES")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		if token != "" {
			r.Header.Set("Authorization", "Bearer "+token)
		}
		response, err := h.Client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer response.Body.Close()
		answer, err := io.ReadAll(response.Body)
		if err != nil {
			t.Fatal(err)
		}
		return response.StatusCode, string(answer)
	}
	if status, said := send(""); status != http.StatusUnprocessableEntity || !strings.Contains(said, "No se guardó nada") {
		t.Errorf("the page's script is told %d: %s", status, said)
	}
	if status, said := send(h.Token); status != http.StatusUnprocessableEntity || !strings.Contains(said, "Nothing was stored") {
		t.Errorf("a program is told %d: %s", status, said)
	}
}
