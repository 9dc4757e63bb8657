package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
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

// binary is the program under test, built once, without what debuggers need: it is linked
// sooner. It looks every second whether a backup is due, and says at once how far work is.
var binary string

func TestMain(m *testing.M) { os.Exit(buildAndTest(m)) }

func buildAndTest(m *testing.M) int {
	dbtest.InMemory()
	dbtest.Waiting()
	dir, err := os.MkdirTemp("", "pullbook-program-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	if err := os.Chmod(dir, 0o711); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	shared = dir
	binary = filepath.Join(dir, "pullbook")
	if out, err := exec.Command("go", "build", "-ldflags=-w -X main.lookForBackupEvery=1s -X main.lineShownAfter=0s", "-o", binary, ".").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "the program does not build: %v\n%s", err, out)
		return 1
	}
	return m.Run()
}

// environment is the test's own without what would steer the program.
func environment() []string {
	var env []string
	for _, line := range os.Environ() {
		if !strings.HasPrefix(line, "PULLBOOK_") && !strings.HasPrefix(line, "DATABASE_URL=") {
			env = append(env, line)
		}
	}
	return env
}

// outcome is how a run of the program ended.
type outcome struct {
	out, err string
	status   int
}

// pullbook runs the program to its end.
func pullbook(t *testing.T, args ...string) outcome {
	t.Helper()
	return pullbookWith(t, nil, args...)
}

// pullbookWith runs the program to its end, with something to read.
func pullbookWith(t *testing.T, in io.Reader, args ...string) outcome {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), binary, args...)
	cmd.Stdin = in
	cmd.Env = environment()
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return outcome{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
}

// must is pullbook for what has to succeed; it gives what was printed.
func must(t *testing.T, args ...string) string {
	t.Helper()
	got := pullbook(t, args...)
	if got.status != exitDone {
		t.Fatalf("pullbook %s: status %d\n%s%s", strings.Join(args, " "), got.status, got.out, got.err)
	}
	return got.out
}

// refused is pullbook for what has to fail with a status and all these words.
func refused(t *testing.T, status int, words []string, args ...string) outcome {
	t.Helper()
	got := pullbook(t, args...)
	if got.status != status {
		t.Errorf("pullbook %s: status %d, want %d\n%s%s", strings.Join(args, " "), got.status, status, got.out, got.err)
	}
	for _, word := range words {
		if !strings.Contains(got.out+got.err, word) {
			t.Errorf("pullbook %s does not say %q:\n%s%s", strings.Join(args, " "), word, got.out, got.err)
		}
	}
	return got
}

// running is the program while it serves.
type running struct {
	cmd  *exec.Cmd
	dir  string
	base string
	done chan struct{}

	mu   sync.Mutex
	text bytes.Buffer
	seen chan struct{} // closed and replaced whenever something is written
}

// start runs serve or demo on a folder, on a free port, until it answers.
func start(t *testing.T, command, dir string, args ...string) *running {
	t.Helper()
	p := launch(t, append([]string{command, "--data", dir, "--addr", "127.0.0.1:0"}, args...)...)
	p.dir = dir
	p.await(t, "pullbook serves on ")
	return p
}

func launch(t *testing.T, args ...string) *running {
	t.Helper()
	return launchBeside(t, nil, args...)
}

// launchBeside is launch of a program whose log goes elsewhere.
func launchBeside(t *testing.T, log io.Writer, args ...string) *running {
	t.Helper()
	p := &running{cmd: exec.Command(binary, args...), done: make(chan struct{}), seen: make(chan struct{})}
	p.cmd.Env = environment()
	p.cmd.Stdout, p.cmd.Stderr = p, p
	if log != nil {
		p.cmd.Stderr = log
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = p.cmd.Wait() // ProcessState says how it ended
		close(p.done)
	}()
	t.Cleanup(func() {
		select {
		case <-p.done:
		default:
			_ = p.cmd.Process.Kill() // the test failed before it stopped the program
			<-p.done
		}
	})
	return p
}

// Write collects what the program prints and logs.
func (p *running) Write(text []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.text.Write(text)
	if p.base == "" {
		if _, rest, ok := strings.Cut(p.text.String(), "pullbook serves on "); ok {
			if line, _, ok := strings.Cut(rest, "\n"); ok {
				p.base, _, _ = strings.Cut(line, ";")
			}
		}
	}
	close(p.seen)
	p.seen = make(chan struct{})
	return len(text), nil
}

func (p *running) String() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.text.String()
}

// await returns when the program has printed words, in a line that is complete.
func (p *running) await(t *testing.T, words string) {
	t.Helper()
	timeout := time.After(time.Minute)
	for {
		p.mu.Lock()
		_, after, found := strings.Cut(p.text.String(), words)
		seen := p.seen
		p.mu.Unlock()
		if found && strings.Contains(after, "\n") {
			return
		}
		select {
		case <-seen:
		case <-p.done:
			if strings.Contains(p.String(), words) {
				return
			}
			t.Fatalf("the program ended before it said %q:\n%s", words, p)
		case <-timeout:
			t.Fatalf("the program did not say %q:\n%s", words, p)
		}
	}
}

// awaitTimes returns when the program has printed words so often.
func (p *running) awaitTimes(t *testing.T, words string, times int) {
	t.Helper()
	for deadline := time.Now().Add(time.Minute); strings.Count(p.String(), words) < times; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("the program did not say %q %d times:\n%s", words, times, p)
		}
	}
}

// ended waits for the program's end and gives its exit status, -1 where it was
// killed.
func (p *running) ended(t *testing.T) int {
	t.Helper()
	select {
	case <-p.done:
		return p.cmd.ProcessState.ExitCode()
	case <-time.After(time.Minute):
		t.Fatalf("the program did not end:\n%s", p)
		return 0
	}
}

func (p *running) signal(t *testing.T, sig syscall.Signal) {
	t.Helper()
	if err := p.cmd.Process.Signal(sig); err != nil {
		t.Fatal(err)
	}
}

// stop asks the program to stop, which it has to do in order.
func (p *running) stop(t *testing.T) {
	t.Helper()
	p.signal(t, syscall.SIGTERM)
	if status := p.ended(t); status != exitDone {
		t.Fatalf("asked to stop, the program ended with status %d:\n%s", status, p)
	}
}

// folder is a data folder that does not exist yet, in a place that PostgreSQL's
// account may pass through: testing's own is closed to all but the account of
// the test.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "pullbook-cmd-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		// After a failed test a PostgreSQL may still be ending in there.
		for deadline := time.Now().Add(10 * time.Second); ; time.Sleep(50 * time.Millisecond) {
			if err := os.RemoveAll(dir); err == nil {
				return
			} else if time.Now().After(deadline) {
				t.Error(err)
				return
			}
		}
	})
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "state")
}
