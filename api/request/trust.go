package request

import (
	"net"
	"net/http"
	"strings"
	"time"
)

// OwnAuthority is what devices have to know of the machine's own authority.
type OwnAuthority struct {
	// Root is the certificate that they are told to trust, as DER; Name what their settings
	// call it, Fingerprint its SHA-256 in pairs of hexadecimal digits.
	Root              []byte
	Name, Fingerprint string
	Until             time.Time
	// Hosts are the names and addresses, with the port, that its certificates are good for,
	// the best to keep first.
	Hosts []string
}

// The trust page tells a device how to trust the machine. Beyond the machine itself, plain
// HTTP serves what it is made of and nothing else.
const (
	TrustPath = "/trust"
	// RootPath is the certificate to trust.
	RootPath = TrustPath + "/pullbook.crt"
	// AssetsPath begins the addresses of styles and scripts.
	AssetsPath = "/assets/"
)

// OfTrustPage reports whether a request asks for what the trust page is made of.
func OfTrustPage(r *http.Request) bool {
	path := r.URL.Path
	switch r.Method {
	case http.MethodGet, http.MethodHead:
		return path == TrustPath || path == RootPath || strings.HasPrefix(path, AssetsPath)
	case http.MethodPost:
		return path == LanguagePath
	}
	return false
}

// HostAt is a host with a port, as an address of HTTPS has it: 443 goes without saying.
func HostAt(host, port string) string {
	at := net.JoinHostPort(host, port)
	if port == "443" {
		return strings.TrimSuffix(at, ":443")
	}
	return at
}

// HostOf is the host that a request names, without its port and without brackets.
func HostOf(r *http.Request) string { return askedEndpoint(r).host }
