package main

import (
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"pullbook/api/request"
	"pullbook/db/local"
)

// tlsSettings say how devices reach the service over HTTPS.
type tlsSettings struct {
	TLS       string   `name:"tls" env:"PULLBOOK_TLS" enum:",own" default:"" placeholder:"own" help:"own: serve HTTPS with certificates of this machine's own authority, which each device is told to trust once; the page /trust shows how."`
	Cert      string   `name:"tls-cert" type:"path" env:"PULLBOOK_TLS_CERT" placeholder:"FILE" help:"Serve HTTPS with this certificate, as PEM, with what leads to its root. The program reads it again when the file changes."`
	Key       string   `name:"tls-key" type:"path" env:"PULLBOOK_TLS_KEY" placeholder:"FILE" help:"Key of --tls-cert, as PEM."`
	Names     []string `name:"tls-name" env:"PULLBOOK_TLS_NAME" placeholder:"NAME" help:"Serve HTTPS for this name of the internet, with a certificate that the program gets and renews by ACME. Giving it accepts the terms of the directory, which must reach this machine by the name at port 443 or 80."`
	Directory string   `name:"tls-directory" env:"PULLBOOK_TLS_DIRECTORY" placeholder:"URL" help:"Directory of ACME that gives the certificates of --tls-name. Without one: Let's Encrypt."`
	Folder    string   `name:"tls-folder" type:"path" env:"PULLBOOK_TLS_FOLDER" placeholder:"FOLDER" help:"Folder of this machine's own authority, and of what ACME gave. Without one: tls in the folder of the private PostgreSQL. No backup and no archive has it."`
	HTTPAddr  string   `name:"http-addr" env:"PULLBOOK_HTTP_ADDR" placeholder:"HOST:PORT" help:"With HTTPS, another address to listen on, such as :80, for those who type no port."`
}

// folderIn sets the folder of what HTTPS keeps where none was named: beside the book.
func (s *tlsSettings) folderIn(data string) (err error) {
	if s.Folder != "" || !s.on() {
		return nil
	}
	if data == "" {
		if data, err = local.DefaultDataDir(); err != nil {
			return err
		}
	}
	if data, err = filepath.Abs(data); err != nil {
		return err
	}
	s.Folder = filepath.Join(data, "tls")
	return nil
}

// on reports whether the service is reached over HTTPS.
func (s tlsSettings) on() bool {
	return s.TLS != "" || s.Cert != "" || s.Key != "" || len(s.Names) > 0
}

func (s tlsSettings) check() error {
	switch {
	case (s.Cert == "") != (s.Key == ""):
		return errors.New("--tls-cert and --tls-key come together: the one file has the certificate, the other its key")
	case s.Cert != "" && s.TLS != "", len(s.Names) > 0 && (s.Cert != "" || s.TLS != ""):
		return errors.New("--tls own makes certificates, --tls-cert brings one and --tls-name gets one: choose one of the three")
	case s.HTTPAddr != "" && !s.on():
		return errors.New("--http-addr leads devices to HTTPS, and there is none: --tls own would do")
	case s.Cert != "":
		_, err := openGiven(s.Cert, s.Key, nil)
		return err
	}
	return s.checkACME()
}

// certificates are what the service shows to devices that come over HTTPS.
type certificates interface {
	config() *tls.Config
	// own is what devices have to know of this machine's own authority; nil where
	// somebody else vouches for it.
	own() func() request.OwnAuthority
	// challenges answers what asks over plain HTTP whether the name is this machine's,
	// and leaves the rest to next.
	challenges(next http.Handler) http.Handler
	// begin is called once the service answers.
	begin()
}

// certificates opens what the settings name. Port is where the service listens.
func (s serviceSettings) certificates(port string, log *slog.Logger) (certificates, error) {
	switch {
	case s.TLS == "own":
		return openOwn(s.Folder, port, s.thisMachine, log)
	case s.Cert != "":
		return openGiven(s.Cert, s.Key, log)
	case len(s.Names) > 0:
		return openACME(s.Names, s.Directory, s.Folder, log), nil
	}
	return nil, nil
}

// givenCertificate is in files that somebody else renews.
type givenCertificate struct {
	cert, key string
	log       *slog.Logger

	mu     sync.Mutex
	loaded *tls.Certificate
	stamp  string
}

func openGiven(cert, key string, log *slog.Logger) (*givenCertificate, error) {
	g := &givenCertificate{cert: cert, key: key, log: log, stamp: stampOf(cert, key)}
	loaded, err := tls.LoadX509KeyPair(cert, key)
	if err != nil {
		return nil, fmt.Errorf("the certificate %s with the key %s: %w", cert, key, err)
	}
	g.loaded = &loaded
	return g, nil
}

// stampOf changes when one of the files does.
func stampOf(files ...string) string {
	var stamp strings.Builder
	for _, name := range files {
		if info, err := os.Stat(name); err == nil {
			fmt.Fprintln(&stamp, info.ModTime().UnixNano(), info.Size())
		}
	}
	return stamp.String()
}

func (g *givenCertificate) config() *tls.Config {
	return &tls.Config{GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return g.current(), nil }}
}

// current reads the files again when they have changed. While they do not fit together,
// being half written, what was read before stands.
func (g *givenCertificate) current() *tls.Certificate {
	g.mu.Lock()
	defer g.mu.Unlock()
	if stamp := stampOf(g.cert, g.key); stamp != g.stamp {
		loaded, err := tls.LoadX509KeyPair(g.cert, g.key)
		if err == nil {
			g.loaded, g.stamp = &loaded, stamp
			g.log.Info("the certificate was read again", "file", g.cert, "until", loaded.Leaf.NotAfter)
		} else if !errors.Is(err, os.ErrNotExist) {
			g.log.Warn("the certificate has changed and cannot be read; the one before is served", "file", g.cert, "error", err)
		}
	}
	return g.loaded
}

func (g *givenCertificate) own() func() request.OwnAuthority          { return nil }
func (g *givenCertificate) challenges(next http.Handler) http.Handler { return next }
func (g *givenCertificate) begin()                                    {}

// front is the program's servers, over the addresses that it listens on.
type front struct {
	servers []*http.Server
	serve   []func() error
}

// frontOf answers on listeners: over HTTPS with certificates, where there are some, and over
// plain HTTP then this machine itself alone; others are led to HTTPS.
func (s serviceSettings) frontOf(listeners []net.Listener, handler http.Handler, certificates certificates, log *slog.Logger) *front {
	trusted, _ := networks("trusted-proxies", s.TrustedProxies) // looked at before
	f, port := &front{}, portOf(listeners[0].Addr())
	add := func(server *http.Server, serve func() error) {
		f.servers, f.serve = append(f.servers, server), append(f.serve, serve)
	}
	for _, l := range listeners {
		l = bounded(l, trusted)
		if certificates == nil {
			server := s.server(handler, log)
			add(server, func() error { return server.Serve(l) })
			continue
		}
		secureOnes, plainOnes := split(l)
		secure, plain := s.server(handler, log), s.server(leadToHTTPS(handler, certificates, port), log)
		secure.TLSConfig = certificates.config()
		// Devices that do not trust the machine yet say so at each handshake.
		secure.ErrorLog = slog.NewLogLogger(log.Handler(), slog.LevelDebug)
		add(secure, func() error { return secure.ServeTLS(secureOnes, "", "") })
		add(plain, func() error { return plain.Serve(plainOnes) })
	}
	return f
}

// start serves, and tells why a server ended.
func (f *front) start(ended chan<- error) {
	for _, serve := range f.serve {
		go func() { ended <- serve() }()
	}
}

// forEach does the same with each server at once.
func (f *front) forEach(do func(*http.Server) error) error {
	all := make(chan error)
	for _, server := range f.servers {
		go func() { all <- do(server) }()
	}
	var errs []error
	for range f.servers {
		errs = append(errs, <-all)
	}
	return errors.Join(errs...)
}

// leadToHTTPS answers plain HTTP. No token and no session crosses the network by it: from
// other machines it serves the page that tells how to trust this one, and nothing else.
func leadToHTTPS(whole http.Handler, certificates certificates, port string) http.Handler {
	own := certificates.own()
	return certificates.challenges(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case fromThisMachine(r), own != nil && request.OfTrustPage(r):
			whole.ServeHTTP(w, r)
		case own != nil:
			w.Header().Set("Cache-Control", "no-store")
			http.Redirect(w, r, request.TrustPath, http.StatusSeeOther)
		default:
			toHTTPS(w, r, port)
		}
	}))
}

// fromThisMachine reports whether a request never crossed a network.
func fromThisMachine(r *http.Request) bool {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && from.Addr().Unmap().IsLoopback()
}

// toHTTPS leads to the same place over HTTPS, at its port. What was sent along is not sent
// again.
func toHTTPS(w http.ResponseWriter, r *http.Request, port string) {
	http.Redirect(w, r, "https://"+request.HostAt(request.HostOf(r), port)+r.URL.RequestURI(), http.StatusSeeOther)
}

// portOf is the port of a listener's address.
func portOf(addr net.Addr) string {
	_, port, _ := net.SplitHostPort(addr.String())
	return port
}
