package apitest

import (
	"bytes"
	"encoding/json"
	"io"
	"log"
	"net/http"
	"net/http/httputil"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

func (l *Line) ReachedAt(o Origin) string { return l.front[o] }

// Line is a device's way to the book, which can be cut.
type Line struct {
	front front
	Cut   atomic.Bool
	// instead answers a request in the book's place, where it returns true.
	Instead atomic.Pointer[func(http.ResponseWriter, *http.Request) bool]

	mu sync.Mutex
	// posts are the ids of entries in the order in which they came through.
	Posts []string
}

func (h *House) Line(t testing.TB) *Line {
	t.Helper()
	to, err := url.Parse(h.URL)
	if err != nil {
		t.Fatal(err)
	}
	l := &Line{}
	proxy := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(to)
		r.SetXForwarded()
		r.Out.Host = r.In.Host
	}, ErrorLog: quiet}
	l.front = newFront(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if l.Cut.Load() {
			panic(http.ErrAbortHandler)
		}
		if f := l.Instead.Load(); f != nil && (*f)(w, r) {
			return
		}
		if r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, "/v1/") {
			l.note(r)
		}
		proxy.ServeHTTP(w, r)
	}))
	return l
}

var quiet = log.New(io.Discard, "", 0)

func (l *Line) note(r *http.Request) {
	body, _ := io.ReadAll(r.Body)
	r.Body = io.NopCloser(bytes.NewReader(body))
	var entry struct{ ID string }
	_ = json.Unmarshal(body, &entry)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.Posts = append(l.Posts, entry.ID)
}
