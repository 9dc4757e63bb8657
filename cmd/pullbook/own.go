package main

import (
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"pullbook/api/authority"
	"pullbook/api/request"
)

// authorityFile is the authority in its folder, with its key.
const authorityFile = "authority.pem"

// lookEvery is how often it is looked at whether the machine's names and addresses, and the
// authority's file, are what they were.
const lookEvery = time.Minute

// ownCertificates are certificates of this machine's own authority. They are in memory alone:
// each start makes one, and so does a change of the machine's names and addresses.
type ownCertificates struct {
	file, port string
	log        *slog.Logger
	// now is the clock, and here what the machine is called and reached by.
	now  func() time.Time
	here func() machine

	mu        sync.Mutex
	authority *authority.Authority
	stamp     string
	leaf      *tls.Certificate
	// of is what the certificate was made for, looked when that was compared last.
	of     machine
	looked time.Time
}

// openOwn reads the authority in a folder, and makes one where there is none.
func openOwn(folder, port string, here func() machine, log *slog.Logger) (*ownCertificates, error) {
	o := &ownCertificates{file: filepath.Join(folder, authorityFile), port: port, log: log, now: time.Now, here: here}
	return o, o.open()
}

func (o *ownCertificates) open() error {
	made, err := readAuthority(o.file)
	if errors.Is(err, fs.ErrNotExist) {
		if made, err = newAuthority(o.file, o.here().name, o.now()); err == nil {
			o.log.Info("this machine's own authority was made", "file", o.file, "fingerprint", made.Fingerprint())
		}
	}
	if err != nil {
		return err
	}
	o.authority, o.stamp = made, stampOf(o.file)
	if err := made.GoodAt(o.now()); err != nil {
		return err
	}
	_, err = o.current(netip.Addr{})
	return err
}

// readAuthority reads an authority. A key that others may read is nobody's secret.
func readAuthority(file string) (*authority.Authority, error) {
	info, err := os.Stat(file)
	if err != nil {
		return nil, err
	}
	if mode := info.Mode().Perm(); runtime.GOOS != "windows" && mode&0o077 != 0 {
		return nil, fmt.Errorf("the key of this machine's authority, %s, can be read by others (mode %04o). If nobody did, `chmod 600 %s` closes it; otherwise make another with `pullbook authority new`", file, mode, file)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	a, err := authority.Parse(text)
	if err != nil {
		return nil, fmt.Errorf("%s is no authority of this program: %w. `pullbook authority new` makes another, which each device has to be told of", file, err)
	}
	return a, nil
}

// newAuthority makes an authority and keeps it in a file that its account alone may read, in
// a folder that its account alone may enter. What the file held before is gone.
func newAuthority(file, name string, now time.Time) (*authority.Authority, error) {
	a, err := authority.New(name, now)
	if err != nil {
		return nil, err
	}
	text, err := a.Marshal()
	if err != nil {
		return nil, err
	}
	folder := filepath.Dir(file)
	if err := os.MkdirAll(filepath.Dir(folder), 0o755); err != nil {
		return nil, err
	}
	switch err := os.Mkdir(folder, 0o700); {
	case err == nil:
		if err := belongsAs(folder, filepath.Dir(folder)); err != nil {
			return nil, err
		}
	case !errors.Is(err, fs.ErrExist):
		return nil, err
	}
	if err := writeWhole(file, func(w io.Writer) error { _, err := w.Write(text); return err }); err != nil {
		return nil, err
	}
	return a, belongsAs(file, folder)
}

// machine is what a machine is called and reached by on its network.
type machine struct {
	// host is the first part of the machine's own name, name that by which devices are to
	// find it.
	host, name string
	// unannounced is where nothing tells devices of the name.
	unannounced bool
	// interfaces are those that lead to a network.
	interfaces []net.Interface
	// addresses are those that other machines on the network reach it by, the likeliest first.
	addresses []netip.Addr
}

func (m machine) same(other machine) bool {
	return m.name == other.name && m.host == other.host && slices.Equal(m.addresses, other.addresses)
}

// names are all that devices may call the machine, multicast DNS's first.
func (m machine) names() (all []string) {
	for _, name := range slices.Compact([]string{m.name, m.host}) {
		for _, domain := range authority.Domains {
			if domain != "localhost" {
				all = append(all, name+"."+domain)
			}
		}
	}
	return append(all, "localhost")
}

// thisMachine asks the system.
func thisMachine() machine {
	host, _ := os.Hostname() // a machine without a name has the program's
	m := machine{host: hostLabel(host), name: hostLabel(host)}
	outward := outwardAddress()
	interfaces, _ := net.Interfaces() // none is found where the system tells none
	for _, i := range interfaces {
		if i.Flags&net.FlagUp == 0 || i.Flags&net.FlagLoopback != 0 {
			continue
		}
		m.interfaces = append(m.interfaces, i)
		addresses, _ := i.Addrs() // those of an interface that is gone again
		for _, a := range addresses {
			if network, err := netip.ParsePrefix(a.String()); err == nil && authority.PermitsAddress(network.Addr()) {
				m.addresses = append(m.addresses, network.Addr().Unmap().WithZone(""))
			}
		}
	}
	rank := func(a netip.Addr) int {
		switch {
		case a == outward:
			return 0
		case a.IsLinkLocalUnicast():
			return 3
		case a.Is4():
			return 1
		}
		return 2
	}
	slices.SortFunc(m.addresses, func(a, b netip.Addr) int {
		if by := rank(a) - rank(b); by != 0 {
			return by
		}
		return a.Compare(b)
	})
	m.addresses = slices.Compact(m.addresses)
	return m
}

// hostLabel is the first part of a machine's name, as multicast DNS has it.
func hostLabel(host string) string {
	label, _, _ := strings.Cut(strings.ToLower(host), ".")
	label = strings.Trim(strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '-'
	}, label), "-")
	if label == "" || label == "localhost" || len(label) > 63 {
		return "pullbook"
	}
	return label
}

// outwardAddress is the address by which the machine reaches others, where it has a way out.
// Nothing is sent: a datagram's socket only asks which way there is.
func outwardAddress() netip.Addr {
	c, err := net.Dial("udp4", "192.0.2.1:9") // of TEST-NET-1 (RFC 5737), which is nobody's
	if err != nil {
		return netip.Addr{}
	}
	defer c.Close()
	return c.LocalAddr().(*net.UDPAddr).AddrPort().Addr().Unmap()
}

func (o *ownCertificates) config() *tls.Config {
	return &tls.Config{GetCertificate: func(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
		reached := netip.Addr{}
		if local, ok := hello.Conn.LocalAddr().(*net.TCPAddr); ok {
			reached = local.AddrPort().Addr().Unmap().WithZone("")
		}
		return o.current(reached)
	}}
}

// current is the certificate for devices that reached the machine by an address. It is made
// anew where the machine has other names or addresses than it was made for, where a third of
// its life is left, and where the authority is another.
func (o *ownCertificates) current(reached netip.Addr) (*tls.Certificate, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	now := o.now()
	unknown := reached.IsValid() && !reached.IsLoopback() && authority.PermitsAddress(reached) && !slices.Contains(o.of.addresses, reached)
	if since := now.Sub(o.looked); o.leaf != nil && since >= 0 && since < lookEvery && !(unknown && since >= time.Second) {
		return o.leaf, nil
	}
	o.looked = now
	another := o.readAgain()
	here := o.here()
	if unknown && !slices.Contains(here.addresses, reached) {
		here.addresses = append(here.addresses, reached) // of an interface that the system does not list
	}
	if !another && o.leaf != nil && here.same(o.of) && now.Before(authority.RenewAt(o.leaf.Leaf)) && now.After(o.leaf.Leaf.NotBefore) {
		return o.leaf, nil
	}
	loopback := []netip.Addr{netip.AddrFrom4([4]byte{127, 0, 0, 1}), netip.IPv6Loopback()}
	leaf, err := o.authority.Leaf(here.names(), slices.Concat(here.addresses, loopback), now)
	if err != nil {
		return nil, err
	}
	o.leaf, o.of = leaf, here
	o.log.Info("a certificate was made", "names", leaf.Leaf.DNSNames, "addresses", here.addresses, "until", leaf.Leaf.NotAfter)
	return leaf, nil
}

// readAgain reads the authority where its file has changed, and reports whether it is another.
func (o *ownCertificates) readAgain() bool {
	stamp := stampOf(o.file)
	if stamp == o.stamp {
		return false
	}
	read, err := readAuthority(o.file)
	if err != nil {
		o.log.Warn("this machine's authority has changed and cannot be read; the one before is served", "error", err)
		return false
	}
	o.stamp, o.authority = stamp, read
	o.log.Info("this machine's authority was read again", "fingerprint", read.Fingerprint())
	return true
}

// own is what devices have to know of the authority, as it stands when they ask.
func (o *ownCertificates) own() func() request.OwnAuthority {
	return func() request.OwnAuthority {
		if _, err := o.current(netip.Addr{}); err != nil {
			o.log.Warn("no certificate could be made", "error", err)
		}
		o.mu.Lock()
		defer o.mu.Unlock()
		own := request.OwnAuthority{
			Root: o.authority.Root.Raw, Name: o.authority.Root.Subject.CommonName, Fingerprint: o.authority.Fingerprint(), Until: o.authority.Root.NotAfter,
		}
		if !o.of.unannounced || len(o.of.addresses) == 0 {
			own.Hosts = append(own.Hosts, request.HostAt(o.of.name+".local", o.port))
		}
		for _, address := range o.of.addresses {
			if !address.IsLinkLocalUnicast() || address.Is4() { // one of IPv6 says nothing without its zone
				own.Hosts = append(own.Hosts, request.HostAt(address.String(), o.port))
			}
		}
		return own
	}
}

func (o *ownCertificates) challenges(next http.Handler) http.Handler { return next }
func (o *ownCertificates) begin()                                    {}
