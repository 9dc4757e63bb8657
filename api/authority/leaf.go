package authority

import (
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// leafLife is how long a machine's own certificate lasts, at most. Devices refuse more than
// 825 days also of private authorities (from memory), and more than 398 of public ones
// (CA/Browser Forum, ballot SC31, since 2020).
const leafLife = 397 * 24 * time.Hour

// Permits reports whether the authority may vouch for a name.
func Permits(name string) bool {
	return slices.ContainsFunc(Domains, func(domain string) bool {
		return name == domain && domain == "localhost" || len(name) > len(domain)+1 && strings.HasSuffix(name, "."+domain)
	})
}

// PermitsAddress reports whether the authority may vouch for an address.
func PermitsAddress(a netip.Addr) bool {
	return slices.ContainsFunc(Networks, func(network netip.Prefix) bool { return network.Contains(a.Unmap().WithZone("")) })
}

// ErrNothing is of a machine that has no name and no address to vouch for.
var ErrNothing = errors.New("the authority vouches for names that end in .local, .lan, .home.arpa or .internal and for addresses of private networks, and none was given")

// Leaf makes a certificate for those names and addresses that the authority may vouch for; the
// others are left out. It begins a day before now and ends 397 days later, or with the authority.
func (a *Authority) Leaf(names []string, addresses []netip.Addr, now time.Time) (*tls.Certificate, error) {
	c := &x509.Certificate{
		NotBefore: now.Add(-early), NotAfter: now.Add(leafLife - early),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true,
	}
	for _, name := range names {
		if Permits(name) {
			c.DNSNames = append(c.DNSNames, name)
		}
	}
	for _, address := range addresses {
		if PermitsAddress(address) {
			c.IPAddresses = append(c.IPAddresses, address.Unmap().WithZone("").AsSlice())
		}
	}
	switch {
	case len(c.DNSNames) > 0:
		c.Subject = pkix.Name{CommonName: c.DNSNames[0]}
	case len(c.IPAddresses) > 0:
		c.Subject = pkix.Name{CommonName: c.IPAddresses[0].String()}
	default:
		return nil, ErrNothing
	}
	return a.leaf(c)
}

// leaf signs a certificate, whatever it says.
func (a *Authority) leaf(c *x509.Certificate) (*tls.Certificate, error) {
	if a.Issuer.NotAfter.Before(c.NotAfter) {
		c.NotAfter = a.Issuer.NotAfter
	}
	if a.Issuer.NotBefore.After(c.NotBefore) {
		c.NotBefore = a.Issuer.NotBefore
	}
	key, err := newKey()
	if err != nil {
		return nil, err
	}
	leaf, err := signed(c, a.Issuer, key.Public(), a.key)
	if err != nil {
		return nil, err
	}
	return &tls.Certificate{Certificate: [][]byte{leaf.Raw, a.Issuer.Raw}, PrivateKey: key, Leaf: leaf}, nil
}

// RenewAt is when a certificate is made anew: when a third of its life is left.
func RenewAt(leaf *x509.Certificate) time.Time {
	return leaf.NotAfter.Add(-leaf.NotAfter.Sub(leaf.NotBefore) / 3)
}
