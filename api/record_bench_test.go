package api_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
)

// recorder is who sends one outfit's readings of a tank.
type recorder struct {
	handler                 http.Handler
	token, tank, instrument string
}

func (r recorder) send(b *testing.B, path, body string) {
	request, err := http.NewRequestWithContext(b.Context(), http.MethodPost, "/v1/"+path, strings.NewReader(body))
	if err != nil {
		b.Error(err)
		return
	}
	request.RemoteAddr = "127.0.0.1:1"
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Authorization", "Bearer "+r.token)
	w := httptest.NewRecorder()
	if r.handler.ServeHTTP(w, request); w.Code != http.StatusCreated {
		b.Errorf("%s %s: %d %s", path, body, w.Code, w.Body)
	}
}

func (r recorder) reading(b *testing.B) {
	r.send(b, "readings", fmt.Sprintf(`{"id":%q,"occurred_at":%q,"on":{"kind":"tank","id":%q},"point":"gate","instrument_id":%q,"moisture_pct":17.4,"sample_temperature_c":22}`,
		uuid.NewString(), time.Now().Format(time.RFC3339Nano), r.tank, r.instrument))
}

// newRecorder sets up a tank and a refractometer.
func newRecorder(b *testing.B) recorder {
	h, _, _ := newLookHouse(b)
	r := recorder{h.handler, h.token, uuid.NewString(), uuid.NewString()}
	year := time.Now().Year()
	for _, one := range [][2]string{
		{"seasons", fmt.Sprintf(`"name":"now","first":"%d-01-01","last":"%d-12-31","id":%q`, year-1, year+1, uuid.NewString())},
		{"tanks", fmt.Sprintf(`"name":"large tank","use":"settling","capacity_kg":4500,"id":%q`, r.tank)},
		{"instruments", fmt.Sprintf(`"name":"refractometer","scale":"moisture","compensates_temperature":true,"std_uncertainty":0.2,"id":%q`, r.instrument)},
	} {
		r.send(b, one[0], fmt.Sprintf(`{%s,"occurred_at":%q}`, one[1], time.Now().Format(time.RFC3339Nano)))
	}
	return r
}

// BenchmarkRecord stores readings by the whole way of a request, except for the socket,
// with so many at once.
func BenchmarkRecord(b *testing.B) {
	for _, atOnce := range []int{1, 8, 32} {
		b.Run(fmt.Sprint(atOnce), func(b *testing.B) {
			r := newRecorder(b)
			b.ReportAllocs()
			b.ResetTimer()
			var left atomic.Int64
			left.Store(int64(b.N))
			var group sync.WaitGroup
			for range atOnce {
				group.Go(func() {
					for left.Add(-1) >= 0 {
						r.reading(b)
					}
				})
			}
			group.Wait()
		})
	}
}
