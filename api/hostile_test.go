package api_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
)

// mostOfARefusal is how large an answer to a request that failed may be.
const mostOfARefusal = 64 << 10

// refusal holds that an answer refuses in the form of problem details, and briefly.
func refusal(t *testing.T, what string, r reply) problem {
	t.Helper()
	if r.status < 400 || r.status >= 500 || len(r.raw) == 0 || len(r.raw) > mostOfARefusal {
		t.Fatalf("%s: %d with %d bytes %.300s", what, r.status, len(r.raw), r.raw)
	}
	return as[problem](t, r)
}

func TestABodyThatCannotBeKeptAsItIsIsRefused(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	before := s.head(t)
	yard := func(members string) string {
		return `{"id": "` + id() + `", "occurred_at": "2026-08-01T08:00:00-05:00", ` + members + `}`
	}
	deep := strings.Repeat(`{"all":[`, 4998) + strings.Repeat(`]}`, 4998)
	for _, row := range []struct{ what, path, body, pointer, says string }{
		{"a name twice", "yards", yard(`"name": "Alder", "name": "Birch"`), "/name", "twice"},
		{"a name twice, once in escapes", "yards", yard(`"name": "Alder", "n\u0061me": "Birch"`), "/name", "twice"},
		{"bytes that are no text", "yards", yard("\"name\": \"Ald\xffer\""), "/name", ""},
		{"half a character", "yards", yard(`"name": "Ald\ud800er"`), "/name", ""},
		{"NUL in text", "yards", yard(`"name": "Ald\u0000er"`), "/name", "U+0000"},
		{"NUL in a name", "yards", yard(`"na\u0000me": "Alder"`), "/na\x00me", "U+0000"},
		{"a blank of no width", "yards", yard(`"name": "Ald\u200ber"`), "/name", "U+200B"},
		{"text that runs backwards", "yards", yard(`"name": "drum \u202e71"`), "/name", "U+202E"},
		{"what steers a terminal", "yards", yard(`"name": "\u001b[31mAlder"`), "/name", "U+001B"},
		{"a leap second", "yards", `{"id": "` + id() + `", "occurred_at": "2026-06-30T23:59:60Z", "name": "Alder"}`, "/occurred_at", "a time with its offset"},
		{"a 31 November", "seasons", yard(`"name": "2031", "first": "2031-01-01", "last": "2031-11-31"`), "/last", "a date such as"},
		{"a number beyond all numbers", "loads", `{"load": 1e999999999}`, "/load", "too large to be stored"},
		{"a number of a million digits", "loads", `{"load": ` + strings.Repeat("9", 50000) + `}`, "/load", "64 characters"},
		{"a number that would become nothing", "loads", `{"load": 1e-400}`, "/load", "Write 0"},
		{"a slip in a name", "yards", yard(`"nmae": "Alder"`), "/nmae", "Was name meant?"},
		{"a slip in a word of a list", "rooms", yard(`"name": "hot room", "use": "hot_rom"`), "/use", "Was hot_room meant?"},
		{"a very long name", "yards", yard(`"` + strings.Repeat("n", 60000) + `": 1`), "/name", "missing"},
		{"a list too deep for anything", "yards", strings.Repeat("[", 30000), "", ""},
		{"a rule set that goes 10,000 deep", "rule-sets", `{"limits": [{"when": ` + deep + `}]}`, "", ""},
	} {
		p := refusal(t, row.what, s.send(t, http.MethodPost, "/v1/"+row.path, s.manager, []byte(row.body)))
		if row.pointer == "" {
			continue
		}
		if c := at0(p.Errors, row.pointer); c == nil || !strings.Contains(c.Detail, row.says) {
			t.Errorf("%s: nothing at %q says %q: %+v", row.what, row.pointer, row.says, p)
		}
	}
	if s.head(t) != before {
		t.Error("something of it was stored")
	}
}

func TestOfManyProblemsTheFirstAreNamedAndTheRestCounted(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	points := strings.TrimSuffix(strings.Repeat(`{"at":1},`, 20000), ",")
	body := `{"id": "` + id() + `", "occurred_at": "2026-08-21T20:00:00-05:00", "on": {"kind": "tank", "id": "` + s.large + `"}, "points": [` + points + `]}`
	r := s.send(t, http.MethodPost, "/v1/temperature-logs", s.manager, []byte(body))
	refusal(t, "20,000 wrong points", r)
	p := as[struct {
		Errors     []complaint
		MoreErrors int64 `json:"more_errors"`
	}](t, r)
	if len(p.Errors) != 25 || p.MoreErrors != 2*20000-25 || p.Errors[24].Pointer != "/points/12/at" {
		t.Errorf("%d problems are named, the last at %s, and %d more counted", len(p.Errors), p.Errors[len(p.Errors)-1].Pointer, p.MoreErrors)
	}
}

func TestWhoMayNotIsToldSoBeforeTheBodyIsRead(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	for _, op := range operations(t) {
		role, _ := op.Extensions["x-role"].(string)
		if op.RequestBody == nil || role == "" {
			continue
		}
		who := o.reader
		if role == "manager" {
			who = o.crew
		}
		silent, stop := io.Pipe() // a body of which nothing ever comes
		request, err := http.NewRequestWithContext(t.Context(), op.method, o.url+op.path, silent)
		if err != nil {
			t.Fatal(err)
		}
		request.Header.Set("Authorization", "Bearer "+who)
		client := http.Client{Timeout: 10 * time.Second}
		response, err := client.Do(request)
		if err != nil {
			t.Fatalf("%s waits for the body: %v", op.path, err)
		}
		if response.StatusCode != http.StatusForbidden {
			t.Errorf("%s: %d", op.path, response.StatusCode)
		}
		response.Body.Close()
		stop.Close()
	}
}

func TestAQueryThatIsNoneIsRefused(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for _, query := range []string{
		"yards?limit=%zz", "yards?limit=1;all=true", "yards?limit=1&limit=2", "yards?limit=NaN", "yards?limit=1e400", "yards?after=" + strings.Repeat("9", 5000),
		"yards?lmiit=1", "yards?%ff=1", "yards?season=%00", "calculators/refractometer?moisture_pct=NaN", "reports/season?as_of=-1",
		"calculators/honey-properties?moisture_pct=NaN", "calculators/honey-properties?moisture_pct=%2BInf", "calculators/honey-properties?moisture_pct=0x1p4",
		"yards?" + strings.Repeat("a", 20000) + "=1", "yards?" + strings.Repeat("a=1&", 5000),
	} {
		refusal(t, query, s.send(t, http.MethodGet, "/v1/"+query, s.reader, nil))
	}
	r := s.send(t, http.MethodGet, "/v1/yards?lmit=1", s.reader, nil)
	if c := at0(as[problem](t, r).Errors, "query:lmit"); c == nil || c.DidYouMean != "limit" {
		t.Errorf("limit is not suggested: %s", r.raw)
	}
}

func TestAnImportUnderAnotherEntrysIDIsAConflict(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	before := s.head(t)
	for what, taken := range map[string]string{"a tank's": s.large, "a pull's": s.pull, "a fill's": s.drum1} {
		r := s.bringInAs(t, taken, s.manager, "yards", "true", "Yard\nCedar Flat\n", nil)
		if p := refusal(t, what, r); r.status != http.StatusConflict || at0(p.Errors, "/id") == nil {
			t.Errorf("%s id: %d %s", what, r.status, r.raw)
		}
	}
	if s.head(t) != before {
		t.Error("something of it was stored")
	}
}

func TestALotsSheetIsPrintedWhateverSignsItsNamesHave(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	lot := s.book(t, "lots", s.aLot("code", "L26 🐝𠀀\uffff", "product", "🍯 honey")).ID
	s.book(t, "fills", s.aFill("container", "D-🐝", "lot_id", lot))
	if r := s.send(t, http.MethodGet, "/v1/lots/"+lot+"/certificate.pdf", s.reader, nil); r.status != http.StatusOK || len(r.raw) < 1000 {
		t.Errorf("%d with %d bytes %.300s", r.status, len(r.raw), r.raw)
	}
}

func TestAListIsEmptyAfterTheLastNumberThatThereCanBe(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	if r := s.get(t, "entries?after=9223372036854775807"); strings.TrimSpace(string(r.raw)) != "[]" {
		t.Errorf("%s", r.raw)
	}
}

// TestNothingThatIsSentIsAFaultOfTheService sends spoilt bodies, paths, queries and
// headers to every operation of the contract, by each role.
func TestNothingThatIsSentIsAFaultOfTheService(t *testing.T) {
	t.Parallel()
	const requests, seed = 300, 11
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	v := &vandal{rambler{Rand: rand.New(rand.NewPCG(seed, 5)), known: map[string][]string{}}}
	v.learn(t, s)
	all := operations(t)
	for i := range requests {
		v.send(t, s, all[i%len(all)])
	}
	s.holdsTogether(t)
}

// vandal spoils what a rambler makes up.
type vandal struct{ rambler }

func (v *vandal) send(t *testing.T, s *shed, op operation) {
	t.Helper()
	path, query := op.path, url.Values{}
	for _, p := range op.Parameters {
		text := v.parameter(p.Value.Schema.Value, p.Value.Name)
		switch {
		case p.Value.In == openapi3.ParameterInPath:
			path = strings.Replace(path, "{"+p.Value.Name+"}", url.PathEscape(text), 1)
		case v.IntN(2) == 0:
			query.Set(p.Value.Name, text)
		}
	}
	var body []byte
	if op.RequestBody != nil {
		body = v.body(op)
	}
	header := http.Header{"Authorization": {"Bearer " + []string{s.manager, s.manager, s.crew, s.reader, "x\xff"}[v.IntN(5)]}}
	for _, name := range []string{"If-None-Match", "Range", "Accept-Language", "Cookie", "X-Request-Id", "Last-Event-ID"} {
		if v.IntN(8) == 0 {
			header.Set(name, strings.Map(printableOnly, v.nonsense()))
		}
	}
	before := s.head(t)
	if isStream(op) || op.OperationID == "followEntries" {
		s.sendBriefly(t, op.method, path+"?"+query.Encode(), header)
		return
	}
	got := s.sendWith(t, op.method, path+"?"+query.Encode(), header, body)
	if got.status == http.StatusCreated && isEntry(op) {
		v.remember(op.path, as[recorded](t, got).ID)
	}
	if got.status < 400 {
		return
	}
	what := fmt.Sprintf("%s %s?%.300s %.500q", op.method, path, query.Encode(), body)
	if got.status >= 500 || len(got.raw) == 0 || len(got.raw) > mostOfARefusal || as[problem](t, got).Status != got.status {
		t.Errorf("%s: %d with %d bytes %.300s", what, got.status, len(got.raw), got.raw)
	}
	if s.head(t) != before {
		t.Errorf("%s: %d, and something was stored", what, got.status)
	}
}

// sendBriefly asks for what may take for ever, and leaves soon. A refusal is whole.
func (h *honeyHouse) sendBriefly(t *testing.T, method, path string, header http.Header) {
	t.Helper()
	within, leave := context.WithTimeout(t.Context(), time.Second)
	defer leave()
	r, err := http.NewRequestWithContext(within, method, h.url+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header = header
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		if within.Err() == nil {
			t.Errorf("%s: %v", path, err)
		}
		return // it waits
	}
	defer response.Body.Close()
	raw, _ := io.ReadAll(response.Body)
	if response.StatusCode < 400 {
		return
	}
	if got := (reply{response.StatusCode, response.Header, raw}); got.status >= 500 || as[problem](t, got).Status != got.status {
		t.Errorf("%s: %d with %.300s", path, got.status, got.raw)
	}
}

// printableOnly leaves in a header what one can hold.
func printableOnly(r rune) rune {
	if r < ' ' || r == 0x7f {
		return -1
	}
	return r
}

func (v *vandal) parameter(s *openapi3.Schema, name string) string {
	switch v.IntN(4) {
	case 0:
		return fmt.Sprint(v.value(s, name))
	case 1:
		all := v.known["entry_id"]
		return all[v.IntN(len(all))]
	}
	return v.nonsense()
}

// nonsense is text that means nothing, or too much.
func (v *vandal) nonsense() string {
	return []string{"", "NaN", "-Inf", "1e400", "0x1p9", "\x00", "\xff\xfe", strings.Repeat("9", 300), strings.Repeat("é", 3000), "../../x", "%00", "a,b,,", "null",
		"1,NaN,3", "9223372036854775807", "-9223372036854775808", "0000-01-01", "9999-12-31T23:59:59+23:59", "\u202e", "*", "bytes=0-,5-1", "'; --"}[v.IntN(22)]
}

// body is one of an operation, spoilt in one way or another.
func (v *vandal) body(op operation) []byte {
	if op.isForm() {
		return []byte(v.nonsense())
	}
	body := v.object(op.RequestBody.Value.Content["application/json"].Schema.Value)
	v.sensible(body)
	if len(body) > 0 && v.IntN(2) == 0 {
		v.spoil(body)
	}
	if v.IntN(6) == 0 {
		all := v.known["entry_id"]
		body["id"] = all[v.IntN(len(all))]
	}
	raw, err := json.Marshal(body)
	if err != nil {
		return nil
	}
	names := make([]string, 0, len(body))
	for name := range body {
		names = append(names, name)
	}
	slices.Sort(names)
	if len(names) == 0 || v.IntN(2) == 0 {
		return raw
	}
	name := names[v.IntN(len(names))]
	text := []string{`"\ud800"`, `"` + "\xff" + `"`, `1e999`, `NaN`, `"\u0000"`, strings.Repeat("[", 40) + strings.Repeat("]", 40), `"` + strings.Repeat("x", 70000) + `"`,
		`1.7976931348623157e308`, `5e-324`, `{"` + name + `":{}}`, strings.Repeat("1", 400)}[v.IntN(11)]
	return append([]byte(`{"`+name+`":`+text+`,`), raw[1:]...)
}
