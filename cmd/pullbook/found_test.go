package main

import (
	"context"
	"net"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/pion/mdns/v2"
	"golang.org/x/net/ipv4"
)

// asking is somebody on the local network who asks for names.
func asking(t *testing.T) *mdns.Conn {
	t.Helper()
	l, err := listenMulticast("udp4", mdns.DefaultAddressIPv4)
	if err != nil {
		t.Fatal(err)
	}
	c, err := mdns.NewServer(ipv4.NewPacketConn(l), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Close() })
	return c
}

func TestAMachineIsFoundByItsName(t *testing.T) {
	t.Parallel()
	name := "hive-" + uuid.NewString()[:8]
	p := launch(t, "serve", "--data", blank(t), "--addr", "0.0.0.0:0", "--mdns", name)
	p.await(t, "devices find this machine by its name")
	p.await(t, "pullbook serves on ")
	port := p.base[strings.LastIndex(p.base, ":")+1:]
	who := asking(t)
	found := make(chan mdns.ServiceEvent, 64)
	who.OnServiceDiscovered(func(e mdns.ServiceEvent) {
		select {
		case found <- e:
		default:
		}
	})
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	_, address, err := who.QueryAddr(ctx, name+".local")
	if err != nil {
		t.Fatalf("nobody answers to %s.local: %v", name, err)
	}
	if !ofThisMachine(t, address) {
		t.Errorf("%s.local is at %s, which is not this machine", name, address)
	}
	if err := who.Browse(ctx, "_http._tcp"); err != nil {
		t.Fatal(err)
	}
	for {
		select {
		case e := <-found:
			if e.Instance.Instance != "pullbook on "+name {
				continue // another's on this network
			}
			if got := e.Instance; got.Host != name+".local." || strconv.Itoa(int(got.Port)) != port {
				t.Errorf("the service is said to be at %s:%d, and is at port %s", got.Host, got.Port, port)
			}
		case <-ctx.Done():
			t.Error("the service is not told of")
		}
		break
	}
	p.stop(t)
	gone, cancel := context.WithTimeout(t.Context(), 3*time.Second)
	defer cancel()
	if _, at, err := asking(t).QueryAddr(gone, name+".local"); err == nil {
		t.Errorf("a service that was stopped is found at %s", at)
	}
}

func ofThisMachine(t *testing.T, address netip.Addr) bool {
	t.Helper()
	all, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	return slices.ContainsFunc(all, func(a net.Addr) bool {
		n, err := netip.ParsePrefix(a.String())
		return err == nil && n.Addr() == address.WithZone("")
	})
}

// A machine that is on no network serves all the same.
func TestANetworkThatForbidsItLosesNothingElse(t *testing.T) {
	t.Parallel()
	if _, err := answerFor(machine{name: "hive"}, "8080", true); err == nil {
		t.Error("a machine on no network is announced")
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() {
		announce(ctx, func() machine { return machine{name: "hive"} }, "8080", true, quiet)
		close(ended)
	}()
	cancel()
	<-ended
}

func TestANameThatNobodyFindsIsRefused(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"Honey Shed", "hive.local", "-", "ü"} {
		if err := (serviceSettings{Name: name}).checkName(); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%q: %v", name, err)
		}
	}
	for name, want := range map[string]string{"": thisMachine().host, "honey-shed": "honey-shed", "off": thisMachine().host} {
		if m := (serviceSettings{Name: name}).thisMachine(); m.name != want || m.unannounced != (name == "off") {
			t.Errorf("%q: %q, announced nothing: %v", name, m.name, m.unannounced)
		}
	}
}

func TestWhatIsNotAnnouncedIsReachedByItsAddress(t *testing.T) {
	t.Parallel()
	at, here := time.Now(), hive("192.168.7.20")
	here.host, here.unannounced = "vat", true
	o := own(t, t.TempDir(), &at, here)
	if got := o.own()().Hosts; !slices.Equal(got, []string{"192.168.7.20:8080"}) {
		t.Errorf("devices are told of %q", got)
	}
	for _, name := range []string{"hive.local", "vat.local", "vat.lan"} {
		if err := o.must(t).VerifyHostname(name); err != nil {
			t.Error(err)
		}
	}
}
