package main

import (
	"errors"
	"net"
	"sync"
	"syscall"
	"time"
)

// splitListener tells connections that begin with TLS from those in plain HTTP, so that
// one address serves both: who types no https:// is led to it.
type splitListener struct {
	net.Listener
	secure, plain chan net.Conn
	ended         chan struct{}
	end           sync.Once
	err           error
}

// split gives what comes to a listener in two. Closing one of them closes all.
func split(l net.Listener) (secure, plain net.Listener) {
	s := &splitListener{Listener: l, secure: make(chan net.Conn), plain: make(chan net.Conn), ended: make(chan struct{})}
	go s.accept()
	return half{s, s.secure}, half{s, s.plain}
}

const (
	// firstByteWithin is how long a connection may say nothing.
	firstByteWithin = 10 * time.Second
	// tlsHandshake is the first byte of TLS (RFC 8446, 5.1); HTTP begins with a letter.
	tlsHandshake = 0x16
	// acceptAgain is how long there is to wait where the system has no file to open.
	acceptAgain = 50 * time.Millisecond
)

func (s *splitListener) accept() {
	for {
		c, err := s.Listener.Accept()
		switch {
		case err == nil:
			go s.sort(c)
		case isOutOfFiles(err):
			time.Sleep(acceptAgain)
		default:
			s.close(err)
			return
		}
	}
}

// sort reads the first byte of a connection, and hands it to those who serve such.
func (s *splitListener) sort(c net.Conn) {
	first := make([]byte, 1)
	if c.SetReadDeadline(time.Now().Add(firstByteWithin)) != nil {
		c.Close()
		return
	}
	if n, err := c.Read(first); n == 0 || err != nil || c.SetReadDeadline(time.Time{}) != nil {
		c.Close()
		return
	}
	to := s.plain
	if first[0] == tlsHandshake {
		to = s.secure
	}
	select {
	case to <- &begunConn{Conn: c, first: first}:
	case <-s.ended:
		c.Close()
	}
}

func (s *splitListener) close(err error) (closed error) {
	s.end.Do(func() {
		s.err = err
		close(s.ended)
		closed = s.Listener.Close()
	})
	return closed
}

// half is one sort of a split listener's connections.
type half struct {
	*splitListener
	conns chan net.Conn
}

func (h half) Accept() (net.Conn, error) {
	select {
	case c := <-h.conns:
		return c, nil
	case <-h.ended:
		return nil, h.err
	}
}

func (h half) Close() error { return h.close(net.ErrClosed) }

// begunConn is a connection of which a byte was read.
type begunConn struct {
	net.Conn
	first []byte
}

func (c *begunConn) Read(p []byte) (int, error) {
	if len(c.first) == 0 || len(p) == 0 {
		return c.Conn.Read(p)
	}
	n := copy(p, c.first)
	c.first = c.first[n:]
	return n, nil
}

func isOutOfFiles(err error) bool {
	return errors.Is(err, syscall.EMFILE) || errors.Is(err, syscall.ENFILE)
}
