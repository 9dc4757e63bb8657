package worst

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// program is the demo at work, in a process of its own.
type program struct {
	dir  string
	cmd  *exec.Cmd
	base string
	// tokens are those that the demo prints, by role.
	tokens map[string]string
}

var (
	servesOn  = regexp.MustCompile(`pullbook serves on (http://[^;\s]+)`)
	tokenLine = regexp.MustCompile(`^  (manager|crew|reader) +\w+ +\S+ +(\S+)$`)
)

// startDemo serves the invented outfit until the test ends.
func startDemo(t *testing.T) *program {
	t.Helper()
	dir, err := os.MkdirTemp("", "pullbook-worst-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o711); err != nil { // PostgreSQL's account passes through
		t.Fatal(err)
	}
	// Without what debuggers need, it is linked sooner.
	if out, err := exec.Command("go", "build", "-ldflags=-w", "-o", filepath.Join(dir, "pullbook"), "pullbook/cmd/pullbook").CombinedOutput(); err != nil {
		t.Fatalf("the program does not build: %v\n%s", err, out)
	}
	p := &program{dir: dir, tokens: map[string]string{}}
	t.Cleanup(p.stop)
	p.start(t)
	return p
}

// start starts the program, and returns once the demo is loaded.
func (p *program) start(t *testing.T) {
	t.Helper()
	p.cmd = exec.Command(filepath.Join(p.dir, "pullbook"), "demo", "--data", filepath.Join(p.dir, "state"), "--addr", "127.0.0.1:0")
	said, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.cmd.Stderr = os.Stderr
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	hung := time.AfterFunc(10*time.Minute, func() { _ = p.cmd.Process.Kill() })
	defer hung.Stop()
	lines := bufio.NewScanner(said)
	for lines.Scan() {
		if m := servesOn.FindStringSubmatch(lines.Text()); m != nil {
			p.base = m[1]
		}
		if m := tokenLine.FindStringSubmatch(lines.Text()); m != nil {
			p.tokens[m[1]] = m[2]
		}
		if strings.Contains(lines.Text(), "Stop with Ctrl-C.") {
			return
		}
	}
	t.Fatal("the demo ended before it was loaded")
}

// stop ends the program in order. How it ends is not what is tested here.
func (p *program) stop() {
	_ = p.cmd.Process.Signal(syscall.SIGTERM)
	_ = p.cmd.Wait()
}

// resident returns the process's resident memory now and at its highest since
// forget, in bytes.
func (p *program) resident(t *testing.T) (now, highest int64) {
	t.Helper()
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		t.Fatalf("the memory of a process is read from /proc, as Linux has it: %v", err)
	}
	for line := range strings.Lines(string(status)) {
		name, rest, _ := strings.Cut(line, ":")
		if name != "VmRSS" && name != "VmHWM" {
			continue
		}
		kib, err := strconv.ParseInt(strings.TrimSuffix(strings.TrimSpace(rest), " kB"), 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		if name == "VmRSS" {
			now = kib << 10
		} else {
			highest = kib << 10
		}
	}
	return now, highest
}

// forget begins a new watch for the highest.
func (p *program) forget(t *testing.T) {
	t.Helper()
	if err := os.WriteFile(fmt.Sprintf("/proc/%d/clear_refs", p.cmd.Process.Pid), []byte("5"), 0); err != nil {
		t.Fatal(err)
	}
}
