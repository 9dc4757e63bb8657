package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/letsencrypt/pebble/v2/ca"
	"github.com/letsencrypt/pebble/v2/db"
	"github.com/letsencrypt/pebble/v2/va"
	"github.com/letsencrypt/pebble/v2/wfe"
	"github.com/miekg/dns"
)

// resolver finds every name on this machine.
func resolver(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &dns.Server{Listener: l, Handler: dns.HandlerFunc(func(w dns.ResponseWriter, asked *dns.Msg) {
		answer := new(dns.Msg)
		answer.SetReply(asked)
		if q := asked.Question[0]; q.Qtype == dns.TypeA {
			answer.Answer = []dns.RR{&dns.A{Hdr: dns.RR_Header{Name: q.Name, Rrtype: dns.TypeA, Class: dns.ClassINET, Ttl: 1}, A: net.IPv4(127, 0, 0, 1)}}
		}
		_ = w.WriteMsg(answer) // the asker says what is missing
	})}
	go func() { _ = server.ActivateAndServe() }()
	t.Cleanup(func() { _ = server.Shutdown() })
	return l.Addr().String()
}

// nobody is a port at which nobody answers.
func nobody(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// TestACertificateComesFromADirectory has the test server of ACME's own makers ask whether the
// name is this machine's, each way that there is.
func TestACertificateComesFromADirectory(t *testing.T) {
	t.Setenv("PEBBLE_VA_NOSLEEP", "1")
	for _, way := range []string{"over plain HTTP", "over TLS"} {
		t.Run(way, func(t *testing.T) {
			inner, err := net.Listen("tcp", "127.0.0.1:0")
			if err != nil {
				t.Fatal(err)
			}
			port := inner.Addr().(*net.TCPAddr).Port
			httpPort, tlsPort := port, nobody(t)
			if way == "over TLS" {
				httpPort, tlsPort = tlsPort, port
			}
			silent, store := log.New(io.Discard, "", 0), db.NewMemoryStore()
			maker := ca.New(silent, store, "", "ecdsa", 0, 1, map[string]ca.Profile{"default": {Description: "as ever"}})
			checker := va.New(silent, httpPort, tlsPort, false, resolver(t), store)
			endpoint := wfe.New(silent, store, checker, maker, []string{"ca.example"}, false, false, 1, 1)
			directory := httptest.NewTLSServer(endpoint.Handler())
			t.Cleanup(directory.Close)

			folder := t.TempDir()
			a := openACME([]string{"book.example"}, directory.URL+wfe.DirectoryPath, folder, quiet)
			a.Client.HTTPClient = directory.Client()
			front := (serviceSettings{RequestTimeout: time.Minute}).frontOf([]net.Listener{inner}, marked, a, quiet)
			front.start(make(chan error, 2))
			t.Cleanup(func() { _ = front.forEach((*http.Server).Close) })

			roots := x509.NewCertPool()
			root := maker.GetRootCert(0)
			der, err := x509.ParseCertificate(root.DER)
			if err != nil {
				t.Fatal(err)
			}
			roots.AddCert(der)
			device := &http.Client{Timeout: time.Minute, Transport: &http.Transport{
				TLSClientConfig: &tls.Config{RootCAs: roots},
				DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
					return (&net.Dialer{}).DialContext(ctx, network, inner.Addr().String())
				},
			}}
			if got := body(t, device, "https://book.example:"+strconv.Itoa(port)+"/"); got != "the whole service" {
				t.Errorf("over HTTPS it answers %q", got)
			}
			if _, err := device.Get("https://other.example:" + strconv.Itoa(port) + "/"); err == nil {
				t.Error("a certificate was asked for in a name that is not among the settings")
			}
			// What was given is kept: another start asks the directory for nothing.
			directory.Close()
			kept, err := openACME([]string{"book.example"}, directory.URL, folder, quiet).GetCertificate(&tls.ClientHelloInfo{ServerName: "book.example",
				SignatureSchemes: []tls.SignatureScheme{tls.ECDSAWithP256AndSHA256}, CipherSuites: []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256}})
			if err != nil {
				t.Fatal(err)
			}
			if err := kept.Leaf.VerifyHostname("book.example"); err != nil {
				t.Error(err)
			}
			if files, err := filepath.Glob(filepath.Join(folder, "acme", "book.example*")); err != nil || len(files) != 1 {
				t.Errorf("the folder has %v (%v)", files, err)
			}
		})
	}
}
