package main

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"image"
	"image/color"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"pullbook/api"
	"pullbook/api/authority"
	"pullbook/api/request"
)

var quiet = slog.New(slog.DiscardHandler)

// beyond is an address of this machine that is not its own alone.
func beyond(t *testing.T) netip.Addr {
	t.Helper()
	all, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range all {
		if network, err := netip.ParsePrefix(a.String()); err == nil && !network.Addr().IsLoopback() && !network.Addr().IsLinkLocalUnicast() {
			return network.Addr()
		}
	}
	t.Fatal("This machine has no address beyond itself, by which to try what other devices get. Connect it to a network.")
	return netip.Addr{}
}

// own is an authority in a folder, on a machine and at a time that the test chooses.
func own(t *testing.T, folder string, at *time.Time, here *machine) *ownCertificates {
	t.Helper()
	o := &ownCertificates{file: filepath.Join(folder, "tls", authorityFile), port: "8080", log: quiet,
		now: func() time.Time { return *at }, here: func() machine { return *here }}
	if err := o.open(); err != nil {
		t.Fatal(err)
	}
	return o
}

func (o *ownCertificates) must(t *testing.T) *x509.Certificate {
	t.Helper()
	c, err := o.current(netip.Addr{})
	if err != nil {
		t.Fatal(err)
	}
	return c.Leaf
}

func hive(addresses ...string) *machine {
	m := &machine{name: "hive", host: "hive"}
	for _, a := range addresses {
		m.addresses = append(m.addresses, netip.MustParseAddr(a))
	}
	return m
}

func TestARestartKeepsWhatDevicesTrust(t *testing.T) {
	t.Parallel()
	folder, at, here := t.TempDir(), time.Now(), hive("192.168.7.20")
	first := own(t, folder, &at, here)
	again := own(t, folder, &at, here)
	if !first.authority.Root.Equal(again.authority.Root) {
		t.Error("another authority was made")
	}
	for path, want := range map[string]os.FileMode{"tls": 0o700, "tls/" + authorityFile: 0o600} {
		info, err := os.Stat(filepath.Join(folder, path))
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm() != want {
			t.Errorf("%s has mode %04o, want %04o", path, info.Mode().Perm(), want)
		}
	}
}

func TestCertificatesRenewThemselves(t *testing.T) {
	t.Parallel()
	at, here := time.Now().Truncate(time.Second), hive("192.168.7.20")
	o := own(t, t.TempDir(), &at, here)
	first := o.must(t)
	renewal := authority.RenewAt(first)
	if at = renewal.Add(-time.Second); !o.must(t).Equal(first) {
		t.Error("it was made anew before a third of its life was left")
	}
	at = renewal.Add(2 * lookEvery)
	second := o.must(t)
	if second.Equal(first) || !second.NotAfter.After(first.NotAfter) {
		t.Errorf("it ends at %v, the one before at %v", second.NotAfter, first.NotAfter)
	}
}

func TestANewAddressIsInTheNextCertificate(t *testing.T) {
	t.Parallel()
	at, here := time.Now(), hive("192.168.7.20")
	o := own(t, t.TempDir(), &at, here)
	first := o.must(t)
	here.addresses = []netip.Addr{netip.MustParseAddr("192.168.7.31")}
	if !o.must(t).Equal(first) {
		t.Error("the system is asked at every handshake")
	}
	at = at.Add(lookEvery)
	if err := o.must(t).VerifyHostname("192.168.7.31"); err != nil {
		t.Error(err)
	}
	// Whoever comes by an address that is not in it makes the program look at once.
	at = at.Add(2 * time.Second)
	c, err := o.current(netip.MustParseAddr("10.0.0.9"))
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Leaf.VerifyHostname("10.0.0.9"); err != nil {
		t.Error(err)
	}
	if got := o.own()().Hosts; !slices.Equal(got, []string{"hive.local:8080", "192.168.7.31:8080", "10.0.0.9:8080"}) {
		t.Errorf("devices are told of %q", got)
	}
}

func TestAnotherAuthorityIsTakenUpWithoutARestart(t *testing.T) {
	t.Parallel()
	at, here := time.Now(), hive("192.168.7.20")
	o := own(t, t.TempDir(), &at, here)
	before := o.own()().Fingerprint
	another, err := newAuthority(o.file, "hive", at)
	if err != nil {
		t.Fatal(err)
	}
	at = at.Add(lookEvery)
	if got := o.own()().Fingerprint; got != another.Fingerprint() || got == before {
		t.Errorf("devices are told of %s, before %s", got, before)
	}
	if err := o.must(t).CheckSignatureFrom(another.Issuer); err != nil {
		t.Error(err)
	}
	// One that cannot be read changes nothing.
	if err := os.WriteFile(o.file, []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	at = at.Add(lookEvery)
	if got := o.own()().Fingerprint; got != another.Fingerprint() {
		t.Errorf("devices are told of %s", got)
	}
}

func TestAKeyThatOthersMayReadIsRefused(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "tls", authorityFile)
	if _, err := newAuthority(file, "hive", time.Now()); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(file, 0o640); err != nil {
		t.Fatal(err)
	}
	if _, err := readAuthority(file); err == nil || !strings.Contains(err.Error(), "chmod 600") {
		t.Errorf("it is read: %v", err)
	}
}

func TestAClockThatIsWrongIsSaid(t *testing.T) {
	t.Parallel()
	folder, at, here := t.TempDir(), time.Now(), hive("192.168.7.20")
	o := own(t, folder, &at, here)
	at = time.Unix(0, 0)
	if err := o.open(); err == nil || !strings.Contains(err.Error(), "set the clock") {
		t.Errorf("a machine whose clock stopped: %v", err)
	}
}

func TestHostnamesBecomeNamesOfTheNetwork(t *testing.T) {
	t.Parallel()
	for host, want := range map[string]string{"hive": "hive", "Hive.sedge.example": "hive", "Shed PC": "shed-pc", "": "pullbook", "localhost": "pullbook", "miel_3": "miel-3", "-x-": "x"} {
		if got := hostLabel(host); got != want {
			t.Errorf("%q becomes %q, want %q", host, got, want)
		}
	}
}

// selfSigned writes a certificate and its key.
func selfSigned(t *testing.T, folder, name string) (cert, key string, raw []byte) {
	t.Helper()
	a, err := authority.New(name, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := a.Leaf([]string{name}, nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(leaf.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	cert, key = filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	for path, block := range map[string]*pem.Block{cert: {Type: "CERTIFICATE", Bytes: leaf.Certificate[0]}, key: {Type: "PRIVATE KEY", Bytes: der}} {
		if err := os.WriteFile(path, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return cert, key, leaf.Certificate[0]
}

func TestAGivenCertificateIsReadAgainWhenItChanges(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	cert, key, first := selfSigned(t, folder, "first.local")
	g, err := openGiven(cert, key, quiet)
	if err != nil {
		t.Fatal(err)
	}
	serves := func(want []byte, when string) {
		t.Helper()
		if got := g.current(); !slices.Equal(got.Certificate[0], want) {
			t.Errorf("%s: it serves %v", when, got.Leaf.DNSNames)
		}
	}
	serves(first, "at first")
	_, _, second := selfSigned(t, folder, "second.local")
	serves(second, "after both files changed")
	if err := os.WriteFile(key, []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	serves(second, "while the key is half written")
	_, _, third := selfSigned(t, folder, "third.local")
	serves(third, "once it is whole")
}

// marked answers with a word that nothing else says.
var marked = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, "the whole service") })

// TestPlainHTTPBeyondTheMachineServesTheTrustPageAlone asks for every route that there is.
func TestPlainHTTPBeyondTheMachineServesTheTrustPageAlone(t *testing.T) {
	t.Parallel()
	at, here := time.Now(), hive("192.168.7.20")
	handler := leadToHTTPS(marked, own(t, t.TempDir(), &at, here), "8080")
	routes, err := api.Routes()
	if err != nil {
		t.Fatal(err)
	}
	open := map[string]bool{"GET /trust": true, "GET /trust/pullbook.crt": true, "GET /assets/:name": true, "POST /language": true}
	asked := 0
	for _, r := range routes {
		for _, from := range []string{"192.168.7.31:5000", "[fd00::31]:5000", "[::ffff:192.168.7.31]:5000", "127.0.0.1:5000", "[::1]:5000"} {
			request := httptest.NewRequest(r.Method, "http://192.168.7.20:8080"+strings.ReplaceAll(r.Path, ":", ""), strings.NewReader("outfit=x&password=y"))
			request.RemoteAddr = from
			request.Header.Set("X-Forwarded-For", "127.0.0.1")
			request.Header.Set("Authorization", "Bearer secret")
			answer := httptest.NewRecorder()
			handler.ServeHTTP(answer, request)
			whole := strings.Contains(answer.Body.String(), "the whole service")
			here := strings.HasPrefix(from, "127.") || strings.HasPrefix(from, "[::1]")
			switch {
			case whole != (here || open[r.Method+" "+r.Path]):
				t.Errorf("%s %s from %s: served %v", r.Method, r.Path, from, whole)
			case !whole && (answer.Code != http.StatusSeeOther || answer.Header().Get("Location") != "/trust" || answer.Header().Get("Set-Cookie") != ""):
				t.Errorf("%s %s from %s: %d to %q", r.Method, r.Path, from, answer.Code, answer.Header().Get("Location"))
			}
			asked++
		}
	}
	if asked < 500 {
		t.Errorf("only %d requests were made", asked)
	}
}

func TestWithAGivenCertificatePlainHTTPLeadsToHTTPS(t *testing.T) {
	t.Parallel()
	cert, key, _ := selfSigned(t, t.TempDir(), "hive.local")
	g, err := openGiven(cert, key, quiet)
	if err != nil {
		t.Fatal(err)
	}
	for port, want := range map[string]string{"8443": "https://book.example:8443/lots?state=held", "443": "https://book.example/lots?state=held"} {
		for _, asked := range []string{"book.example", "book.example:8443", "book.example:80"} {
			r := httptest.NewRequest(http.MethodGet, "http://"+asked+"/lots?state=held", nil)
			answer := httptest.NewRecorder()
			leadToHTTPS(marked, g, port).ServeHTTP(answer, r)
			if got := answer.Header().Get("Location"); answer.Code != http.StatusSeeOther || got != want {
				t.Errorf("%s: %d to %q, want %q", asked, answer.Code, got, want)
			}
		}
	}
}

func TestOneAddressServesHTTPSAndPlainHTTP(t *testing.T) {
	t.Parallel()
	inner, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	at, here := time.Now(), hive()
	o := own(t, t.TempDir(), &at, here)
	secureOnes, plainOnes := split(inner)
	says := func(text string) *http.Server {
		return &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, text, " ", r.Proto) }), ErrorLog: slog.NewLogLogger(quiet.Handler(), 0)}
	}
	secure, plain := says("over HTTPS"), says("in the clear")
	secure.TLSConfig = o.config()
	ended := make(chan error, 2)
	go func() { ended <- secure.ServeTLS(secureOnes, "", "") }()
	go func() { ended <- plain.Serve(plainOnes) }()
	// Who says nothing keeps nobody waiting.
	for range 20 {
		silent, err := net.Dial("tcp", inner.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		defer silent.Close()
	}
	trusting := trusts(o.authority.Root)
	for address, want := range map[string]string{"https://": "over HTTPS HTTP/2.0", "http://": "in the clear HTTP/1.1"} {
		if got := body(t, trusting, address+inner.Addr().String()); got != want {
			t.Errorf("%s: %q", address, got)
		}
	}
	if _, err := http.DefaultClient.Get("https://" + inner.Addr().String()); err == nil {
		t.Error("who does not trust the root gets an answer")
	}
	plain.Close()
	for range 2 {
		select {
		case <-ended:
		case <-time.After(10 * time.Second):
			t.Fatal("one server goes on after the other ended")
		}
	}
}

// trusts is a client that trusts one root and nobody else.
func trusts(root *x509.Certificate) *http.Client {
	pool := x509.NewCertPool()
	pool.AddCert(root)
	return &http.Client{
		Timeout:       20 * time.Second,
		Transport:     &http.Transport{ForceAttemptHTTP2: true, TLSClientConfig: &tls.Config{RootCAs: pool}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

func body(t *testing.T, c *http.Client, address string) string {
	t.Helper()
	response, err := c.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestAMachineIsItsOwnAuthority tries the program, by an address of the network.
func TestAMachineIsItsOwnAuthority(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	run := func() (*running, string) {
		p := launch(t, "serve", "--data", dir, "--addr", "0.0.0.0:0", "--tls", "own")
		p.await(t, "pullbook serves on ")
		p.await(t, "fingerprint (SHA-256)")
		at, err := url.Parse(p.base)
		if err != nil {
			t.Fatal(err)
		}
		return p, at.Port()
	}
	p, port := run()
	if got := statusOf(t, p.base+"/readyz"); got != http.StatusOK {
		t.Errorf("the machine itself gets %d over plain HTTP", got)
	}
	host := net.JoinHostPort(beyond4(t).String(), port)
	stranger := trusts(&x509.Certificate{Raw: []byte("nobody")})
	raw := body(t, stranger, "http://"+host+request.RootPath)
	root, err := x509.ParseCertificate([]byte(raw))
	if err != nil {
		t.Fatal(err)
	}
	page := body(t, stranger, "http://"+host+"/trust")
	for _, word := range []string{root.Subject.CommonName, "https://" + thisMachine().name + ".local:" + port} {
		if !strings.Contains(page, word) {
			t.Errorf("the trust page does not have %q", word)
		}
	}
	form := url.Values{"outfit": {"Fern Gully Honey"}, "name": {"Mirren"}, "password": {"whatever it is"}}
	response, err := stranger.PostForm("http://"+host+"/sign-in", form)
	if err != nil {
		t.Fatal(err)
	}
	if response.StatusCode != http.StatusSeeOther || response.Header.Get("Location") != "/trust" || len(response.Cookies()) != 0 {
		t.Errorf("signing in over plain HTTP: %d to %q", response.StatusCode, response.Header.Get("Location"))
	}
	// By the machine's name, at the address of the network.
	trusting := trusts(root)
	trusting.Transport.(*http.Transport).TLSClientConfig.ServerName = thisMachine().name + ".local"
	secure := &client{base: "https://" + host, token: token, http: trusting}
	if got := outfitOf(t, secure).Name; got != "Fern Gully Honey" {
		t.Errorf("over HTTPS the token belongs to %q", got)
	}
	answer, err := trusting.Get("https://" + host + "/trust")
	if err != nil {
		t.Fatal(err)
	}
	if hsts := answer.Header.Get("Strict-Transport-Security"); hsts != "" {
		t.Errorf("browsers are told to come over HTTPS alone (%q), and could not ask how to trust another authority", hsts)
	}
	must(t, "health", "--addr", "127.0.0.1:"+port)
	if shown := must(t, "authority", "show", "--data", dir); !strings.Contains(p.String(), strings.Fields(strings.Split(shown, "SHA-256): ")[1])[0]) {
		t.Errorf("the program printed another fingerprint than\n%s", shown)
	}
	p.stop(t)

	again, port := run()
	trusting.CloseIdleConnections()
	secure.base = "https://" + net.JoinHostPort(beyond4(t).String(), port)
	if got := outfitOf(t, secure).Name; got != "Fern Gully Honey" {
		t.Errorf("after a restart the token belongs to %q", got)
	}
	again.stop(t)

	refused(t, exitFailed, []string{"--yes"}, "authority", "new", "--data", dir)
	before := must(t, "authority", "show", "--data", dir)
	if after := must(t, "authority", "new", "--yes", "--data", dir); strings.Contains(after, strings.Split(before, "\n")[1]) {
		t.Errorf("the authority is the same:\n%s", after)
	}
}

// beyond4 is such an address of IPv4, on which the tests' program listens.
func beyond4(t *testing.T) netip.Addr {
	t.Helper()
	a := beyond(t)
	if !a.Is4() {
		t.Fatalf("this machine has no address of IPv4 beyond itself, only %s", a)
	}
	return a
}

func TestSettingsOfHTTPSThatDoNotFitAreRefused(t *testing.T) {
	t.Parallel()
	for words, args := range map[string][]string{
		"come together":          {"--tls-cert", "x.pem"},
		"choose one":             {"--tls", "own", "--tls-cert", "x.pem", "--tls-key", "x.pem"},
		"whole name":             {"--tls-name", "book"},
		"--tls own does":         {"--tls-name", "hive.local"},
		"begins with https":      {"--tls-name", "book.example", "--tls-directory", "http://x"},
		"there is none":          {"--tls-directory", "https://x"},
		"of the three":           {"--tls-name", "book.example", "--tls", "own"},
		"--http-addr leads":      {"--http-addr", "127.0.0.1:0"},
		"no such file":           {"--tls-cert", "/nowhere/x.pem", "--tls-key", "/nowhere/x.key"},
		"--addr chooses another": {"--tls", "own", "--addr", "127.0.0.1:nothing"},
	} {
		refused(t, exitFailed, []string{words}, append([]string{"serve", "--data", folder(t)}, args...)...)
	}
	refused(t, exitMisused, []string{"--tls must be one of"}, "serve", "--tls", "theirs")
	refused(t, exitFailed, []string{"no authority of its own yet"}, "authority", "show", "--data", folder(t))
}

// A container may have no home and no state folder: without HTTPS none is asked for.
func TestWithoutHTTPSNoFolderIsAskedFor(t *testing.T) {
	t.Setenv("HOME", "")
	t.Setenv("XDG_STATE_HOME", "")
	var s tlsSettings
	if err := s.folderIn(""); err != nil || s.Folder != "" {
		t.Errorf("a folder %q was asked for: %v", s.Folder, err)
	}
}

// What a terminal shows is read as a camera reads it.
func TestTheCodeInTheTerminalLeadsToTheTrustPage(t *testing.T) {
	t.Parallel()
	var out strings.Builder
	const address = "http://hive.local:8080/trust"
	if err := writeQR(&out, address); err != nil {
		t.Fatal(err)
	}
	const dot = 8
	var rows [][]rune
	for line := range strings.Lines(out.String()) {
		_, line, _ = strings.Cut(line, "m")
		line, _, _ = strings.Cut(line, "\x1b")
		rows = append(rows, []rune(line))
	}
	img := image.NewGray(image.Rect(0, 0, dot*len(rows[0]), 2*dot*len(rows)))
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			c, lower := rows[y/(2*dot)][x/dot], y/dot%2 == 1
			if black := c == '█' || c == '▀' && !lower || c == '▄' && lower; !black {
				img.SetGray(x, y, color.Gray{Y: 255})
			}
		}
	}
	bits, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	read, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	if err != nil {
		t.Fatal(err)
	}
	if read.GetText() != address {
		t.Errorf("it reads %q", read.GetText())
	}
}
