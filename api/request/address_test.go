package request

import (
	"context"
	"crypto/tls"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"github.com/labstack/echo/v4"

	"pullbook/domain/message"
)

// A code on a drum leads to an address that is known to be this service's, whatever a
// request says.
func TestThePrintedAddressIsOneThatWasChecked(t *testing.T) {
	t.Parallel()
	name, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	const lan, public = "192.168.1.20:8080", "https://book.example"
	for _, c := range []struct {
		why, public, host, local string
		want                     string
		caution                  string
	}{
		{"the public address", public, "evil.example", lan, public, ""},
		{"the public address on this machine", public, "127.0.0.1:8080", "127.0.0.1:8080", public, ""},
		{"the address of this machine", "", lan, lan, "http://192.168.1.20:8080", ""},
		{"the address at the usual port", "", "192.168.1.20", "192.168.1.20:80", "http://192.168.1.20", ""},
		{"by IPv6", "", "[fd00::20]:8080", "[fd00::20]:8080", "http://[fd00::20]:8080", ""},
		{"IPv4 through a socket of IPv6", "", lan, "[::ffff:192.168.1.20]:8080", "http://192.168.1.20:8080", ""},
		{"this machine's name", "", strings.ToUpper(name) + ":8080", lan, "http://" + strings.ToLower(name) + ":8080", ""},
		{"this machine's name without a name server", "", name + ".local.:8080", lan, "http://" + strings.ToLower(name) + ".local:8080", ""},
		{"this machine alone", "", "127.0.0.1:8080", "127.0.0.1:8080", "http://127.0.0.1:8080", "this machine alone"},
		{"this machine alone by its name", "", "localhost:8080", "127.0.0.1:8080", "http://127.0.0.1:8080", "this machine alone"},
		{"this machine alone by IPv6", "", "[::1]:8080", "[::1]:8080", "http://127.0.0.1:8080", "this machine alone"},
		{"through a port of this machine", "", "127.0.0.1:8080", "172.18.0.3:8080", "http://127.0.0.1:8080", "this machine alone"},
		{"through a proxy on this machine", "", "book.example", "127.0.0.1:8080", "http://127.0.0.1:8080", "this machine alone"},
		{"a forged name", "", "evil.example", lan, "http://192.168.1.20:8080", "may be another's"},
		{"a name that somebody directs here", "", "evil.example:8080", lan, "http://192.168.1.20:8080", "may be another's"},
		{"a name that begins as this machine's", "", name + ".evil.example:8080", lan, "http://192.168.1.20:8080", "may be another's"},
		{"another port of this machine", "", "192.168.1.20:8081", lan, "http://192.168.1.20:8080", "may be another's"},
		{"another machine", "", "192.168.1.21:8080", lan, "http://192.168.1.20:8080", "may be another's"},
		{"a name with a password before it", "", name + ":8080@evil.example", lan, "http://192.168.1.20:8080", "may be another's"},
		{"a name with a path behind it", "", name + ":8080/evil", lan, "http://192.168.1.20:8080", "may be another's"},
		{"a name with a quote in it", "", `"><script>`, lan, "http://192.168.1.20:8080", "may be another's"},
		{"no name", "", "", lan, "http://192.168.1.20:8080", "may be another's"},
		{"an address with a zone", "", "[fe80::1%25eth0]:8080", "[fe80::1%eth0]:8080", "http://127.0.0.1:8080", "this machine alone"},
	} {
		s := &Service{Config: Config{PublicURL: c.public}}
		local, err := net.ResolveTCPAddr("tcp", c.local)
		if err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequest(http.MethodGet, "/", nil).WithContext(context.WithValue(t.Context(), http.LocalAddrContextKey, net.Addr(local)))
		r.Host = c.host
		r.Header.Set("X-Forwarded-Host", "evil.example")
		r.Header.Set("X-Forwarded-Proto", "https")
		got := s.AddressFor(echo.New().NewContext(r, httptest.NewRecorder()))
		if caution := got.Caution.In(message.English{}); got.Base != c.want || !strings.Contains(caution, c.caution) || (c.caution == "") != (caution == "") || strings.Contains(caution, "evil") {
			t.Errorf("%s, %q at %s: %s (%s), want %s (%s)", c.why, c.host, c.local, got.Base, caution, c.want, c.caution)
		}
		r.TLS = &tls.ConnectionState{}
		if got = s.AddressFor(echo.New().NewContext(r, httptest.NewRecorder())); !strings.HasPrefix(got.Base, "https://") {
			t.Errorf("%s, over TLS: %s", c.why, got.Base)
		}
	}
}
