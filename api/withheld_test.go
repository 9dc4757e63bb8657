package api_test

import (
	"bufio"
	"bytes"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pullbook/api/apitest"
	"pullbook/db"
)

// waysOut are where entries leave the book; what is told apart by role is told so
// at each. id is an entry of the operator's.
func waysOut(id string) []string {
	return []string{
		"/v1/entries?limit=1000", "/v1/entries/" + id, "/v1/changes?since=0&limit=1000", "/v1/changes/stream",
		"/feeds/journal.csv", "/feeds/journal.jsonl", "/feeds/journal.xlsx",
	}
}

// told is all the text that an address gives to a token.
func (o *outfit) told(t *testing.T, path, token string, header http.Header) string {
	t.Helper()
	if strings.HasSuffix(path, "/stream") {
		return o.streamed(t, path, token)
	}
	header = header.Clone()
	if header == nil {
		header = http.Header{}
	}
	header.Set("Authorization", "Bearer "+token)
	r := o.sendWith(t, http.MethodGet, path, header, nil)
	if r.status != http.StatusOK {
		t.Fatalf("%s: %d %.300s", path, r.status, r.raw)
	}
	if !strings.HasSuffix(path, ".xlsx") {
		return string(r.raw)
	}
	return cellsOf(t, r.raw)
}

func cellsOf(t *testing.T, workbook []byte) string {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(workbook))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var text strings.Builder
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			fmt.Fprintln(&text, row)
		}
	}
	return text.String()
}

// streamed reads a stream up to the last entry that there is.
func (o *outfit) streamed(t *testing.T, path, token string) string {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, o.url+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+token)
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	last, ends := fmt.Sprintf("id: %d", o.head(t).LastEntry), false
	var text strings.Builder
	lines := bufio.NewScanner(response.Body)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		fmt.Fprintln(&text, lines.Text())
		if ends = ends || lines.Text() == last; ends && lines.Text() == "" {
			return text.String()
		}
	}
	t.Fatalf("the stream ended before %s: %v", last, lines.Err())
	return ""
}

// journalled is an entry of the journal that tells of a token, or of something else.
type journalled struct {
	ID, Kind, Digest, Unreadable string
	Content                      struct {
		Body struct {
			Token struct {
				Name, SHA256 string
				Person       string `json:"person_id"`
			}
		}
	}
}

// What an entry says of people and keys is for managers. Everybody else learns that
// there is one, its number and its digest, so that no number is missing.
func TestOnlyManagersReadWhatTheOperatorChanged(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	o := house.newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	key := o.makeKey(t, "journal")
	passwords := map[string]string{}
	for _, name := range []string{"Mirren", "Tam", "Spreadsheet"} {
		passwords[name] = apitest.PasswordFor(t, house.database, o.id, name)
	}
	all := as[[]journalled](t, o.send(t, http.MethodGet, "/v1/entries?limit=1000", o.manager, nil))
	of := slices.IndexFunc(all, func(e journalled) bool { return e.Content.Body.Token.Name == "Tam's token" })
	entry := all[of]
	token := entry.Content.Body.Token
	secrets := []string{token.Name, token.SHA256, token.Person, "password_sha256", "made_at"}
	for _, path := range waysOut(entry.ID) {
		if text := o.told(t, path, o.manager, nil); !strings.Contains(text, token.Name) || !strings.Contains(text, token.SHA256) {
			t.Errorf("%s keeps a manager from what the operator changed: %.300s", path, text)
		}
		for role, secret := range map[string]string{"crew": o.crew, "a reader": o.reader} {
			text := o.told(t, path, secret, nil)
			noSecret(t, role+" at "+path, text, secrets)
			if !strings.Contains(text, entry.Digest) {
				t.Errorf("%s: %s misses the entry's digest", role, path)
			}
		}
	}
	noSecret(t, "crew", o.told(t, "/feeds/season.xlsx", o.crew, nil), secrets)
	noSecret(t, "a feed key", string(house.open(t, "/feeds/journal.csv?key="+key.Key).raw), secrets)
	for name, password := range passwords {
		page := house.browse(t, o.name, name, password)
		for _, path := range []string{"/journal?kind=operator", "/journal/" + entry.ID} {
			status, text := page(path)
			if status != http.StatusOK || !strings.Contains(text, entry.Digest[:16]) && path != "/journal?kind=operator" {
				t.Errorf("%s at %s: %d", name, path, status)
			}
			if managed := strings.Contains(text, "lets a program in as"); managed != (name == "Mirren") {
				t.Errorf("%s at %s is told what a token is for: %t", name, path, managed)
			}
			if neutral := strings.Contains(text, "people, keys or settings were changed"); neutral != (name != "Mirren") {
				t.Errorf("%s at %s reads the neutral words: %t", name, path, neutral)
			}
		}
	}
}

func noSecret(t *testing.T, who, text string, secrets []string) {
	t.Helper()
	for _, secret := range secrets {
		if strings.Contains(text, secret) {
			t.Errorf("%s reads %q", who, secret)
		}
	}
}

// An answer to a manager is kept for nobody else: not for the same person at the
// shed's tablet, nor where a program sends the manager's tag.
func TestNoAnswerToAManagerIsGivenAgainToOthers(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	o := house.newOutfit(t, "Fern Gully Honey")
	mirren, err := house.operator.PersonCalled(t.Context(), o.id, "Mirren")
	if err != nil {
		t.Fatal(err)
	}
	password := apitest.PasswordFor(t, house.database, o.id, "Mirren")
	if err := house.operator.SetUnlock(t.Context(), o.id, mirren.ID, "82640"); err != nil {
		t.Fatal(err)
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	tablet := &http.Client{Jar: jar, Timeout: time.Minute}
	for _, form := range []struct {
		path string
		url.Values
	}{
		{"/sign-in", url.Values{"outfit": {o.name}, "name": {"Mirren"}, "password": {password}}},
		{"/settings/tablets", url.Values{"name": {"by the extractor"}}},
		{"/unlock", url.Values{"person": {mirren.ID.String()}, "code": {"82640"}}},
	} {
		answer, err := tablet.PostForm(house.url+form.path, form.Values)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
	}
	for _, path := range []string{"/v1/entries?limit=1000", "/feeds/journal.csv"} {
		r := o.send(t, http.MethodGet, path, o.manager, nil)
		if !bytes.Contains(r.raw, []byte("Tam's token")) {
			t.Fatalf("%s: %d %.300s", path, r.status, r.raw)
		}
		noSecret(t, "crew with a manager's tag at "+path, o.told(t, path, o.crew, http.Header{"If-None-Match": {r.header.Get("ETag")}}), []string{"Tam's token"})
	}
	ask, err := http.NewRequestWithContext(t.Context(), http.MethodGet, house.url+"/v1/entries?limit=1000", nil)
	if err != nil {
		t.Fatal(err)
	}
	ask.Header.Set("Sec-Fetch-Site", "same-origin")
	answer, err := tablet.Do(ask)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var text bytes.Buffer
	if _, err := text.ReadFrom(answer.Body); err != nil || answer.StatusCode != http.StatusOK {
		t.Fatalf("the tablet is answered %s, %v: %s", answer.Status, err, text.String())
	}
	noSecret(t, "a manager at the shed's tablet", text.String(), []string{"Tam's token"})
}

// Nor do others read the stored text of such an entry where it cannot be read.
func TestOnlyManagersReadTheStoredTextOfWhatTheOperatorChanged(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	o := house.newOutfit(t, "Fern Gully Honey")
	passwords := map[string]string{}
	for _, name := range []string{"Mirren", "Tam"} {
		passwords[name] = apitest.PasswordFor(t, house.database, o.id, name)
	}
	tablet, err := house.service.As(db.Principal{Name: "Mirren"}).CreateTablet(t.Context(), o.id, "by the extractor")
	if err != nil {
		t.Fatal(err)
	}
	o.rewriteLast(t, `{"body":{"tablet":{"id":"`+tablet.Tablet.String()+`","name":"by the extractor","name":"elsewhere"}}}`)
	chain := as[[]journalled](t, o.send(t, http.MethodGet, fmt.Sprintf("/v1/entries?after=%d", o.head(t).LastEntry-1), o.manager, nil))
	if len(chain) != 1 || chain[0].Kind != "operator" || !strings.Contains(chain[0].Unreadable, "name") {
		t.Fatalf("a manager is told %+v", chain)
	}
	secrets := []string{"by the extractor", "elsewhere", chain[0].Unreadable}
	for _, path := range waysOut(chain[0].ID) {
		noSecret(t, "crew at "+path, o.told(t, path, o.crew, nil), secrets)
	}
	for name, want := range map[string]int{"Mirren": http.StatusOK, "Tam": http.StatusForbidden} {
		page := house.browse(t, o.name, name, passwords[name])
		if status, text := page("/journal/" + chain[0].ID + "/stored"); status != want || strings.Contains(text, "elsewhere") != (want == http.StatusOK) {
			t.Errorf("%s is handed the stored text: %d %.200s", name, status, text)
		}
		if _, text := page("/journal/" + chain[0].ID); strings.Contains(text, "Get the stored text") != (want == http.StatusOK) {
			t.Errorf("%s is offered the stored text on the entry's page, or not", name)
		}
	}
}
