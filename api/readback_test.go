package api_test

import (
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pullbook/db/books"

	"pullbook/api/apitest"
)

// What a stranger may send: texts, numbers and times at the ends of what there is.
var (
	hostileTexts = []string{"\u0000", `\u0000`, "\x01", "a\xffb", "\u2028\u2029", "\ufeff", "\u202e", strings.Repeat("[", 300), strings.Repeat(`{"a":`, 300), `"`, `\`, "<!--",
		"<script>", "e\u0301\u0301", "🐝", "蜜", "NaN", "null", "1e999", strings.Repeat("ſ", 80), strings.Repeat("&", 2000), "\r\n", "\x1b[2J", "=1+1", "Ω\u0345"}
	hostileNumbers = []string{"1e400", "1e308", "5e-324", "-0", "-0.0", "9007199254740993", "9223372036854775807", "9223372036854775808", "0.0005", "1E2", "1.7976931348623157e308", "0.1e1"}
	hostileTimes   = []string{"0000-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59.999999999Z", "9999-12-31T23:59:59-23:59", "2026-06-30T23:59:60Z",
		"2026-08-21T10:00:00+23:59", "2026-08-21T10:00:00.123456789-00:01", "2026-08-21T24:00:00Z", "1900-01-01T00:00:00Z", "1899-12-31T23:59:59Z", "2026-08-21t10:00:00z", "2026-02-30T10:00:00Z"}
)

// nestedCondition is a condition so deep, of one form or a mixture.
func nestedCondition(depth int, form string) string {
	open, end := `{"not":`, `}`
	if form != "not" {
		open, end = `{"`+form+`":[`, `]}`
	}
	return strings.Repeat(open, depth) + `{"attribute":"use","only":["bakers"]}` + strings.Repeat(end, depth)
}

// spoilText puts something hostile in the stead of values of a body, as JSON text, so
// that what no encoder would write is sent too.
func (r *rambler) spoilText(value any) string {
	switch x := value.(type) {
	case map[string]any:
		parts := []string{}
		for _, name := range sortedNames(x) {
			inner := r.spoilText(x[name])
			if _, isText := x[name].(string); isText && r.IntN(8) == 0 {
				switch {
				case strings.HasSuffix(name, "_at") || name == "at":
					inner = `"` + one(r, hostileTimes) + `"`
				case !strings.HasSuffix(name, "id"):
					inner = `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\x00", `\u0000`, "\x01", `\ud83d`, "\r", `\r`, "\n", `\n`, "\x1b", `\u001b`).
						Replace("L"+one(r, hostileTexts)) + `"`
				}
			}
			parts = append(parts, quoted(name)+":"+inner)
		}
		return "{" + strings.Join(parts, ",") + "}"
	case []any:
		parts := []string{}
		for _, inner := range x {
			parts = append(parts, r.spoilText(inner))
		}
		return "[" + strings.Join(parts, ",") + "]"
	case float64, int64:
		if r.IntN(15) == 0 {
			return one(r, hostileNumbers)
		}
	}
	return quoted(value)
}

func sortedNames(m map[string]any) []string {
	names := make([]string, 0, len(m))
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func quoted(x any) string {
	text, err := json.Marshal(x)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// Whatever is accepted, a fresh process opens the book with it, shows it, exports it,
// and another installation reads that to the very same book, which the audit finds
// whole.
func TestWhateverIsAcceptedAFreshProcessOpensExportsAndAudits(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	there := openHouse(t)
	for seed := range uint64(5) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			s := house.newShed(t, fmt.Sprintf("Outfit %d", seed))
			r := &rambler{Rand: rand.New(rand.NewPCG(seed, 11)), known: map[string][]string{}}
			r.learn(t, s)
			var takers []operation
			for _, op := range operations(t) {
				if op.RequestBody != nil && !op.isForm() {
					takers = append(takers, op)
				}
			}
			taken := map[int]int{}
			for range 300 {
				taken[s.sendHostile(t, r, one(r, takers))]++
			}
			if taken[201] < 50 || taken[422] < 30 {
				t.Errorf("the bodies made up are no good test: %v", taken)
			}
			s.outlives(t, there)
		})
	}
}

func one[T any](r *rambler, of []T) T { return of[r.IntN(len(of))] }

// sendHostile sends a body made up, spoilt here and there.
func (s *shed) sendHostile(t *testing.T, r *rambler, op operation) int {
	t.Helper()
	body := r.object(op.RequestBody.Value.Content["application/json"].Schema.Value)
	r.sensible(body)
	raw := r.spoilText(body)
	if strings.HasSuffix(op.path, "/rule-sets") && r.IntN(2) == 0 {
		contract := s.aContract("name", fmt.Sprintf("deep %d", r.Uint64()))
		line := with(contract["limits"].([]M)[0], "when", "CONDITION")
		raw = strings.Replace(quoted(with(contract, "limits", []M{contract["limits"].([]M)[1], line})), `"CONDITION"`,
			nestedCondition(one(r, []int{1, 9, 13, 14, 26, 27, 28, 57, 58, 60, 64, 200, 4990, 9995}), one(r, []string{"not", "all", "any"})), 1)
	}
	got := s.send(t, op.method, op.path, s.manager, []byte(raw))
	if got.status >= 500 {
		t.Errorf("%s %.2000s: %d %.500s", op.path, raw, got.status, got.raw)
	}
	if got.status == http.StatusCreated {
		r.remember(op.path, as[recorded](t, got).ID)
	}
	return got.status
}

// outlives holds a book, as a fresh process reads it, to all that is asked of one.
func (s *shed) outlives(t *testing.T, there *honeyHouse) {
	t.Helper()
	password := apitest.BookedPasswordFor(t, s.operator, s.id, "Mirren")
	before := s.head(t)
	fresh := openHouseAt(t, s.database)
	for _, op := range operations(t) {
		if op.method != http.MethodGet || strings.Contains(op.path, "{") || op.path == "/v1/changes/stream" || askingQuery(op) != "" {
			continue
		}
		if got := fresh.send(t, http.MethodGet, op.path, s.manager, nil); got.status >= 500 {
			t.Errorf("%s: %d %.500s", op.path, got.status, got.raw)
		}
	}
	page := fresh.browse(t, s.name, "Mirren", password)
	for _, path := range []string{"/", "/journal", "/findings", "/tanks", "/lots", "/season", "/settings"} {
		if status, text := page(path); status != http.StatusOK || !strings.Contains(text, "Sign out") {
			t.Errorf("%s: %d %.500s", path, status, text)
		}
	}
	data := fresh.archived(t, s.id)
	r, err := there.restore(t, data)
	if err != nil {
		t.Fatalf("the archive does not come in elsewhere: %v", err)
	}
	for _, house := range []*honeyHouse{fresh, there} {
		book, err := books.Audit(context.Background(), house.operator, r.Outfit)
		if err != nil {
			t.Fatalf("the audit: %v", err)
		}
		if last := book.Numbered(book.Len()); book.Len() != before.LastEntry || hex.EncodeToString(last.Digest[:]) != before.Digest {
			t.Fatalf("%d entries, %x; there were %d, %s", book.Len(), last.Digest, before.LastEntry, before.Digest)
		}
	}
	if back := there.archived(t, r.Outfit.ID); !bytes.Equal(back, data) {
		t.Error("the archive from there is another")
	}
}

// browse signs somebody in to the pages, and gives what looks at one.
func (h *honeyHouse) browse(t *testing.T, outfit, name, password string) func(path string) (status int, text string) {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	client := &http.Client{Jar: jar}
	answer, err := client.PostForm(h.url+"/sign-in", url.Values{"outfit": {outfit}, "name": {name}, "password": {password}})
	if err != nil || answer.StatusCode != http.StatusOK {
		t.Fatalf("signing in: %v, %v", answer, err)
	}
	answer.Body.Close()
	return func(path string) (int, string) {
		t.Helper()
		answer, err := client.Get(h.url + path)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		text, err := io.ReadAll(answer.Body)
		if err != nil {
			t.Fatal(err)
		}
		return answer.StatusCode, string(text)
	}
}
