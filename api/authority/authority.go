// Package authority makes an outfit's own certificates, so that devices on its network
// reach the book over HTTPS without anybody outside. It has no I/O beside the system's
// randomness, and no clock.
package authority

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// Authority vouches for one machine on its local network. Devices trust its root. The
// root's key is forgotten as soon as it has signed the issuer: a verifier need not look at
// the constraints of a root (RFC 5280, 6.1.1), and must look at an issuer's. So whoever
// gets hold of all that is kept can vouch for names of private networks and for nothing else.
type Authority struct {
	Root, Issuer *x509.Certificate
	key          crypto.Signer
}

const (
	// life is of root and issuer. A new one means a walk to each device.
	life = 10 * 365 * 24 * time.Hour
	// early is how far a device's clock may be behind.
	early = 24 * time.Hour
)

// Domains are what names end in that the authority vouches for. None of them is delegated on
// the internet: local is multicast DNS (RFC 6762), home.arpa is for homes (RFC 8375), internal
// is reserved for private use (ICANN, 2024), lan is what many routers use (common practice). A
// machine's own name without a dot is not among them: it would cover all names under it, and some
// such names are domains of the internet, as farm is.
var Domains = []string{"local", "lan", "home.arpa", "internal", "localhost"}

// Networks are the addresses that it vouches for: those of private networks (RFC 1918, RFC
// 4193), of links (RFC 3927, RFC 4291) and of the machine itself.
var Networks = []netip.Prefix{
	netip.MustParsePrefix("10.0.0.0/8"), netip.MustParsePrefix("172.16.0.0/12"), netip.MustParsePrefix("192.168.0.0/16"),
	netip.MustParsePrefix("169.254.0.0/16"), netip.MustParsePrefix("127.0.0.0/8"),
	netip.MustParsePrefix("fc00::/7"), netip.MustParsePrefix("fe80::/10"), netip.MustParsePrefix("::1/128"),
}

// New makes an authority for the machine of that name, good for ten years from now.
func New(machine string, now time.Time) (*Authority, error) {
	mark := make([]byte, 3)
	if _, err := rand.Read(mark); err != nil {
		return nil, err
	}
	// People find it by this name in the settings of a device.
	name := fmt.Sprintf("pullbook of %s, %s (%X)", machine, now.Format(time.DateOnly), mark)
	rootKey, err := newKey()
	if err != nil {
		return nil, err
	}
	root := constrained(name, now)
	root.MaxPathLen = 1
	if root, err = signed(root, root, rootKey.Public(), rootKey); err != nil {
		return nil, err
	}
	key, err := newKey()
	if err != nil {
		return nil, err
	}
	issuer := constrained(name+" issuer", now)
	issuer.MaxPathLenZero = true
	issuer.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}
	if issuer, err = signed(issuer, root, key.Public(), rootKey); err != nil {
		return nil, err
	}
	return &Authority{Root: root, Issuer: issuer, key: key}, nil
}

// constrained is a certificate that vouches for others of private networks alone.
func constrained(name string, now time.Time) *x509.Certificate {
	c := &x509.Certificate{
		Subject:   pkix.Name{CommonName: name, Organization: []string{"pullbook"}},
		NotBefore: now.Add(-early), NotAfter: now.Add(life),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: Domains,
	}
	for _, network := range Networks {
		c.PermittedIPRanges = append(c.PermittedIPRanges, &net.IPNet{
			IP: network.Addr().AsSlice(), Mask: net.CIDRMask(network.Bits(), network.Addr().BitLen())})
	}
	return c
}

func newKey() (*ecdsa.PrivateKey, error) { return ecdsa.GenerateKey(elliptic.P256(), rand.Reader) }

// signed is a certificate as parent's key signs it; x509 chooses a random serial.
func signed(c, parent *x509.Certificate, public crypto.PublicKey, key crypto.Signer) (*x509.Certificate, error) {
	raw, err := x509.CreateCertificate(rand.Reader, c, parent, public, key)
	if err != nil {
		return nil, err
	}
	return x509.ParseCertificate(raw)
}

// The types of what Marshal writes.
const (
	pemCertificate = "CERTIFICATE"
	pemKey         = "PRIVATE KEY"
)

// Marshal writes an authority as PEM, its key too: root, issuer, key of the issuer.
func (a *Authority) Marshal() ([]byte, error) {
	key, err := x509.MarshalPKCS8PrivateKey(a.key)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	for _, block := range []pem.Block{{Type: pemCertificate, Bytes: a.Root.Raw}, {Type: pemCertificate, Bytes: a.Issuer.Raw}, {Type: pemKey, Bytes: key}} {
		if err := pem.Encode(&out, &block); err != nil {
			return nil, err
		}
	}
	return out.Bytes(), nil
}

// Parse reads what Marshal wrote. What does not fit together is an error.
func Parse(text []byte) (*Authority, error) {
	a := &Authority{}
	for _, where := range []**x509.Certificate{&a.Root, &a.Issuer} {
		block, rest := pem.Decode(text)
		if block == nil || block.Type != pemCertificate {
			return nil, errors.New("a certificate is missing: root, issuer and key stand in it, in this order, as PEM")
		}
		c, err := x509.ParseCertificate(block.Bytes)
		if err != nil {
			return nil, err
		}
		*where, text = c, rest
	}
	block, _ := pem.Decode(text)
	if block == nil || block.Type != pemKey {
		return nil, errors.New("the key is missing: root, issuer and key stand in it, in this order, as PEM")
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, err
	}
	signer, ok := key.(*ecdsa.PrivateKey)
	if !ok || !signer.PublicKey.Equal(a.Issuer.PublicKey) {
		return nil, errors.New("the key is another certificate's")
	}
	a.key = signer
	return a, a.Issuer.CheckSignatureFrom(a.Root)
}

// Fingerprint is the SHA-256 of the root, as devices show it: pairs of hexadecimal digits.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.Root.Raw)
	digits := strings.ToUpper(hex.EncodeToString(sum[:]))
	var pairs []string
	for pair := range slices.Chunk([]byte(digits), 2) {
		pairs = append(pairs, string(pair))
	}
	return strings.Join(pairs, ":")
}

// GoodAt returns an error where the authority is not good at now, by the machine's clock.
func (a *Authority) GoodAt(now time.Time) error {
	switch {
	case now.Before(a.Issuer.NotBefore):
		return fmt.Errorf("this machine's clock says %s, and its authority was made on %s: set the clock", now.Format(time.DateTime), a.Issuer.NotBefore.Add(early).Format(time.DateOnly))
	case now.After(a.Issuer.NotAfter):
		return fmt.Errorf("this machine's clock says %s, and its authority ended on %s: if the clock is right, `pullbook authority new` makes another, which each device has to be told of", now.Format(time.DateTime), a.Issuer.NotAfter.Format(time.DateOnly))
	}
	return nil
}
