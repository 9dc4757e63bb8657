package api_test

import (
	"net/http"
	"regexp"
	"testing"

	"pullbook/api/apitest"
)

// What a phone fetches before it can record is 200 kB compressed at the most.
func TestTheRecordingPageIsLight(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	_, body := h.Get(t, "/record")
	total, parts := 0, map[string]bool{"/record": true}
	for _, m := range regexp.MustCompile(`(?:src|href)="(/assets/[^"]+)"`).FindAllStringSubmatch(body, -1) {
		parts[m[1]] = true
	}
	for path := range parts {
		_, packed := h.Send(t, http.MethodGet, path, nil, http.Header{"Accept-Encoding": {"gzip"}})
		total += len(packed)
	}
	if total > 200_000 || len(parts) < 12 {
		t.Errorf("it weighs %d bytes in %d parts", total, len(parts))
	}
	t.Logf("the recording page: %d bytes compressed in %d parts", total, len(parts))
}
