package api_test

import (
	"net/http"
	"strings"
	"sync"
	"testing"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/ledger"
)

// TestTooManyEarlierMomentsAreRefusedInPlainWords has others look at all earlier moments
// that one outfit may look at at once.
func TestTooManyEarlierMomentsAreRefusedInPlainWords(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	h.SignIn(t)
	p, err := h.Books.SignIn(t.Context(), h.Token)
	if err != nil {
		t.Fatal(err)
	}
	hold, looking := make(chan struct{}), make(chan struct{})
	var others, askers sync.WaitGroup
	for n := range int64(4) {
		others.Go(func() {
			err := h.Books.ReadAsKnown(t.Context(), p, func(db.Outfit, *ledger.Book) (int64, error) { return n, nil },
				func(db.Outfit, *ledger.Book) error { looking <- struct{}{}; <-hold; return nil })
			if err != nil {
				t.Error(err)
			}
		})
		<-looking
	}
	program := http.Header{"Authorization": {"Bearer " + h.Token}}
	for _, asks := range []struct {
		path   string
		header http.Header
		says   string
	}{
		{"/v1/reports/totals?as_of=5", program, "People are looking at too many earlier moments of this outfit's book just now."},
		{"/feeds/yards.csv?since=5", program, "too many earlier moments of this outfit"},
		{"/recall?as_of=5", nil, "too many earlier moments of this outfit&#39;s book"},
		{"/recall?as_of=5", http.Header{"Accept-Language": {"es-ES"}}, "demasiados momentos anteriores del libro de esta explotación"},
	} {
		askers.Go(func() {
			response, body := h.Send(t, http.MethodGet, asks.path, nil, asks.header)
			if response.StatusCode != http.StatusServiceUnavailable || response.Header.Get("Retry-After") == "" || !strings.Contains(body, asks.says) {
				t.Errorf("%s answered %s, Retry-After %q: %s", asks.path, response.Status, response.Header.Get("Retry-After"), body)
			}
		})
	}
	// What is asked of the book as it is now waits for nobody.
	for _, path := range []string{"/v1/reports/totals", "/v1/reports/totals?known_at=2100-01-01T00:00:00Z"} {
		if response, body := h.Send(t, http.MethodGet, path, nil, program); response.StatusCode != http.StatusOK {
			t.Errorf("%s answered %s: %s", path, response.Status, body)
		}
	}
	askers.Wait() // each is sent away after five seconds
	close(hold)
	others.Wait()
}
