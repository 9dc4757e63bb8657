package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
)

// halfSent is a request that the program has begun with, and whose body has not all been
// sent.
type halfSent struct {
	conn   net.Conn
	answer *bufio.Reader
	rest   []byte
}

// sendHalf sends the head of an entry, and half of its body once the program asks for it.
func sendHalf(t *testing.T, base, token string, entry any) *halfSent {
	t.Helper()
	body, err := json.Marshal(entry)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := net.Dial("tcp", strings.TrimPrefix(base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	_, err = fmt.Fprintf(conn, "POST /v1/hive-counts HTTP/1.1\r\nHost: pullbook\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nContent-Length: %d\r\nExpect: 100-continue\r\n\r\n",
		token, len(body))
	if err != nil {
		t.Fatal(err)
	}
	h := &halfSent{conn, bufio.NewReader(conn), body[len(body)/2:]}
	if asked, err := http.ReadResponse(h.answer, nil); err != nil || asked.StatusCode != http.StatusContinue {
		t.Fatalf("the program did not ask for the body: %v, %v", asked, err)
	}
	if _, err := conn.Write(body[:len(body)/2]); err != nil {
		t.Fatal(err)
	}
	return h
}

// finish sends the rest to a program and gives the status of the answer.
func (h *halfSent) finish(t *testing.T, p *running) int {
	t.Helper()
	if _, err := h.conn.Write(h.rest); err != nil {
		t.Fatalf("%v\n%s", err, p)
	}
	response, err := http.ReadResponse(h.answer, nil)
	if err != nil {
		t.Fatalf("%v\n%s", err, p)
	}
	defer response.Body.Close()
	if _, err := io.Copy(io.Discard, response.Body); err != nil {
		t.Fatal(err)
	}
	return response.StatusCode
}

// awaitClosed returns when the program takes no new connections.
func awaitClosed(t *testing.T, base string) {
	t.Helper()
	for deadline := time.Now().Add(5 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		conn, err := net.Dial("tcp", strings.TrimPrefix(base, "http://"))
		if err != nil {
			return
		}
		conn.Close()
		if time.Now().After(deadline) {
			t.Fatal("asked to stop, the program still takes new connections after 5 s")
		}
	}
}

func TestRequestsInFlightAreFinishedBeforeTheProgramStops(t *testing.T) {
	t.Parallel()
	for _, sig := range []syscall.Signal{syscall.SIGTERM, syscall.SIGINT} {
		t.Run(sig.String(), func(t *testing.T) {
			t.Parallel()
			dir, token := foundedFolder(t)
			p := start(t, "serve", dir)
			h := setUp(t, reach(t, p.base, token))
			var inFlight []*halfSent
			for range 5 {
				inFlight = append(inFlight, sendHalf(t, p.base, token, h.count(uuid.New(), 12)))
			}
			p.signal(t, sig)
			awaitClosed(t, p.base)
			for _, one := range inFlight {
				if status := one.finish(t, p); status != http.StatusCreated {
					t.Errorf("a request in flight was answered with %d", status)
				}
			}
			if status := p.ended(t); status != exitDone {
				t.Errorf("the program ended with status %d:\n%s", status, p)
			}
			p = start(t, "serve", dir)
			if got := outfitOf(t, reach(t, p.base, token)).LastEntry - founded; got != 7 {
				t.Errorf("after the stop the book has %d entries, want the season, the yard and 5 counts", got)
			}
			p.stop(t)
		})
	}
}

// Who asks twice does not want to wait for a request that never ends.
func TestASecondSignalStopsAtOnce(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	sendHalf(t, p.base, token, h.count(uuid.New(), 12))
	if status := statusOf(t, p.base+"/readyz"); status != http.StatusOK {
		t.Fatalf("before the stop it is not ready: %d", status)
	}
	p.signal(t, syscall.SIGTERM)
	p.await(t, "requests in flight are finished first")
	p.signal(t, syscall.SIGTERM) // at once: that is still the same wish
	select {
	case <-p.done:
		t.Fatalf("the program did not wait for the request in flight:\n%s", p)
	case <-time.After(1500 * time.Millisecond):
	}
	p.signal(t, syscall.SIGTERM)
	if status := p.ended(t); status != exitFailed || !strings.Contains(p.String(), "stopped at once") {
		t.Errorf("asked twice, the program ended with status %d:\n%s", status, p)
	}
	p = start(t, "serve", dir)
	must(t, "audit", "--data", dir)
	p.stop(t)
}
