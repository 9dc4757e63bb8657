package request

import (
	"cmp"
	"net"
	"net/http"
	"net/netip"
	"os"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/domain/message"
)

// Address is where codes on paper lead: the beginning of an address.
type Address struct {
	Base string
	// Caution is what somebody who prints it has to know; empty where there is nothing.
	Caution message.Text
}

// AddressFor is the address to print for a request: the public one, where it was set,
// else the one that was asked for, if it is this machine's own. Any other Host is not
// printed. It may be forged, or a name that a stranger directs here, and a code on a
// drum would lead buyers there.
func (s *Service) AddressFor(ctx echo.Context) Address {
	if s.PublicURL != "" {
		return Address{Base: s.PublicURL}
	}
	asked, here := askedEndpoint(ctx.Request()), ownEndpoint(ctx.Request())
	switch {
	case here.isLoopback() || asked.isLoopback():
		here.host = "127.0.0.1"
		return Address{here.url(), message.F("The code leads to %s, which is this machine alone: it works nowhere else. Open this page by the address that others use for this machine, or start the service with --public-url and that address.", here.url())}
	case asked == here, asked.port == here.port && isNameOfThisMachine(asked.host), s.vouchedFor(ctx.Request()):
		return Address{Base: asked.url()}
	}
	return Address{here.url(), message.F("The code leads to %s, where the service listens. The address that this page was opened by may be another's, so that it is not printed: if it is this service's, start the service with --public-url and that address.", here.url())}
}

// endpoint is where a service is reached. Its host has no brackets.
type endpoint struct{ scheme, host, port string }

func (e endpoint) url() string {
	return originOf(e.scheme + "://" + net.JoinHostPort(e.host, e.port))
}

func (e endpoint) isLoopback() bool {
	ip, err := netip.ParseAddr(e.host)
	return e.host == "localhost" || err == nil && (ip.Unmap().IsLoopback() || ip.IsUnspecified())
}

// askedEndpoint is the one that a request names.
func askedEndpoint(r *http.Request) endpoint {
	scheme, port := "http", "80"
	if r.TLS != nil {
		scheme, port = "https", "443"
	}
	host := strings.Trim(r.Host, "[]")
	if h, p, err := net.SplitHostPort(r.Host); err == nil {
		host, port = h, cmp.Or(p, port)
	}
	return endpoint{scheme, strings.TrimSuffix(strings.ToLower(host), "."), port}
}

// ownEndpoint is the one that a request came to. An address with a zone means something
// else on each machine, and counts as this machine's alone.
func ownEndpoint(r *http.Request) endpoint {
	here := endpoint{"http", "127.0.0.1", "80"}
	if r.TLS != nil {
		here.scheme = "https"
	}
	local, _ := r.Context().Value(http.LocalAddrContextKey).(*net.TCPAddr)
	if local == nil {
		return here
	}
	at := local.AddrPort()
	_, here.port, _ = net.SplitHostPort(at.String())
	if at.Addr().Zone() == "" {
		here.host = at.Addr().Unmap().String()
	}
	return here
}

// vouchedFor reports whether a request came over HTTPS to a host that the machine's own
// authority vouches for.
func (s *Service) vouchedFor(r *http.Request) bool {
	return s.Own != nil && r.TLS != nil && slices.Contains(s.Own().Hosts, strings.ToLower(r.Host))
}

// isNameOfThisMachine reports whether the machine itself has that name, which its
// network knows it by.
func isNameOfThisMachine(name string) bool {
	own, err := os.Hostname()
	own = strings.ToLower(own)
	return err == nil && own != "" && (name == own || name == own+".local")
}
