package deliver

import (
	"context"
	"errors"
	"net"
	"net/netip"
	"syscall"
	"time"
)

// reach says where an outfit's mail server and web hooks may be. A manager may name any
// machine of the internet and of the local network. The service's own machine is out of reach,
// by whatever name or address, and so are addresses of the link alone, which lead to the
// private services of clouds. The operator can permit networks of it.
type reach struct {
	permitted []netip.Prefix
	// own returns the machine's addresses.
	own func() ([]net.Addr, error)
}

var (
	errOwnMachine = errors.New("it leads to the service's own machine, or to nobody")
	errInTheClear = errors.New("plain HTTP leads out of the local network")
)

// dialWithin bounds how long a connection may take to come about.
const dialWithin = 5 * time.Second

// dialer connects to what may be reached. It looks at the address that a name led to, at the
// moment of connecting: what the name leads to at another moment does not matter. private
// permits the local network alone.
func (r reach) dialer(private bool) func(context.Context, string, string) (net.Conn, error) {
	d := &net.Dialer{Timeout: dialWithin, ControlContext: func(_ context.Context, _, address string, _ syscall.RawConn) error {
		at, err := netip.ParseAddrPort(address)
		if err != nil {
			return err
		}
		return r.check(at.Addr(), private)
	}}
	return d.DialContext
}

func (r reach) check(a netip.Addr, private bool) error {
	a = a.Unmap().WithZone("")
	for _, p := range r.permitted {
		if p.Contains(a) {
			return nil
		}
	}
	if !a.IsValid() || a.IsUnspecified() || a.IsLoopback() || a.IsLinkLocalUnicast() || a.IsMulticast() || a == broadcast {
		return errOwnMachine
	}
	own, err := r.own()
	if err != nil {
		return err
	}
	for _, o := range own {
		if n, is := o.(*net.IPNet); is {
			if is, ok := netip.AddrFromSlice(n.IP); ok && is.Unmap() == a {
				return errOwnMachine
			}
		}
	}
	if private && !a.IsPrivate() {
		return errInTheClear
	}
	return nil
}

var broadcast = netip.AddrFrom4([4]byte{255, 255, 255, 255})
