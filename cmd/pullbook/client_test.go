package main

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/oapi-codegen/runtime/types"

	"pullbook/openapi"
)

// founded is how many entries newOutfit makes: of the outfit, its manager and a
// token.
const founded = 3

// newOutfit makes an outfit with a manager in a data folder, and gives the
// manager's token.
func newOutfit(t *testing.T, where ...string) (token string) {
	t.Helper()
	must(t, append([]string{"outfit", "add", "Fern Gully Honey", "--time-zone", "America/Winnipeg"}, where...)...)
	must(t, append([]string{"person", "add", "Mirren", "--role", "manager"}, where...)...)
	return strings.TrimSpace(must(t, append([]string{"token", "add", "mirren"}, where...)...))
}

// house is an outfit with a season and a yard, ready to count hives in.
type house struct {
	client *client
	yard   uuid.UUID
}

// reach signs in to a program that serves.
func reach(t *testing.T, base, token string) *client {
	t.Helper()
	c := newClient(base, token)
	c.http = &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 8}}
	return c
}

// setUp records a season and a yard.
func setUp(t *testing.T, c *client) *house {
	t.Helper()
	h := &house{client: c, yard: uuid.New()}
	at := time.Now().Add(-time.Hour)
	year := time.Now().Year()
	for _, request := range []any{
		&openapi.NewSeason{NewEntry: openapi.NewEntry{ID: uuid.New(), OccurredAt: at}, Name: fmt.Sprint(year), First: date(year-1, 1, 1), Last: date(year+1, 1, 31)},
		&openapi.NewYard{NewEntry: openapi.NewEntry{ID: h.yard, OccurredAt: at}, Name: "Alder Bend"},
	} {
		if status, err := c.record(t.Context(), request); err != nil || status != http.StatusCreated {
			t.Fatalf("%T: %d, %v", request, status, err)
		}
	}
	return h
}

// count is a new entry of some hives.
func (h *house) count(id uuid.UUID, hives int) *openapi.NewHiveCount {
	return &openapi.NewHiveCount{NewEntry: openapi.NewEntry{ID: id, OccurredAt: countedAt}, YardID: h.yard, Name: "count " + id.String(), Hives: hives}
}

var countedAt = time.Now().Add(-time.Minute).Truncate(time.Second)

// answer is what came back.
type answer struct {
	status int
	header http.Header
	text   string
}

func ask(t *testing.T, client *http.Client, method, url string, header ...string) answer {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	response, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer{response.StatusCode, response.Header, string(text)}
}

// statusOf gets a path without signing in.
func statusOf(t *testing.T, url string) int {
	t.Helper()
	return ask(t, http.DefaultClient, http.MethodGet, url).status
}

// awaitAnswer asks until an answer has a status.
func awaitAnswer(t *testing.T, want int, ask func() int) {
	t.Helper()
	got := 0
	for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); time.Sleep(100 * time.Millisecond) {
		if got = ask(); got == want {
			return
		}
	}
	t.Fatalf("answered with %d, want %d", got, want)
}

// outfitOf is what the service says of the token's outfit.
func outfitOf(t *testing.T, c *client) openapi.Outfit {
	t.Helper()
	var got openapi.Outfit
	if err := c.get(t.Context(), "outfit", &got); err != nil {
		t.Fatalf("the outfit: %v", err)
	}
	return got
}

func date(year, month, day int) types.Date {
	return types.Date{Time: time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)}
}
