package browsertest

import (
	"fmt"
	"os"
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
)

// At is the address of a service, or of a way to one, for this browser.
func (b *Browser) At(f interface{ ReachedAt(apitest.Origin) string }) string {
	return f.ReachedAt(b.Origin)
}

// By is the same browser at another origin, to take devices from.
func (b *Browser) By(o apitest.Origin) *Browser {
	return &Browser{T: b.T, Ctx: b.Ctx, Whole: b.Whole, Origin: o}
}

// FromEverywhere does with a browser at each origin what a test does: a whole job, which
// hangs on cookies, forms and what scripts may do. What looks at pages alone is done at
// one of them, which PULLBOOK_TEST_ORIGIN chooses.
func FromEverywhere(t *testing.T, b *Browser, test func(*testing.T, *Browser)) {
	for _, o := range Origins() {
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

// Origins are the ways by which browsers reach services: all, or the one that
// PULLBOOK_TEST_ORIGIN names. Tests that go one way go the first: by a name over HTTP,
// where browsers allow the least.
func Origins() []apitest.Origin {
	all := map[string][]apitest.Origin{"": apitest.AllOrigins, "here": {apitest.OnThisMachine}, "http": {apitest.OverHTTP}, "https": {apitest.OverHTTPS}}
	name := os.Getenv("PULLBOOK_TEST_ORIGIN")
	chosen, known := all[name]
	if !known {
		panic(fmt.Sprintf("PULLBOOK_TEST_ORIGIN is %q; here, http or https would do", name))
	}
	return chosen
}

// namesAreHere has Chromium find every name on this machine, and trust the
// certificate of the tests.
func namesAreHere() []chromedp.ExecAllocatorOption {
	return []chromedp.ExecAllocatorOption{
		chromedp.Flag("host-resolver-rules", "MAP *.example 127.0.0.1"),
		chromedp.Flag("ignore-certificate-errors-spki-list", apitest.Certificate().Key),
	}
}
