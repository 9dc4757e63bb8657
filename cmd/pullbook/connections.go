package main

import (
	"net"
	"net/netip"
	"slices"
	"sync"

	"pullbook/api/request"
)

const (
	// mostConnections bounds open connections, idle ones too, so that there are
	// always files to open; mostFromOne those of one network.
	mostConnections = 4096
	mostFromOne     = 1024
)

// boundedListener closes connections that are too many, in all or of one network, as
// soon as they come. A trusted proxy brings everybody's.
type boundedListener struct {
	net.Listener
	trusted []netip.Prefix

	mu   sync.Mutex
	all  int
	from map[string]int
}

func bounded(l net.Listener, trusted []netip.Prefix) *boundedListener {
	return &boundedListener{Listener: l, trusted: trusted, from: map[string]int{}}
}

func (l *boundedListener) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		from := l.network(c.RemoteAddr())
		if l.take(from) {
			return &boundedConn{Conn: c, left: sync.OnceFunc(func() { l.leave(from) })}, nil
		}
		c.Close()
	}
}

// network is whose a connection is; empty for a trusted proxy's.
func (l *boundedListener) network(remote net.Addr) string {
	at, err := netip.ParseAddrPort(remote.String())
	if err == nil && slices.ContainsFunc(l.trusted, func(p netip.Prefix) bool { return p.Contains(at.Addr().Unmap()) }) {
		return ""
	}
	return request.NetworkOf(remote.String())
}

func (l *boundedListener) take(from string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.all >= mostConnections || from != "" && l.from[from] >= mostFromOne {
		return false
	}
	l.all++
	l.from[from]++
	return true
}

func (l *boundedListener) leave(from string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.all--
	if l.from[from]--; l.from[from] == 0 {
		delete(l.from, from)
	}
}

type boundedConn struct {
	net.Conn
	left func()
}

func (c *boundedConn) Close() error {
	c.left()
	return c.Conn.Close()
}
