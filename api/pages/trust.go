package pages

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
	"rsc.io/qr"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/domain/fault"
)

func (p *pages) routeTrust(e *echo.Echo, m ...echo.MiddlewareFunc) {
	e.GET(request.TrustPath, p.trustPage, m...)
	e.GET(request.RootPath, p.rootCertificate)
}

// trustView tells a device how to trust the machine.
type trustView struct {
	// Secure is where the page came over HTTPS: the device trusts the machine.
	Secure      bool
	Name, Until string
	Fingerprint []string
	// Kind is the sort of device that asks: android, ios or computer.
	Kind string
	// Hosts are those by which HTTPS is reached; On begins the address to go on by.
	Hosts []string
	On    string
	Codes []trustCode
}

// trustCode is an address of this page for the cameras of other devices.
type trustCode struct {
	Address string
	QR      template.URL
}

// mostCodes are shown; the rest of the addresses are listed.
const mostCodes = 2

func (p *pages) trustPage(ctx echo.Context) error {
	if p.Own == nil {
		return errNoAuthority
	}
	own := p.Own()
	v := trustView{
		Secure: ctx.Scheme() == "https", Name: own.Name, Until: locale.NewVoice(request.LanguageOf(ctx), "", time.UTC).Day(own.Until),
		Kind: kindOfDevice(ctx.Request().UserAgent()), Hosts: own.Hosts, On: "https://" + own.Hosts[0],
	}
	if asked := ctx.Request().Host; slices.Contains(own.Hosts, asked) {
		v.On = "https://" + asked // it opens on this device
	}
	for group := range slices.Chunk(strings.Split(own.Fingerprint, ":"), 4) {
		v.Fingerprint = append(v.Fingerprint, strings.Join(group, ":"))
	}
	for _, host := range own.Hosts[:min(len(own.Hosts), mostCodes)] {
		code, err := qr.Encode("http://"+host+request.TrustPath, qr.M)
		if err != nil {
			return fmt.Errorf("QR code of %s: %w", host, err)
		}
		v.Codes = append(v.Codes, trustCode{
			"http://" + host + request.TrustPath,
			template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(code.PNG())),
		})
	}
	// Its script asks each of the addresses whether the device trusts it. A policy has no way of
	// writing those of IPv6.
	policy := ctx.Response().Header().Get(echo.HeaderContentSecurityPolicy)
	ctx.Response().Header().Set(echo.HeaderContentSecurityPolicy, strings.Replace(policy, "connect-src 'self'", "connect-src 'self' https:", 1))
	return p.barePage(ctx, "trust.html", v)
}

// barePage is a page without what leads to others: beyond the machine itself they are not
// there over plain HTTP.
func (p *pages) barePage(ctx echo.Context, name string, view any) error {
	t := request.LanguageOf(ctx)
	var body bytes.Buffer
	out := screen{View: view, Tag: t.Tag(), Languages: request.LanguageChoices(t)}
	if err := p.templates[t.Lang][name].ExecuteTemplate(&body, "bare", out); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	return sendPage(ctx, http.StatusOK, body.Bytes())
}

// rootCertificate is what a device is told to trust. By this media type and ending, devices
// know it for what it is.
func (p *pages) rootCertificate(ctx echo.Context) error {
	if p.Own == nil {
		return errNoAuthority
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	return ctx.Blob(http.StatusOK, "application/x-x509-ca-cert", p.Own().Root)
}

var errNoAuthority error = fault.New(fault.NotFound, "This machine is not its own authority: `pullbook serve --tls own` makes it one.")

// kindOfDevice is what a browser says of the device; tablets may say that they are computers.
func kindOfDevice(agent string) string {
	switch {
	case strings.Contains(agent, "Android"):
		return "android"
	case strings.Contains(agent, "iPhone"), strings.Contains(agent, "iPad"):
		return "ios"
	}
	return "computer"
}
