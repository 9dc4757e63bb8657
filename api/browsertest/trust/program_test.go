package trust_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"pullbook/db/dbtest"
)

// binary is the program, built once, without what debuggers need: it is linked sooner.
var binary string

func TestMain(m *testing.M) { os.Exit(buildAndTest(m)) }

func buildAndTest(m *testing.M) int {
	dbtest.InMemory()
	dir, err := os.MkdirTemp("", "pullbook-trust-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	binary = filepath.Join(dir, "pullbook")
	if out, err := exec.Command("go", "build", "-ldflags=-w", "-o", binary, "pullbook/cmd/pullbook").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "the program does not build: %v\n%s", err, out)
		return 1
	}
	return m.Run()
}

// shed is the program on a machine of a local network.
type shed struct {
	t        *testing.T
	dir      string
	address  netip.Addr
	port     string
	name     string
	password string
	token    string

	cmd *exec.Cmd
	mu  sync.Mutex
	out bytes.Buffer
}

func (s *shed) Write(text []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.out.Write(text)
}

func (s *shed) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.out.String()
}

const outfit, manager = "Fern Gully Honey", "Mirren"

// newShed has an outfit with a manager, a tank and a refractometer, at an address that is not
// this machine's alone.
func newShed(t *testing.T) *shed {
	t.Helper()
	outer, err := os.MkdirTemp("", "pullbook-shed-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(outer) })
	if err := os.Chmod(outer, 0o711); err != nil { // PostgreSQL's account passes through
		t.Fatal(err)
	}
	s := &shed{t: t, dir: filepath.Join(outer, "book"), address: beyond(t), port: freePort(t)}
	host, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	s.name = strings.ToLower(strings.Split(host, ".")[0]) + ".local"
	if err := dbtest.Fresh(t.Context(), s.dir); err != nil {
		t.Fatal(err)
	}
	s.command("outfit", "add", outfit, "--time-zone", "America/Winnipeg")
	said := strings.Split(strings.TrimSpace(s.command("person", "add", manager, "--role", "manager")), "\n")
	s.password = said[len(said)-1]
	s.token = strings.TrimSpace(s.command("token", "add", manager))
	return s
}

// beyond is an address of this machine that other machines reach it by.
func beyond(t *testing.T) netip.Addr {
	t.Helper()
	all, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range all {
		if n, err := netip.ParsePrefix(a.String()); err == nil && n.Addr().Is4() && !n.Addr().IsLoopback() {
			return n.Addr()
		}
	}
	t.Fatal("This machine has no address of IPv4 beyond itself, by which to try what other devices get. Connect it to a network.")
	return netip.Addr{}
}

// freePort is a port that nobody has just now, so that the program can have it twice.
func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", ":0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	return port
}

// command runs the program to its end, and gives what it answers.
func (s *shed) command(args ...string) string {
	s.t.Helper()
	cmd := exec.CommandContext(s.t.Context(), binary, append(args, "--data", s.dir)...)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		s.t.Fatalf("pullbook %s: %v\n%s", strings.Join(args, " "), err, errs.String())
	}
	return string(out)
}

// start serves until stop or the test's end.
func (s *shed) start() {
	s.t.Helper()
	before := strings.Count(s.String(), "fingerprint (SHA-256)")
	cmd := exec.Command(binary, "serve", "--data", s.dir, "--tls", "own", "--addr", ":"+s.port)
	cmd.Stdout, cmd.Stderr = s, s
	if err := cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	s.cmd = cmd
	s.t.Cleanup(func() {
		if s.cmd == cmd {
			s.stop()
		}
	})
	for deadline := time.Now().Add(time.Minute); strings.Count(s.String(), "fingerprint (SHA-256)") == before; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			s.t.Fatalf("the program does not serve:\n%s", s)
		}
	}
}

// stop ends the program: no device reaches it.
func (s *shed) stop() {
	s.t.Helper()
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		s.t.Error(err)
	}
	if err := s.cmd.Wait(); err != nil {
		s.t.Errorf("asked to stop, the program ended with %v:\n%s", err, s)
	}
	s.cmd = nil
}

// ask asks the program on this machine, in the manager's name.
func (s *shed) ask(method, path, body string) []byte {
	s.t.Helper()
	request, err := http.NewRequestWithContext(s.t.Context(), method, "http://127.0.0.1:"+s.port+"/v1/"+path, strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	request.Header.Set("Authorization", "Bearer "+s.token)
	request.Header.Set("Content-Type", "application/json")
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		s.t.Fatal(err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil || response.StatusCode >= 300 {
		s.t.Fatalf("%s %s: %d %v\n%s", method, path, response.StatusCode, err, text)
	}
	return text
}

// readings are those in the book.
func (s *shed) readings() (all []struct {
	MoisturePct float64 `json:"moisture_pct"`
	RecordedBy  string  `json:"recorded_by"`
}) {
	s.t.Helper()
	if err := json.Unmarshal(s.ask(http.MethodGet, "readings", ""), &all); err != nil {
		s.t.Fatal(err)
	}
	return all
}
