package api_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"pullbook/api/request"
	"pullbook/db/dbtest"
)

type followed struct {
	Entries   []struct{ Number int64 }
	Through   int64
	LastEntry int64 `json:"last_entry"`
}

func TestWhoeverPollsGetsEachEntryOnceAndInOrder(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	var got []int64
	for since := int64(0); ; {
		page := read[followed](t, s.outfit, fmt.Sprintf("changes?since=%d&limit=7", since))
		if len(page.Entries) == 0 {
			break
		}
		for _, e := range page.Entries {
			got = append(got, e.Number)
		}
		since = page.Through
	}
	if int64(len(got)) != s.head(t).LastEntry {
		t.Errorf("%d of %d entries", len(got), s.head(t).LastEntry)
	}
	for i, n := range got {
		if n != int64(i+1) {
			t.Fatalf("entry %d came as %d", n, i+1)
		}
	}
	ask := func(address, last string) {
		t.Helper()
		header := http.Header{"Authorization": {"Bearer " + s.reader}}
		if last != "" {
			header.Set("Last-Event-ID", last)
		}
		r := s.sendWith(t, http.MethodGet, "/v1/"+address, header, nil)
		pointer, missing := "query:since", !strings.Contains(address, "since")
		if last != "" {
			pointer, missing = "query:Last-Event-ID", false
		}
		p := as[problem](t, r)
		if r.status != http.StatusUnprocessableEntity || len(p.Errors) != 1 || p.Errors[0].Pointer != pointer || missing != strings.Contains(string(r.raw), "This is missing") {
			t.Errorf("%s after %q: %d %s", address, last, r.status, r.raw)
		}
	}
	ask("changes?since=100000", "")
	ask("changes", "")
	ask("changes/stream", "100000")
	ask("changes/stream", "-1")
}

func TestAPollThatWaitsIsAnsweredWhenAnotherProcessRecords(t *testing.T) {
	t.Parallel()
	databaseURL := dbtest.New(t)
	house, other := openHouseAt(t, databaseURL), openHouseAt(t, databaseURL)
	s := house.newShed(t, "Fern Gully Honey")
	last := s.head(t).LastEntry
	if page := read[followed](t, s.outfit, fmt.Sprintf("changes?since=%d&wait_seconds=1", last)); len(page.Entries) != 0 || page.Through != last {
		t.Errorf("nothing was recorded, and %+v came", page)
	}
	came := make(chan followed)
	go func() { came <- read[followed](t, s.outfit, fmt.Sprintf("changes?since=%d&wait_seconds=25", last)) }()
	raw, _ := json.Marshal(s.aPull())
	if r := other.send(t, http.MethodPost, "/v1/pulls", s.manager, raw); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	if page := <-came; len(page.Entries) != 1 || page.Entries[0].Number != last+1 {
		t.Errorf("%+v", page)
	}
}

// TestAFollowerSeesEveryEntryExactlyOnce: two processes record at once, and the
// follower's line is cut again and again, before events and within them.
func TestAFollowerSeesEveryEntryExactlyOnce(t *testing.T) {
	t.Parallel()
	databaseURL := dbtest.New(t)
	houses := []*honeyHouse{openHouseAt(t, databaseURL), openHouseAt(t, databaseURL)}
	s := houses[0].newShed(t, "Fern Gully Honey")
	const each = 60
	want := s.head(t).LastEntry + 2*each
	var writers sync.WaitGroup
	for _, h := range houses {
		writers.Go(func() {
			for range each {
				raw, _ := json.Marshal(s.aReading())
				if r := h.send(t, http.MethodPost, "/v1/readings", s.manager, raw); r.status != http.StatusCreated {
					t.Errorf("%d %s", r.status, r.raw)
				}
				time.Sleep(time.Duration(rand.IntN(10)) * time.Millisecond)
			}
		})
	}
	var seen []int64
	cuts := 0
	for began := time.Now(); int64(len(seen)) < want && time.Since(began) < 30*time.Second; cuts++ {
		last := int64(0)
		if len(seen) > 0 {
			last = seen[len(seen)-1]
		}
		seen = append(seen, s.followFor(t, houses[cuts%2].url, last, 1+rand.IntN(25))...)
	}
	writers.Wait()
	for i, n := range seen {
		if n != int64(i+1) {
			t.Fatalf("event %d is of entry %d", i+1, n)
		}
	}
	if int64(len(seen)) != want || cuts < 5 {
		t.Errorf("%d of %d entries came, over %d lines", len(seen), want, cuts)
	}
}

// followFor listens to the stream until so many events came, or for a second.
func (o *outfit) followFor(t *testing.T, url string, last int64, events int) (seen []int64) {
	t.Helper()
	ctx, cut := context.WithTimeout(t.Context(), time.Second)
	defer cut()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, url+"/v1/changes/stream", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+o.reader)
	if last > 0 {
		r.Header.Set("Last-Event-ID", strconv.FormatInt(last, 10))
	}
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil // cut before it began
	}
	defer response.Body.Close()
	if kind := response.Header.Get("Content-Type"); response.StatusCode != http.StatusOK || kind != "text/event-stream" {
		t.Errorf("%d %s", response.StatusCode, kind)
	}
	var id int64
	lines := bufio.NewScanner(response.Body)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() && len(seen) < events {
		if text, ok := strings.CutPrefix(lines.Text(), "id: "); ok {
			id, _ = strconv.ParseInt(text, 10, 64)
		}
		if text, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
			var e struct{ Number int64 }
			if err := json.Unmarshal([]byte(text), &e); err != nil || e.Number != id {
				t.Errorf("event %d: %v, %s", id, err, text)
			}
		}
		if lines.Text() == "" && id > 0 { // the event is whole
			seen, id = append(seen, id), 0
		}
	}
	return seen
}

func TestThoseWhoWaitTakeNobodysPlaceAndAreLetGoAtTheEnd(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	serving, stop := context.WithCancel(t.Context())
	house.serve(t, func(c *request.Config) { c.Concurrent, c.Following, c.Serving = 1, 32, serving })
	last := s.head(t).LastEntry
	wait := fmt.Sprintf("/v1/changes?since=%d&wait_seconds=25", last)
	began := time.Now()
	var waiting sync.WaitGroup
	for range 2 {
		waiting.Go(func() {
			r := s.send(t, http.MethodGet, wait, s.reader, nil)
			for r.status == http.StatusServiceUnavailable && serving.Err() == nil { // the third was quicker
				r = s.send(t, http.MethodGet, wait, s.reader, nil)
			}
			if r.status != http.StatusOK {
				t.Errorf("%d %s", r.status, r.raw)
			}
		})
	}
	time.Sleep(200 * time.Millisecond)                               // so that the third comes last, as a rule
	for r := (reply{}); r.status != http.StatusServiceUnavailable; { // both wait by now
		if r = s.send(t, http.MethodGet, fmt.Sprintf("/v1/changes?since=%d&wait_seconds=1", last), s.reader, nil); time.Since(began) > 20*time.Second {
			t.Fatalf("a third may wait: %d %s", r.status, r.raw)
		}
	}
	if r := s.send(t, http.MethodGet, "/v1/outfit", s.reader, nil); r.status != http.StatusOK {
		t.Errorf("with two waiting: %d %s", r.status, r.raw)
	}
	if r := s.send(t, http.MethodGet, fmt.Sprintf("/v1/changes?since=%d", last), s.reader, nil); r.status != http.StatusOK {
		t.Errorf("asked without waiting: %d %s", r.status, r.raw)
	}
	stop()
	waiting.Wait()
	if took := time.Since(began); took > 20*time.Second {
		t.Errorf("they were let go after %v", took)
	}
}
