package worst

import (
	"cmp"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db/dbtest"
	"pullbook/openapi"
)

// row is what the worst requests to an operation took.
type row struct {
	operation
	openapi.Bounds
	memory, answer int64
	took           time.Duration
	memoryBy, by   string
}

// onePixel is the head of a picture of one pixel (PNG); what comes after it nobody reads.
const onePixel = "\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x00\x00\x00\x00\x3a\x7e\x9b\x55"

// pulls are how many nobody extracted, from 4,000 yards at the most.
func pulls() int {
	if dbtest.Whole() {
		return 16_000
	}
	return 2_000
}

// TestTheWorstRequestsStayWithinWhatIsStated sends to a book with many pulls that nobody
// extracted, beside a whole season.
func TestTheWorstRequestsStayWithinWhatIsStated(t *testing.T) {
	p := startDemo(t)
	enlarge(t, p)
	things := thingsOf(t, p)
	p.stop()
	p.start(t)
	warm(t, p)
	var rows []row
	for _, o := range operations(t) {
		l := openapi.BoundsOf(o.Operation)
		r := row{operation: o, Bounds: l}
		for _, request := range o.worst(t, things) {
			p.forget(t)
			before, _ := p.resident(t)
			began := time.Now()
			status, answer, err := p.send(o.method, request)
			took := time.Since(began)
			_, highest := p.resident(t)
			if err != nil {
				t.Errorf("%s, %s: %v", o.id, request.name, err)
				continue
			}
			if highest-before > rests {
				p.stop()
				p.start(t)
				warm(t, p)
			}
			if status >= http.StatusInternalServerError && status != http.StatusServiceUnavailable {
				t.Errorf("%s, %s: status %d", o.id, request.name, status)
			}
			if status >= 400 && answer == 0 {
				t.Errorf("%s, %s: status %d without a word", o.id, request.name, status)
			}
			if memory := highest - before; memory > r.memory {
				r.memory, r.memoryBy = memory, request.name
			}
			if took > r.took {
				r.took, r.by = took, request.name
			}
			r.answer = max(r.answer, answer)
		}
		if r.memory > l.MemoryMiB<<20 || r.took > time.Duration(l.Seconds)*time.Second || r.answer > l.AnswerKiB<<10 {
			t.Errorf("%s takes %.1f MiB (%s), %.1f s (%s) and answers %d KiB; stated are %d MiB, %d s and %d KiB", o.id,
				mib(r.memory), r.memoryBy, r.took.Seconds(), r.by, r.answer>>10, l.MemoryMiB, l.Seconds, l.AnswerKiB)
		}
		rows = append(rows, r)
	}
	if where := os.Getenv("PULLBOOK_WRITE_MEASURED"); where != "" {
		if err := os.WriteFile(where, []byte(table(rows)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("\n%s", table(rows))
}

// rests is memory that an operation may leave behind for the next to use unseen:
// after more than that the program is started anew.
const rests = 24 << 20

// warm has the book opened, which is not the memory of the request that comes first.
func warm(t *testing.T, p *program) {
	t.Helper()
	if status, text := p.say(t, http.MethodGet, request{role: "reader", path: "/v1/reports/totals"}); status != http.StatusOK {
		t.Fatalf("the totals: %d\n%s", status, text)
	}
}

func mib(bytes int64) float64 { return float64(bytes) / (1 << 20) }

// table is what was measured, as measured.md has it.
func table(rows []row) string {
	var b strings.Builder
	b.WriteString(`# The worst request to each operation

Written by ` + "`PULLBOOK_TEST_WHOLE=1 PULLBOOK_WRITE_MEASURED=measured.md go test ./cmd/pullbook/worst`" + `. Memory is how far the program's resident
memory rose above what it was before the request; the garbage of earlier requests counts too, so small figures are noise.
PostgreSQL's own memory is not in it. The book has the invented season and 16,000 pulls that nobody extracted.

| operation | body, KiB | memory, MiB: most | stated | time, s: longest | stated | answer, KiB: most | stated | the worst was |
| --- | --- | --- | --- | --- | --- | --- | --- | --- |
`)
	for _, r := range rows {
		body := "–"
		if r.bodyKiB() > 0 {
			body = strconv.Itoa(r.bodyKiB())
		}
		fmt.Fprintf(&b, "| %s | %s | %.1f | %d | %.2f | %d | %d | %d | %s |\n", r.id, body, mib(r.memory), r.MemoryMiB, r.took.Seconds(), r.Seconds, (r.answer+1023)>>10, r.AnswerKiB, cmp.Or(r.memoryBy, r.by))
	}
	return b.String()
}

// operations are those of the contract, in order of their names.
func operations(t *testing.T) (out []operation) {
	t.Helper()
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			out = append(out, operation{id: op.OperationID, method: method, path: path, Operation: op})
		}
	}
	slices.SortFunc(out, func(a, b operation) int { return strings.Compare(a.id, b.id) })
	return out
}

// enlarge brings in pulls that nobody extracts.
func enlarge(t *testing.T, p *program) {
	t.Helper()
	var sheet strings.Builder
	sheet.WriteString("Date,Yard,Supers,Kind\n")
	for i := range pulls() {
		fmt.Fprintf(&sheet, "2026-%02d-%02d,%s,%d,deep\n", 6+i/4000, 1+i%28, uuid.NewSHA1(uuid.Nil, []byte{byte(i % 4000 >> 8), byte(i % 4000)}), 1+i%7+i/4000)
	}
	answers, err := json.Marshal(map[string]any{
		"make_seasons": true, "leave_out_totals": true,
		"names": map[string]any{
			"yard":       map[string]any{"*": map[string]any{"create": map[string]any{}}},
			"super_kind": map[string]any{"deep": map[string]any{"create": map[string]any{"tare_kg": 13, "usual_net_kg": 27, "fullest_net_kg": 36}}},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	kind, body := form(t, map[string]string{"id": uuid.NewString(), "kind": "pulls", "store": "true", "mapping": string(answers)}, sheet.String())
	status, text := p.say(t, http.MethodPost, request{role: "manager", path: "/v1/imports", contentType: kind, body: body})
	if status != http.StatusCreated {
		t.Fatalf("the pulls were not brought in: %d\n%.3000s", status, text)
	}
}

// thingsOf are things of the book that paths and queries name.
func thingsOf(t *testing.T, p *program) map[string]string {
	t.Helper()
	first := func(path, field string) string {
		_, text := p.say(t, http.MethodGet, request{role: "manager", path: path})
		var list []map[string]any
		if err := json.Unmarshal([]byte(text), &list); err != nil || len(list) == 0 {
			t.Fatalf("%s: %v\n%.500s", path, err, text)
		}
		return fmt.Sprint(list[0][field])
	}
	var outfit openapi.Outfit
	_, text := p.say(t, http.MethodGet, request{role: "manager", path: "/v1/outfit"})
	if err := json.Unmarshal([]byte(text), &outfit); err != nil {
		t.Fatal(err)
	}
	lot := first("/v1/lots?limit=1", "id")
	result, certificate := uuid.NewString(), uuid.NewString()
	reading, err := json.Marshal(map[string]any{"id": result, "occurred_at": time.Now().Add(-time.Hour).Format(time.RFC3339), "on": map[string]any{"kind": "lot", "id": lot}, "laboratory": "Fern Valley", "moisture_pct": 17.1})
	if err != nil {
		t.Fatal(err)
	}
	if status, text := p.say(t, http.MethodPost, request{role: "manager", path: "/v1/readings", contentType: "application/json", body: reading}); status != http.StatusCreated {
		t.Fatalf("a laboratory's result: %d\n%s", status, text)
	}
	kind, body := form(t, map[string]string{"id": certificate, "reading_id": result}, "%PDF-1.7"+strings.Repeat("y", 5<<20-8))
	if status, text := p.say(t, http.MethodPost, request{role: "manager", path: "/v1/laboratory-certificates", contentType: kind, body: body}); status != http.StatusCreated {
		t.Fatalf("a certificate: %d\n%s", status, text)
	}
	photo := uuid.NewString()
	kind, body = form(t, map[string]string{"id": photo, "entry_id": result}, onePixel+strings.Repeat("y", 512<<10-len(onePixel)))
	if status, text := p.say(t, http.MethodPost, request{role: "manager", path: "/v1/photos", contentType: kind, body: body}); status != http.StatusCreated {
		t.Fatalf("a picture: %d\n%s", status, text)
	}
	return map[string]string{
		"laboratory result": result, "id /v1/laboratory-certificates/{id}/file": certificate, "id /v1/photos/{id}/file": photo,
		"lot": lot, "lot_id": lot, "id": lot, "of": lot, "from": lot,
		"known_at": strconv.FormatInt(outfit.LastEntry/2, 10), "standard": first("/v1/standards", "id"), "since": "0",
		"instrument": first("/v1/instruments?limit=1", "id"), "holder": lot,
		"id /v1/reports/settlements/{id}": first("/v1/settlements?limit=1", "id"),
	}
}
