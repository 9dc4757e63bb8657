package api_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"pullbook/api/request"
)

// Whoever asks for a feed and reads no more of it keeps nobody from recording, and is
// cut off once the time of a request went by in which nothing was taken.
func TestAReaderWhoStallsHoldsNobodyUpAndIsCutOff(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.shedOfLongLogs(t)
	told := make(logged, 100)
	house.serve(t, func(c *request.Config) {
		c.RequestTimeout = 2 * time.Second
		c.Log = slog.New(slog.NewTextHandler(told, nil))
	})
	conn, body := house.readsAFeed(t, s.reader)
	s.book(t, "pulls", s.aPull()) // while the feed is stuck
	told.await(t, "a feed broke off")
	_ = conn.SetReadDeadline(time.Now().Add(time.Minute))
	n, err := io.Copy(io.Discard, body)
	if timeout, ok := err.(net.Error); err == nil || ok && timeout.Timeout() {
		t.Errorf("after %d bytes the feed ends with %v, and was to be cut off", n, err)
	}
}

// A reader who takes some all the time has the whole feed, however long after the time of
// one request that is.
func TestASlowReaderHasTheWholeFeed(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.shedOfLongLogs(t)
	const patience = 5 * time.Second
	house.serve(t, func(c *request.Config) { c.RequestTimeout = patience })
	_, body := house.readsAFeed(t, s.reader)
	began, read := time.Now(), int64(0)
	for time.Since(began) < 2*patience {
		n, err := io.CopyN(io.Discard, body, 64<<10)
		read += n
		if err != nil {
			t.Fatalf("cut off after %d bytes: %v", read, err)
		}
		time.Sleep(100 * time.Millisecond)
	}
	n, err := io.Copy(io.Discard, body)
	if err != nil {
		t.Fatalf("cut off after %d bytes: %v", read+n, err)
	}
	if n == 0 {
		t.Error("the feed came in whole before the time of two requests, and was to take longer")
	}
}

// A hundred who ask for a feed and read nothing of it, all of one outfit and at one
// address, take their share of the places and no more: others are served, of another
// outfit at the same address, and of the same outfit at another, who also record.
func TestAHundredStalledReadersOfOneOutfitKeepNobodyWaiting(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s, other := house.shedOfLongLogs(t), house.newShed(t, "Two Rivers Honey")
	house.serve(t, func(c *request.Config) { c.Concurrent, c.RequestTimeout = 64, 10*time.Minute })
	const share = 64 / 8 // of one outfit at one address
	var stalled []net.Conn
	for range 100 {
		stalled = append(stalled, house.asksForAFeed(t, s.reader))
	}
	served := 0
	for _, conn := range stalled {
		_ = conn.SetReadDeadline(time.Now().Add(time.Minute))
		head := make([]byte, len("HTTP/1.1 200"))
		switch _, err := io.ReadFull(conn, head); {
		case err != nil:
			t.Fatal(err)
		case string(head) == "HTTP/1.1 200":
			served++
		case string(head) != "HTTP/1.1 503":
			t.Errorf("a feed is answered %s", head)
		}
	}
	if served == 0 || served > share {
		t.Errorf("%d of a hundred are served, want one to %d", served, share)
	}
	pull, err := json.Marshal(s.aPull())
	if err != nil {
		t.Fatal(err)
	}
	for _, who := range []struct {
		whose, address, token, method, path, body string
		want                                      int
	}{
		{"a reader of another outfit at the same address", "127.0.0.1", other.reader, http.MethodGet, "/v1/outfit", "", http.StatusOK},
		{"who records for the same outfit at another address", "127.0.0.3", s.manager, http.MethodPost, "/v1/pulls", string(pull), http.StatusCreated},
	} {
		r, err := http.NewRequestWithContext(t.Context(), who.method, house.url+who.path, strings.NewReader(who.body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Authorization", "Bearer "+who.token)
		r.Header.Set("Content-Type", "application/json")
		response, err := from(who.address).Do(r)
		if err != nil {
			t.Fatalf("%s: %v", who.whose, err)
		}
		response.Body.Close()
		if response.StatusCode != who.want {
			t.Errorf("%s is answered %s", who.whose, response.Status)
		}
	}
}

// shedOfLongLogs is an outfit whose feed of temperatures is more than connections hold on
// their way.
func (h *honeyHouse) shedOfLongLogs(t *testing.T) *shed {
	t.Helper()
	s := h.newShed(t, "Fern Gully Honey")
	var points []M
	for i := range 1000 {
		points = append(points, M{"at": time.Date(2026, 8, 1, 6, i, 0, 0, time.UTC).Format(time.RFC3339), "temperature_c": 30})
	}
	for range 100 {
		log := s.aLog(1, 1)
		log["points"], log["occurred_at"] = points, at(2, "12:00")
		s.book(t, "temperature-logs", log)
	}
	return s
}

// readsAFeed is asksForAFeed, and reads the answer's head.
func (h *honeyHouse) readsAFeed(t *testing.T, token string) (net.Conn, io.Reader) {
	t.Helper()
	conn := h.asksForAFeed(t, token)
	response, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("%v, %v", response, err)
	}
	t.Cleanup(func() { _ = response.Body.Close() })
	return conn, response.Body
}

// asksForAFeed asks for the feed of temperatures over a connection that holds little on
// its way.
func (h *honeyHouse) asksForAFeed(t *testing.T, token string) net.Conn {
	t.Helper()
	conn, err := net.Dial("tcp", strings.TrimPrefix(h.url, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	if err := conn.(*net.TCPConn).SetReadBuffer(64 << 10); err != nil {
		t.Fatal(err)
	}
	_, err = fmt.Fprintf(conn, "GET /feeds/temperatures.jsonl HTTP/1.1\r\nHost: pullbook\r\nAuthorization: Bearer %s\r\n\r\n", token)
	if err != nil {
		t.Fatal(err)
	}
	return conn
}

// logged is what a service logs, line by line.
type logged chan string

func (s logged) Write(line []byte) (int, error) {
	select {
	case s <- string(line):
	default:
	}
	return len(line), nil
}

func (s logged) await(t *testing.T, words string) {
	t.Helper()
	for timeout := time.After(time.Minute); ; {
		select {
		case line := <-s:
			if strings.Contains(line, words) {
				return
			}
		case <-timeout:
			t.Fatalf("the service did not log %q within a minute", words)
		}
	}
}
