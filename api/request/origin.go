package request

import (
	"cmp"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// newCrossOrigin makes the check of where a form comes from. The address under which
// others reach the service counts as its own, also where a proxy asks for another.
func newCrossOrigin(publicURL string) (*http.CrossOriginProtection, error) {
	check := http.NewCrossOriginProtection()
	if publicURL == "" {
		return check, nil
	}
	return check, check.AddTrustedOrigin(originOf(publicURL))
}

// fromHere refuses what another site had a browser send. A browser says where a
// request comes from in Sec-Fetch-Site, which it sends only over HTTPS and to its own
// machine, else in Origin, and the oldest only in Referer. What says nothing was not
// sent by another site: a program sent it, or a browser from a page of this service.
//
// The pages need Referrer-Policy same-origin for this. Under no-referrer a browser
// hides the origin of the service's own forms too.
func (s *Service) fromHere(ctx echo.Context) error {
	r := ctx.Request()
	switch r.Method {
	case http.MethodGet, http.MethodHead, http.MethodOptions:
		return nil
	}
	site, from := r.Header.Get("Sec-Fetch-Site"), originOf(cmp.Or(r.Header.Get("Origin"), r.Referer()))
	scheme, _, _ := strings.Cut(from, "://")
	_, host, _ := strings.Cut(originOf(scheme+"://"+r.Host), "://")
	asked := &http.Request{Method: r.Method, Host: host, Header: http.Header{"Sec-Fetch-Site": {site}, "Origin": {from}}}
	err := s.crossOrigin.Check(asked)
	switch {
	case site == "" && from == hiddenOrigin:
		return errHidden
	// Whoever can write into pages that go over plain HTTP must not reach what is
	// served over HTTPS.
	case err != nil, site == "" && scheme == "http" && ctx.Scheme() == "https":
		return elsewhere(from, ctx.Scheme()+"://"+r.Host)
	}
	return nil
}

// fromOwnPage reports whether a page of this service sent a request. A browser says so
// in Sec-Fetch-Site; over plain HTTP from another machine it says it in Origin or
// Referer alone.
func (s *Service) fromOwnPage(r *http.Request) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" {
		return site == "same-origin"
	}
	from := originOf(cmp.Or(r.Header.Get("Origin"), r.Referer()))
	scheme, _, told := strings.Cut(from, "://")
	return told && (from == originOf(scheme+"://"+r.Host) || from == originOf(s.PublicURL))
}

// hiddenOrigin is what browsers send for an origin that they do not tell.
const hiddenOrigin = "null"

// originOf is the origin of an address, as browsers write it: in small letters, and
// without the scheme's usual port. It is empty for no address, and hidden for one
// without a host.
func originOf(address string) string {
	if address == "" {
		return ""
	}
	u, err := url.Parse(address)
	if err != nil || u.Host == "" {
		return hiddenOrigin
	}
	host := strings.ToLower(u.Host)
	return u.Scheme + "://" + strings.TrimSuffix(host, map[string]string{"http": ":80", "https": ":443"}[u.Scheme])
}

var errHidden = fault.New(fault.NotYours, "The browser did not say which page this form was sent from, so that another site could have sent it: nothing was changed. Please open the page again and send the form from there. If it is refused again, a setting or an add-on of the browser hides where forms come from; allow the referrer for this address.")

// elsewhere refuses a form that came from one address to another.
func elsewhere(from, to string) error {
	return fault.New(fault.NotYours, "This form was sent from another site; it has to be sent from this one. It came from %s and reached the service as %s, so nothing was changed. If both are this service, whoever runs it gives the first as --public-url, or has the proxy in front pass on the Host that was asked for.",
		message.Shortened(from, longestOrigin), message.Shortened(to, longestOrigin))
}

// longestOrigin is as much of an address as a message needs, in characters.
const longestOrigin = 100
