package browsertest

import (
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/db/dbtest"
)

// At is the address of a service, or of a way to one, for this browser.
func (b *Browser) At(f interface{ ReachedAt(apitest.Origin) string }) string {
	return f.ReachedAt(b.Origin)
}

// By is the same browser at another origin, to take devices from.
func (b *Browser) By(o apitest.Origin) *Browser {
	return &Browser{T: b.T, Ctx: b.Ctx, Whole: b.Whole, Origin: o}
}

// AtEach does with a browser at each origin what a test does: what hangs on cookies, forms
// and what scripts may do.
func AtEach(t *testing.T, origins []apitest.Origin, b *Browser, test func(*testing.T, *Browser)) {
	for _, o := range origins {
		t.Run(o.Name, func(t *testing.T) {
			t.Parallel()
			test(t, b.By(o))
		})
	}
}

// WithAWorker is the browser at an origin where pages open without network.
func (b *Browser) WithAWorker() *Browser {
	if b.Origin == apitest.OverHTTP {
		return b.By(apitest.OverHTTPS)
	}
	return b
}

// WorkerStands waits until the page opens without network, where a browser allows that: a
// worker is active, and has taken the page over.
func (b *Browser) WorkerStands() {
	b.T.Helper()
	if b.Origin != apitest.OverHTTP {
		b.Until(`navigator.serviceWorker.controller !== null`)
	}
}

// Origins are the ways by which whole jobs reach services: all where the whole is tried
// (dbtest.Whole), else by a name over HTTP, where browsers allow the least.
func Origins() []apitest.Origin {
	if dbtest.Whole() {
		return apitest.AllOrigins
	}
	return []apitest.Origin{apitest.OverHTTP}
}

// namesAreHere has Chromium find every name on this machine, and trust the
// certificate of the tests.
func namesAreHere() []chromedp.ExecAllocatorOption {
	return []chromedp.ExecAllocatorOption{
		chromedp.Flag("host-resolver-rules", "MAP *.example 127.0.0.1"),
		chromedp.Flag("ignore-certificate-errors-spki-list", apitest.Certificate().Key),
	}
}
