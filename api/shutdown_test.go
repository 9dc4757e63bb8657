package api_test

import (
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"pullbook/api/request"
)

func TestNothingAcknowledgedIsLostAsTheServiceStops(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	var mu sync.Mutex
	acknowledged := map[string]bool{}
	var refused atomic.Int64
	var crew sync.WaitGroup
	enough := make(chan struct{})
	for range 8 {
		crew.Go(func() {
			for i := 0; ; i++ {
				pull := s.aPull()
				raw, _ := json.Marshal(pull)
				switch r := s.send(t, http.MethodPost, "/v1/pulls", s.manager, raw); r.status {
				case http.StatusCreated:
					mu.Lock()
					acknowledged[pull["id"].(string)] = true
					if len(acknowledged) == 40 {
						close(enough)
					}
					mu.Unlock()
				case http.StatusServiceUnavailable:
					if r.header.Get("Retry-After") == "" {
						t.Error("a 503 does not say when to try again")
					}
					refused.Add(1)
					return
				default:
					t.Errorf("%d %s", r.status, r.raw)
					return
				}
			}
		})
	}
	<-enough
	house.books.Close()
	house.books.Close() // twice does no harm
	crew.Wait()
	if refused.Load() != 8 {
		t.Errorf("%d of 8 were told that the service stops", refused.Load())
	}
	for e := range s.entries(t) {
		delete(acknowledged, e.ID.String())
	}
	if len(acknowledged) > 0 {
		t.Errorf("%d acknowledged pulls are not in the book", len(acknowledged))
	}
}

func TestTooManyAtOnceAreAskedToComeAgain(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	house.serve(t, func(c *request.Config) { c.Concurrent = 1 })
	// A request whose body does not come holds the only place for bodies.
	slow, err := net.Dial("tcp", strings.TrimPrefix(house.url, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer slow.Close()
	fmt.Fprintf(slow, "POST /v1/pulls HTTP/1.1\r\nHost: shed\r\nAuthorization: Bearer %s\r\nContent-Length: 400\r\n\r\n", s.manager)
	for began := time.Now(); ; {
		r := s.post(t, "pulls", s.aPull())
		if r.status == http.StatusServiceUnavailable && r.header.Get("Retry-After") == "1" && as[problem](t, r).Type == "/problems/busy" {
			break
		}
		if time.Since(began) > 8*time.Second {
			t.Fatalf("%d %s", r.status, r.raw)
		}
	}
	for _, path := range []string{"/livez", "/v1/outfit"} {
		if r := s.send(t, http.MethodGet, path, s.reader, nil); r.status != 200 {
			t.Errorf("a body trickles in, and %s answers %d", path, r.status)
		}
	}
	slow.Close()
	house.logs(t, `"status":400`) // it is told from an outage of the database, though nobody hears it
	if strings.Contains(house.log.String(), "does not answer") {
		t.Error("a client that left was taken for a database that is gone")
	}
	if r := s.post(t, "pulls", s.aPull()); r.status != http.StatusCreated {
		t.Errorf("the place is free again: %d %s", r.status, r.raw)
	}
}

// logs waits for words in the log.
func (h *honeyHouse) logs(t *testing.T, words string) {
	t.Helper()
	for began := time.Now(); !strings.Contains(h.log.String(), words); time.Sleep(5 * time.Millisecond) {
		if time.Since(began) > 10*time.Second {
			t.Fatalf("the log does not say %s", words)
		}
	}
}

func TestARequestThatTakesTooLongIsAskedToComeAgain(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	before := s.head(t)
	house.serve(t, func(c *request.Config) { c.RequestTimeout = time.Nanosecond })
	r := s.post(t, "pulls", s.aPull())
	if p := as[problem](t, r); r.status != http.StatusServiceUnavailable || !strings.Contains(p.Detail, "same id") {
		t.Errorf("%d %s", r.status, r.raw)
	}
	house.serve(t, func(*request.Config) {})
	if s.head(t) != before {
		t.Error("the pull is in the book")
	}
}

func TestTheServiceTellsHowItIs(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	s.book(t, "pulls", s.aPull("gross_kg", 880))
	s.send(t, "BREW", "/v1/pulls", s.manager, nil)
	s.get(t, "reports/season")
	for path, says := range map[string]string{"/livez": "alive", "/readyz": "ready"} {
		if r := s.send(t, http.MethodGet, path, "", nil); r.status != 200 || !strings.Contains(string(r.raw), says) {
			t.Errorf("%s: %d %s", path, r.status, r.raw)
		}
	}
	metrics := string(s.send(t, http.MethodGet, "/metrics", "", nil).raw)
	for _, line := range []string{
		`pullbook_entries_total{kind="pull"} 2`,
		`pullbook_flags_total{flag="pounds_for_kilograms"} 1`,
		`pullbook_requests_total{method="POST",route="/v1/pulls",status="201"} 2`,
		`pullbook_requests_total{method="other",route="/v1/pulls",status="405"} 1`,
		`pullbook_replay_seconds_count`, `pullbook_pool_connections`,
	} {
		if !strings.Contains(metrics, line) {
			t.Errorf("the metrics lack %s", line)
		}
	}
	if strings.Contains(metrics, "BREW") {
		t.Error("a method made up by a client has a series of its own")
	}
	house.service.Close()
	if r := s.send(t, http.MethodGet, "/readyz", "", nil); r.status != http.StatusServiceUnavailable {
		t.Errorf("the database is gone, and the service says %d %s", r.status, r.raw)
	}
	if r := s.send(t, http.MethodGet, "/livez", "", nil); r.status != 200 {
		t.Errorf("the database is gone, and the service is not alive: %d", r.status)
	}
}
