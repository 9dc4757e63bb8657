package api_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"fmt"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// origin is a way by which browsers reach a service. They behave otherwise by a name
// than on their own machine, and otherwise over HTTP than over HTTPS: what they send
// with a form, which cookies they keep, what a page's scripts may do.
type origin struct{ name, scheme, host string }

var (
	onThisMachine = origin{"on this machine", "http", "127.0.0.1"}
	overHTTP      = origin{"by a name over HTTP", "http", "shed.example"}
	overHTTPS     = origin{"by a name over HTTPS", "https", "book.example"}
	origins       = []origin{overHTTP, overHTTPS, onThisMachine}
)

// front is a service as browsers reach it, at every origin.
type front map[origin]string

func newFront(t testing.TB, handler http.Handler) front {
	t.Helper()
	f := front{}
	for _, o := range origins {
		server := httptest.NewUnstartedServer(handler)
		server.Config.ErrorLog = quiet // of browsers that leave
		if o.scheme == "https" {
			server.TLS = &tls.Config{Certificates: []tls.Certificate{certificate().Certificate}}
			server.EnableHTTP2 = true
			server.StartTLS()
		} else {
			server.Start()
		}
		t.Cleanup(server.Close)
		u, err := url.Parse(server.URL)
		if err != nil {
			t.Fatal(err)
		}
		f[o] = o.scheme + "://" + o.host + ":" + u.Port()
	}
	return f
}

// at is the address of a service, or of a way to one, for this browser.
func (b *browser) at(f interface{ reachedAt(origin) string }) string { return f.reachedAt(b.origin) }

func (h *pageHouse) reachedAt(o origin) string { return h.front[o] }
func (l *line) reachedAt(o origin) string      { return l.front[o] }

// by is the same browser at another origin, to take devices from.
func (b *browser) by(o origin) *browser {
	return &browser{t: b.t, ctx: b.ctx, whole: b.whole, axe: b.axe, origin: o}
}

// fromEverywhere does with a browser at each origin what a test does: a whole job, which
// hangs on cookies, forms and what scripts may do. What looks at pages alone is done at
// one of them, which PULLBOOK_TEST_ORIGIN chooses.
func fromEverywhere(t *testing.T, b *browser, test func(*testing.T, *browser)) {
	for _, o := range chosenOrigins() {
		t.Run(o.name, func(t *testing.T) {
			t.Parallel()
			test(t, b.by(o))
		})
	}
}

// withAWorker is the browser at an origin where pages open without network.
func (b *browser) withAWorker() *browser {
	if b.origin == overHTTP {
		return b.by(overHTTPS)
	}
	return b
}

// workerStands waits until the page opens without network, where a browser allows that.
func (b *browser) workerStands() {
	b.t.Helper()
	if b.origin != overHTTP {
		b.until(`(navigator.serviceWorker.ready.then(() => self.workerStands = true), self.workerStands === true)`)
	}
}

// chosenOrigins are the ways by which browsers reach services: all, or the one that
// PULLBOOK_TEST_ORIGIN names. Tests that go one way go the first: by a name over HTTP,
// where browsers allow the least.
func chosenOrigins() []origin {
	all := map[string][]origin{"": origins, "here": {onThisMachine}, "http": {overHTTP}, "https": {overHTTPS}}
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
		chromedp.Flag("ignore-certificate-errors-spki-list", certificate().key),
	}
}

// selfSigned is a certificate of our own, and the digest of its key.
type selfSigned struct {
	tls.Certificate
	key string
}

var certificate = sync.OnceValue(func() selfSigned {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		panic(err)
	}
	of := &x509.Certificate{SerialNumber: big.NewInt(1), DNSNames: []string{overHTTPS.host, overHTTP.host}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(24 * time.Hour)}
	raw, err := x509.CreateCertificate(rand.Reader, of, of, &key.PublicKey, key)
	if err != nil {
		panic(err)
	}
	public, err := x509.MarshalPKIXPublicKey(&key.PublicKey)
	if err != nil {
		panic(err)
	}
	sum := sha256.Sum256(public)
	return selfSigned{tls.Certificate{Certificate: [][]byte{raw}, PrivateKey: key}, base64.StdEncoding.EncodeToString(sum[:])}
})

// TestEverybodyGetsInAndOutByEveryName signs in, chooses a language and signs out with
// the pages' own forms.
func TestEverybodyGetsInAndOutByEveryName(t *testing.T) {
	t.Parallel()
	h := pagesOf(t, metricOutfit, nil)
	fromEverywhere(t, startBrowser(t), func(t *testing.T, b *browser) {
		d := b.device(t, "en-GB")
		d.cutOff = false
		d.resize(1280, 800)
		d.signIn(h)
		d.do(chromedp.Click(chromedp.CSS(`form[action="/language"] [lang="es"]`)), chromedp.WaitVisible(chromedp.CSS(`html[lang^="es"] .who button`)))
		if got := d.text(".who button"); got != "Salir" {
			t.Errorf("after choosing Spanish the button reads %q", got)
		}
		d.do(chromedp.Click(chromedp.CSS(".who button")), chromedp.WaitVisible(chromedp.CSS("#password")))
		if at := evaluated[string](d, "location.href"); at != d.at(h)+"/" {
			t.Errorf("signing out leads to %s", at)
		}
		d.mu.Lock()
		defer d.mu.Unlock()
		if len(d.said) > 0 {
			t.Errorf("the browser said: %s", strings.Join(d.said, "\n"))
		}
	})
}
