package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"slices"
	"strconv"
	"time"

	"github.com/pion/logging"
	"github.com/pion/mdns/v2"
	"golang.org/x/net/ipv4"
	"golang.org/x/net/ipv6"
)

// notAnnounced is the name of a service that devices do not find by one.
const notAnnounced = "off"

func (s serviceSettings) checkName() error {
	if s.Name != "" && s.Name != notAnnounced && s.Name != hostLabel(s.Name) {
		return fmt.Errorf("--mdns is %q; a name has letters from a to z, digits and hyphens, as honey-shed, and devices find honey-shed.local then", s.Name)
	}
	return nil
}

// thisMachine is the machine as devices on the network find it.
func (s serviceSettings) thisMachine() machine {
	m := thisMachine()
	if m.unannounced = s.Name == notAnnounced; s.Name != "" && !m.unannounced {
		m.name = s.Name
	}
	return m
}

// announce answers who asks the local network for this machine by its name, by multicast DNS
// (RFC 6762), and tells of the service and its port (RFC 6763), until ctx ends. A network that
// forbids it loses nothing else.
func announce(ctx context.Context, here func() machine, port string, secure bool, log *slog.Logger) {
	var was machine
	var answering *mdns.Conn
	stop := func() {
		if answering != nil {
			_ = answering.Close() // the network may be gone
			answering = nil
		}
	}
	defer stop()
	again := time.NewTicker(lookEvery)
	defer again.Stop()
	for {
		// The library takes the network as it is when it begins.
		if is := here(); !is.same(was) {
			stop()
			var err error
			if answering, err = answerFor(is, port, secure); err != nil {
				log.Info("devices do not find this machine by its name; they do by its address", "error", err)
			} else {
				log.Info("devices find this machine by its name", "name", is.name+".local")
			}
			was = is
		}
		select {
		case <-ctx.Done():
			return
		case <-again.C:
		}
	}
}

// answerFor begins to answer questions for a machine's name.
func answerFor(m machine, port string, secure bool) (*mdns.Conn, error) {
	number, err := strconv.ParseUint(port, 10, 16)
	if err != nil {
		return nil, err
	}
	if len(m.interfaces) == 0 {
		return nil, errors.New("the machine is on no network")
	}
	var four *ipv4.PacketConn
	var six *ipv6.PacketConn
	l4, err4 := listenMulticast("udp4", mdns.DefaultAddressIPv4)
	if err4 == nil {
		four = ipv4.NewPacketConn(l4)
	}
	l6, err6 := listenMulticast("udp6", mdns.DefaultAddressIPv6)
	if err6 == nil {
		six = ipv6.NewPacketConn(l6)
	}
	if four == nil && six == nil {
		return nil, errors.Join(err4, err6)
	}
	service := mdns.ServiceInstance{Instance: "pullbook on " + m.name, Service: "_http._tcp", Port: uint16(number)}
	if secure {
		service.Service = "_https._tcp"
	}
	server, err := mdns.NewServer(four, six, mdns.WithInterfaces(m.interfaces...), mdns.WithLocalNames(m.name+".local"), mdns.WithService(service),
		mdns.WithLoggerFactory(&logging.DefaultLoggerFactory{Writer: io.Discard, DefaultLogLevel: logging.LogLevelDisabled}))
	if err != nil {
		for _, l := range []*net.UDPConn{l4, l6} {
			if l != nil {
				l.Close()
			}
		}
	}
	return server, err
}

func listenMulticast(network, address string) (*net.UDPConn, error) {
	at, err := net.ResolveUDPAddr(network, address)
	if err != nil {
		return nil, err
	}
	return net.ListenUDP(network, at)
}

// isBeyond reports whether other machines reach one of the addresses.
func isBeyond(listeners []net.Listener) bool {
	return slices.ContainsFunc(listeners, func(l net.Listener) bool {
		at, ok := l.Addr().(*net.TCPAddr)
		return ok && !at.IP.IsLoopback()
	})
}
