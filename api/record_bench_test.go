package api_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// BenchmarkFirstScreen opens the recording page on a phone that is four times
// slower than this machine and has nothing of it kept, until its tiles can be
// touched.
func BenchmarkFirstScreen(b *testing.B) {
	browser := startBrowser(b).withAWorker()
	h := newShedNow().open(b, "metric")
	l := h.line(b)
	d := browser.device(b, "en-GB")
	d.signInAs(l, h, "Tamsin", h.password)
	var spent time.Duration
	for range b.N {
		d.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, network.ClearBrowserCache, cdp.Empty{})
			if err != nil {
				return err
			}
			_, err = cdp.Call(ctx, target, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
			return err
		}))
		// Without its worker and with nothing kept, as on the first day.
		evaluated[bool](d, `(async () => {
			for (const r of await navigator.serviceWorker.getRegistrations()) await r.unregister()
			for (const k of await caches.keys()) await caches.delete(k)
			return true
		})()`)
		d.do(chromedp.Navigate(d.at(l) + "/robots.txt"))
		began := time.Now()
		d.do(chromedp.Navigate(d.at(l) + "/record"))
		d.until(`document.documentElement.dataset.ready === 'true'`)
		spent += time.Since(began)
	}
	b.ReportMetric(spent.Seconds()/float64(b.N), "s/screen")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkSendWhatWaited sends 500 readings that were kept on a phone without
// network, one after another and in order, as soon as there is one.
func BenchmarkSendWhatWaited(b *testing.B) {
	const waiting = 500
	browser := startBrowser(b).withAWorker()
	s := newShedNow()
	h := s.open(b, "metric")
	l := h.line(b)
	var spent time.Duration
	for range b.N {
		d := browser.device(b, "en-GB")
		d.signInAs(l, h, "Tamsin", h.password)
		d.until(`document.querySelector('.net.online') !== null`)
		d.noNetwork(l, true)
		evaluated[bool](d, fmt.Sprintf(`new Promise((resolve, reject) => {
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
		})`, waiting, s.large, s.blue))
		d.recordOffline(l)
		before := h.entries(b)
		began := time.Now()
		d.noNetwork(l, false)
		for h.entries(b) < before+waiting {
			time.Sleep(10 * time.Millisecond)
			if time.Since(began) > time.Minute {
				b.Fatalf("after a minute %d of %d are in the book", h.entries(b)-before, waiting)
			}
		}
		spent += time.Since(began)
	}
	b.ReportMetric(spent.Seconds()/float64(b.N), "s/500")
	b.ReportMetric(0, "ns/op")
}

// entries is how many are in the book.
func (h *pageHouse) entries(t testing.TB) (n int64) {
	t.Helper()
	who, err := h.books.SignIn(t.Context(), h.token)
	if err != nil {
		t.Fatal(err)
	}
	if err := h.books.Read(t.Context(), who, func(_ db.Outfit, b *ledger.Book) error {
		n = b.Len()
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return n
}
