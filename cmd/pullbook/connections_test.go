package main

import (
	"net"
	"net/netip"
	"testing"
	"time"
)

func TestOneNetworkHasOnlyItsShareOfConnections(t *testing.T) {
	t.Parallel()
	inner, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l := bounded(inner, []netip.Prefix{netip.MustParsePrefix("127.0.0.9/32")})
	t.Cleanup(func() { l.Close() })
	accepted := make(chan net.Conn, mostConnections)
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			accepted <- c
		}
	}()
	dial := func(from string) net.Conn {
		t.Helper()
		c, err := (&net.Dialer{LocalAddr: &net.TCPAddr{IP: net.ParseIP(from)}}).Dial("tcp", inner.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		return c
	}
	open := func(c net.Conn) bool {
		t.Helper()
		_ = c.SetReadDeadline(time.Now().Add(300 * time.Millisecond))
		_, err := c.Read(make([]byte, 1))
		timeout, ok := err.(net.Error)
		return ok && timeout.Timeout()
	}
	for range mostFromOne {
		dial("127.0.0.2")
	}
	for range mostFromOne {
		<-accepted
	}
	if open(dial("127.0.0.2")) {
		t.Error("one more from the same address is taken")
	}
	for _, address := range []string{"127.0.0.3", "127.0.0.9"} {
		if !open(dial(address)) {
			t.Errorf("a connection from %s is closed", address)
		}
		c := <-accepted
		c.Close()
		c.Close() // twice gives one place back
	}
	l.mu.Lock()
	all := l.all
	l.mu.Unlock()
	if all != mostFromOne {
		t.Errorf("%d connections are counted", all)
	}
}
