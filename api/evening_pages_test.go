package api_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The evening list comes page by page: each says where the rest is and how many
// those are, and together they are the whole.
func TestTheEveningListComesInPages(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	o := demoOutfit(t, h)
	all := h.send(t, http.MethodGet, "/v1/reports/findings?limit=1000", o.manager, nil)
	var whole, pages []json.RawMessage
	if err := json.Unmarshal(all.raw, &whole); err != nil || len(whole) < 3 || all.header.Get("Link") != "" || all.header.Get("Pullbook-More") != "" {
		t.Fatalf("%d findings, %v, %v", len(whole), all.header, err)
	}
	for next := "/v1/reports/findings?limit=2"; next != ""; {
		r := h.send(t, http.MethodGet, next, o.manager, nil)
		var page []json.RawMessage
		if err := json.Unmarshal(r.raw, &page); err != nil || len(page) > 2 {
			t.Fatalf("%s: %d %s", next, r.status, r.raw)
		}
		pages = append(pages, page...)
		more := ""
		if rest := len(whole) - len(pages); rest > 0 {
			more = strconv.Itoa(rest)
		}
		if got := r.header.Get("Pullbook-More"); got != more {
			t.Errorf("%s says that %q follow, want %q", next, got, more)
		}
		link, linked := strings.CutPrefix(r.header.Get("Link"), "<")
		if linked != (more != "") {
			t.Fatalf("%s links to %q", next, link)
		}
		next, _, _ = strings.Cut(link, ">")
	}
	if !slices.EqualFunc(whole, pages, func(a, b json.RawMessage) bool { return bytes.Equal(a, b) }) {
		t.Errorf("the pages hold %d findings, and the whole list %d", len(pages), len(whole))
	}
}
