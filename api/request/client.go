package request

import (
	"context"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"
)

// Clients knows which proxies stand before the service. A proxy that is trusted
// says from which address a request came and whether it came over HTTPS; from
// anybody else such headers are what a stranger likes to claim.
type Clients struct{ Trusted []netip.Prefix }

// forwardedHeaders say what a request was before a proxy passed it on.
var forwardedHeaders = []string{
	echo.HeaderXForwardedFor, echo.HeaderXForwardedProto, echo.HeaderXForwardedProtocol, echo.HeaderXForwardedSsl,
	echo.HeaderXUrlScheme, echo.HeaderXRealIP, "Forwarded", "X-Forwarded-Host", "X-Forwarded-Port",
}

// Behind gives next each request as its client sent it: RemoteAddr is the client's,
// and X-Forwarded-Proto is there only where a trusted proxy took the request over
// HTTPS. So nothing after it needs to know of proxies.
func (c Clients) Behind(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		direct := addressIn(r.RemoteAddr)
		said := r.Header.Values(echo.HeaderXForwardedFor)
		scheme := lastWord(r.Header.Values(echo.HeaderXForwardedProto))
		passedOn := false
		for _, name := range forwardedHeaders {
			passedOn = passedOn || r.Header.Get(name) != ""
			r.Header.Del(name)
		}
		switch {
		case c.trusts(direct):
			r.RemoteAddr = net.JoinHostPort(c.client(direct, said).String(), "0")
			if strings.EqualFold(scheme, "https") {
				r.Header.Set(echo.HeaderXForwardedProto, "https")
			}
		case passedOn:
			r = r.WithContext(context.WithValue(r.Context(), passedOnKey{}, true))
		}
		next.ServeHTTP(w, r)
	})
}

func (c Clients) trusts(address netip.Addr) bool {
	return within(c.Trusted, address)
}

func within(networks []netip.Prefix, address netip.Addr) bool {
	return slices.ContainsFunc(networks, func(p netip.Prefix) bool { return p.Contains(address) })
}

// client is the last address in X-Forwarded-For that is not a trusted proxy's: all
// before it may be the client's own invention. Where it cannot be read, the proxy's
// own address stands for the client.
func (c Clients) client(proxy netip.Addr, said []string) netip.Addr {
	client := proxy
	for _, text := range slices.Backward(strings.Split(strings.Join(said, ","), ",")) {
		next := addressIn(strings.TrimSpace(text))
		if !next.IsValid() {
			break
		}
		if client = next; !c.trusts(client) {
			break
		}
	}
	return client
}

// addressIn reads an address with or without a port, an IPv4 one as such also
// where it is written as IPv6.
func addressIn(text string) netip.Addr {
	if withPort, err := netip.ParseAddrPort(text); err == nil {
		return withPort.Addr().Unmap().WithZone("")
	}
	address, _ := netip.ParseAddr(strings.Trim(text, "[]"))
	return address.Unmap().WithZone("")
}

func lastWord(values []string) string {
	all := strings.Join(values, ",")
	return strings.TrimSpace(all[strings.LastIndexByte(all, ',')+1:])
}

type passedOnKey struct{}

// passedOn reports whether a request says that a proxy passed it on, and that proxy
// is not a trusted one: its address is then the proxy's, not the client's.
func passedOn(r *http.Request) bool {
	said, _ := r.Context().Value(passedOnKey{}).(bool)
	return said
}

// ClientNetwork is the network that a request comes from: one address of IPv4, a /64 of
// IPv6, which is what one household or one machine has for its own.
func ClientNetwork(r *http.Request) string {
	return NetworkOf(r.RemoteAddr)
}

// NetworkOf is the network that counts as one client, of an address with its port.
func NetworkOf(remote string) string {
	address := addressIn(remote)
	if address.Is6() {
		network, _ := address.Prefix(64)
		return network.String()
	}
	return address.String()
}
