package main

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/openapi"
)

// Whatever the contract lets be recorded has a path, and goes there with the token.
func TestEveryKindOfEntryHasAPathToBeSentTo(t *testing.T) {
	t.Parallel()
	all, err := openapi.Recordings()
	if err != nil || len(all) < 25 {
		t.Fatalf("the contract records %d kinds of entries: %v", len(all), err)
	}
	for noun, way := range all {
		if path, err := openapi.RecordingPath("New" + noun); err != nil || path != way.Path || !strings.HasPrefix(path, "/v1/") {
			t.Errorf("a %s goes to %q: %v", noun, path, err)
		}
	}
	asked := make(chan string, 1)
	service := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		asked <- r.Method + " " + r.URL.Path + " " + r.Header.Get("Authorization") + " " + string(body)
		w.WriteHeader(http.StatusCreated)
	}))
	defer service.Close()
	c := newClient(service.URL, "secret")
	pull := &openapi.NewPull{NewEntry: openapi.NewEntry{ID: uuid.New(), OccurredAt: time.Now()}}
	if status, err := c.record(t.Context(), pull); err != nil || status != http.StatusCreated {
		t.Errorf("a pull: %d %v", status, err)
	}
	if got := <-asked; !strings.HasPrefix(got, "POST /v1/pulls Bearer secret {") || !strings.Contains(got, pull.ID.String()) {
		t.Errorf("a pull was sent as %s", got)
	}
	if _, err := c.record(t.Context(), &openapi.Outfit{}); err == nil {
		t.Error("an outfit was sent as an entry")
	}
}
