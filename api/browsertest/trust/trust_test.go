package trust_test

import (
	"context"
	"crypto/x509"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// device starts a Chromium with a home of its own, where it keeps whom it trusts. It finds the
// machine's name at its address on the network, as by multicast DNS.
func (s *shed) device(home string) *browsertest.Browser {
	s.t.Helper()
	b := browsertest.Start(s.t, chromedp.Env("HOME="+home),
		chromedp.Flag("host-resolver-rules", "MAP "+s.name+" "+s.address.String()),
		chromedp.Flag("ignore-certificate-errors-spki-list", ""))
	b.Origin = apitest.OverHTTPS
	return b.Device(s.t, "en-CA")
}

// trustStore is an empty list of whom a Chromium with that home trusts beside the usual.
func trustStore(t *testing.T, home string) string {
	t.Helper()
	store := filepath.Join(home, ".pki", "nssdb")
	if err := os.MkdirAll(store, 0o700); err != nil {
		t.Fatal(err)
	}
	nss(t, "-d", "sql:"+store, "-N", "--empty-password")
	return store
}

func nss(t *testing.T, args ...string) {
	t.Helper()
	certutil, err := exec.LookPath("certutil")
	if err != nil {
		t.Fatal("No certutil to tell a Chromium whom to trust. Install it (Debian: apt-get install libnss3-tools; Fedora: dnf install nss-tools).")
	}
	if out, err := exec.CommandContext(t.Context(), certutil, args...).CombinedOutput(); err != nil {
		t.Fatalf("certutil %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// TestATabletComesToTrustTheMachineAndRecordsWithoutNetwork goes the way of a tablet on the
// local network from the first look to a reading in the book: nothing goes by loopback.
func TestATabletComesToTrustTheMachineAndRecordsWithoutNetwork(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	s.start()
	for _, e := range [][2]string{
		{"seasons", `{"id":"10000000-0000-4000-8000-000000000001","occurred_at":"2026-01-02T09:00:00-06:00","name":"2026","first":"2026-01-01","last":"2026-12-31"}`},
		{"tanks", `{"id":"10000000-0000-4000-8000-000000000005","occurred_at":"2026-01-02T09:00:00-06:00","name":"large tank","use":"settling","capacity_kg":4500}`},
		{"instruments", `{"id":"10000000-0000-4000-8000-000000000007","occurred_at":"2026-01-02T09:00:00-06:00","name":"blue refractometer","scale":"moisture","compensates_temperature":true,"std_uncertainty":0.2}`},
	} {
		s.ask(http.MethodPost, e[0], e[1])
	}
	home := t.TempDir()
	store := trustStore(t, home)
	plain, secure := "http://"+net.JoinHostPort(s.address.String(), s.port), "https://"+net.JoinHostPort(s.name, s.port)

	// A device that trusts nobody yet: whatever it opens, it gets the page that tells how.
	d := s.device(home)
	began := time.Now()
	d.Open(plain + "/record")
	d.Until(`location.pathname === '/trust' && document.getElementById('result').dataset.trusted === 'no'`)
	if got := d.Text("#result"); !strings.Contains(got, "Not yet") {
		t.Errorf("a device that does not trust the machine is told %q", got)
	}
	if err := chromedp.Do(d.Ctx, chromedp.Navigate(secure+"/")); err == nil || !strings.Contains(err.Error(), "ERR_CERT_AUTHORITY_INVALID") {
		t.Fatalf("a device that does not trust the machine opens it over HTTPS: %v", err)
	}
	d.Open(plain + "/trust")
	root := s.got(browsertest.Evaluated[string](d, `document.querySelector('a[href$=".crt"]').href`))
	if shown := strings.Join(strings.Fields(d.Text(".digits")), ":"); shown != fingerprintIn(s.String()) {
		t.Errorf("the page shows %q, the machine's screen %q", d.Text(".digits"), fingerprintIn(s.String()))
	}

	// It is told to trust the machine, as its settings would be.
	file := filepath.Join(home, "pullbook.crt")
	if err := os.WriteFile(file, root, 0o600); err != nil {
		t.Fatal(err)
	}
	nss(t, "-d", "sql:"+store, "-A", "-t", "C,,", "-n", "pullbook", "-i", file)
	d = s.device(home)
	d.Open(plain + "/trust")
	d.Until(`document.getElementById('result').dataset.trusted === 'yes'`)
	if got := d.Text("#result"); !strings.Contains(got, secure) {
		t.Errorf("a device that trusts the machine is told %q, without %s", got, secure)
	}

	// A manager signs in on it and makes it a tablet of the shed.
	d.Open(browsertest.Evaluated[string](d, `document.getElementById('pair').href`))
	send(d, map[string]string{"outfit": outfit, "name": manager, "password": s.password})
	d.Until(`document.getElementById('tablet-name') !== null`)
	if at := browsertest.Evaluated[string](d, `location.origin`); at != secure {
		t.Fatalf("somebody signed in at %s", at)
	}
	send(d, map[string]string{"code": "82640"})
	d.Until(`document.body.innerText.includes('has a code for the tablets')`)
	send(d, map[string]string{"tablet-name": "By the extractor"})
	d.Until(`document.querySelector('input[name="person"]') !== null`)
	browsertest.Evaluated[bool](d, `document.querySelector('input[name="person"]').click(), true`)
	send(d, map[string]string{"code": "82640"})
	d.Until(`document.querySelector('form[action="/lock"]') !== null`)
	d.Open(secure + "/record")
	d.Until(`document.documentElement.dataset.ready === 'true'`)
	d.KnowsTheShed()
	d.WorkerStands()
	t.Logf("from the first page to a paired tablet: %.1f s at the machine's own pace", time.Since(began).Seconds())

	// The machine is off, and so is the network: the page opens, and takes a reading.
	s.stop()
	offline(d, true)
	d.Open(secure + "/record")
	d.Until(`document.documentElement.dataset.ready === 'true'`)
	d.Tile("reading")
	d.Key("174")
	d.Saved()
	d.Waits(1)

	// It is on again, with the same authority, and the reading comes into the book.
	s.start()
	if got := s.readings(); len(got) != 0 {
		t.Errorf("the book has %v before the network is back", got)
	}
	offline(d, false)
	d.Waits(0)
	if got := s.readings(); len(got) != 1 || got[0].MoisturePct != 17.4 || got[0].RecordedBy != manager {
		t.Errorf("the book has %v", got)
	}

	// Another device has not been told.
	another := t.TempDir()
	trustStore(t, another)
	if err := chromedp.Do(s.device(another).Ctx, chromedp.Navigate(secure+"/record")); err == nil || !strings.Contains(err.Error(), "ERR_CERT_AUTHORITY_INVALID") {
		t.Errorf("a device that was told of nothing opens the machine: %v", err)
	}
}

// send fills in fields, by the beginnings of their ids, and sends their form.
func send(b *browsertest.Browser, fields map[string]string) {
	b.T.Helper()
	for id, text := range fields {
		b.Until(fmt.Sprintf(`(e => e && (e.value = %q, true))(document.querySelector('input[id^="%s"]'))`, text, id))
	}
	for id := range fields {
		browsertest.Evaluated[bool](b, `document.querySelector('input[id^="`+id+`"]').form.querySelector('button').click(), true`)
		return
	}
}

// offline takes the network from a device.
func offline(b *browsertest.Browser, off bool) {
	b.T.Helper()
	b.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: off})
		return err
	}))
}

// got is the certificate that a device gets by an address.
func (s *shed) got(address string) []byte {
	s.t.Helper()
	response, err := http.Get(address)
	if err != nil {
		s.t.Fatal(err)
	}
	defer response.Body.Close()
	raw, err := io.ReadAll(response.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	if _, err := x509.ParseCertificate(raw); err != nil || response.Header.Get("Content-Type") != "application/x-x509-ca-cert" {
		s.t.Fatalf("%s gives no certificate (%s): %v", address, response.Header.Get("Content-Type"), err)
	}
	return raw
}

// fingerprintIn is what the machine shows on its own screen.
func fingerprintIn(printed string) string {
	_, after, _ := strings.Cut(printed, "was given another's:\n")
	line, _, _ := strings.Cut(after, "\n")
	return strings.TrimSpace(line)
}
