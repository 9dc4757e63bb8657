package api_test

import (
	"io"
	"net/http"
	"strings"
	"testing"
	"time"
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
		{"a number beyond all numbers", "loads", `{"load": 1e999999999}`, "/load", "larger"},
		{"a number of a million digits", "loads", `{"load": ` + strings.Repeat("9", 50000) + `}`, "/load", "64 characters"},
		{"a number that would become nothing", "loads", `{"load": 1e-400}`, "/load", "write 0"},
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
