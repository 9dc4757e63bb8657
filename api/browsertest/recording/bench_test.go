package recording_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// BenchmarkFirstScreen opens the recording page on a phone that is four times
// slower than this machine and has nothing of it kept, until its tiles can be
// touched.
func BenchmarkFirstScreen(b *testing.B) {
	browser := browsertest.Start(b).WithAWorker()
	h := apitest.NewShed().Open(b, "metric")
	l := h.Line(b)
	d := browser.Device(b, "en-GB")
	d.SignInAs(l, h, "Tamsin", h.Password)
	var spent time.Duration
	for range b.N {
		d.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, network.ClearBrowserCache, cdp.Empty{})
			if err != nil {
				return err
			}
			_, err = cdp.Call(ctx, target, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
			return err
		}))
		// Without its worker and with nothing kept, as on the first day.
		browsertest.Evaluated[bool](d, `(async () => {
			for (const r of await navigator.serviceWorker.getRegistrations()) await r.unregister()
			for (const k of await caches.keys()) await caches.delete(k)
			return true
		})()`)
		d.Do(chromedp.Navigate(d.At(l) + "/robots.txt"))
		began := time.Now()
		d.Do(chromedp.Navigate(d.At(l) + "/record"))
		d.Until(`document.documentElement.dataset.ready === 'true'`)
		spent += time.Since(began)
	}
	b.ReportMetric(spent.Seconds()/float64(b.N), "s/screen")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkSendWhatWaited sends 500 readings that were kept on a phone without
// network, one after another and in order, as soon as there is one.
func BenchmarkSendWhatWaited(b *testing.B) {
	const waiting = 500
	browser := browsertest.Start(b).WithAWorker()
	s := apitest.NewShed()
	h := s.Open(b, "metric")
	l := h.Line(b)
	var spent time.Duration
	for range b.N {
		d := browser.Device(b, "en-GB")
		d.SignInAs(l, h, "Tamsin", h.Password)
		d.KnowsTheShed()
		d.NoNetwork(l, true)
		browsertest.Evaluated[bool](d, fmt.Sprintf(`new Promise((resolve, reject) => {
			const opening = indexedDB.open('pullbook')
			opening.onerror = () => reject(opening.error)
			opening.onsuccess = () => {
				const t = opening.result.transaction(['entries', 'kept'], 'readwrite')
				t.oncomplete = () => { opening.result.close(); resolve(true) }
				t.onabort = () => reject(t.error)
				t.objectStore('kept').get('me').onsuccess = event => {
					const me = event.target.result
					for (let i = 0; i < %d; i++) {
						const id = crypto.randomUUID(), at = new Date(Date.now() - 3600000 + i * 1000).toISOString()
						t.objectStore('entries').add({id, path: 'readings', kind: 'reading', says: '', person: me.person, outfit: me.outfit, at, state: 'waiting', savedAt: Date.now(),
							body: {id, occurred_at: at, on: {kind: 'tank', id: %q}, instrument_id: %q, moisture_pct: 17.4, via: 'device'}})
					}
				}
			}
		})`, waiting, s.Large, s.Blue))
		d.RecordOffline(l)
		before := h.Entries(b)
		began := time.Now()
		d.NoNetwork(l, false)
		for h.Entries(b) < before+waiting {
			time.Sleep(10 * time.Millisecond)
			if time.Since(began) > time.Minute {
				b.Fatalf("after a minute %d of %d are in the book", h.Entries(b)-before, waiting)
			}
		}
		spent += time.Since(began)
	}
	b.ReportMetric(spent.Seconds()/float64(b.N), "s/500")
	b.ReportMetric(0, "ns/op")
}
