package apitest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/url"
	"sync"
	"testing"
	"time"
)

// Origin is a way by which browsers reach a service. They behave otherwise by a name
// than on their own machine, and otherwise over HTTP than over HTTPS: what they send
// with a form, which cookies they keep, what a page's scripts may do.
type Origin struct{ Name, scheme, host string }

var (
	OnThisMachine = Origin{"on this machine", "http", "127.0.0.1"}
	OverHTTP      = Origin{"by a name over HTTP", "http", "shed.example"}
	OverHTTPS     = Origin{"by a name over HTTPS", "https", "book.example"}
	AllOrigins    = []Origin{OverHTTP, OverHTTPS, OnThisMachine}
)

// front is a service as browsers reach it, at every origin.
type front map[Origin]string

func newFront(t testing.TB, handler http.Handler) front {
	t.Helper()
	f := front{}
	for _, o := range AllOrigins {
		server := httptest.NewUnstartedServer(handler)
		server.Config.ErrorLog = quiet // of browsers that leave
		if o.scheme == "https" {
			server.TLS = &tls.Config{Certificates: []tls.Certificate{Certificate().Certificate}}
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

func (h *House) ReachedAt(o Origin) string { return h.front[o] }

// selfSigned is a certificate of our own, and the digest of its key.
type selfSigned struct {
	tls.Certificate
	Key string
}

var Certificate = sync.OnceValue(func() selfSigned {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		panic(err)
	}
	of := &x509.Certificate{SerialNumber: big.NewInt(1), DNSNames: []string{OverHTTPS.host, OverHTTP.host}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(24 * time.Hour)}
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
