package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"
)

// program is the built pullbook and the database that it works on.
type program struct{ path, database string }

// buildProgram builds pullbook into a folder.
func buildProgram(ctx context.Context, folder, database string) (program, error) {
	p := program{filepath.Join(folder, "pullbook"), database}
	if out, err := exec.CommandContext(ctx, "go", "build", "-o", p.path, "pullbook/cmd/pullbook").CombinedOutput(); err != nil {
		return p, fmt.Errorf("build pullbook: %w: %s", err, out)
	}
	return p, nil
}

// littleGarbage has Go collect garbage when it is a tenth of what is kept, so that
// what an answer takes is not lost in the garbage that a large book lets lie.
const littleGarbage = "GOGC=10"

// collectorTold has the collector write a line each time to the standard error. After
// each, what is left in the heap is what somebody still holds: no garbage.
const collectorTold = "GODEBUG=gctrace=1"

func (p program) command(ctx context.Context, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, p.path, append(args, "--database-url", p.database)...)
	cmd.Env = append(os.Environ(), littleGarbage)
	return cmd
}

// run runs a command to its end, and gives the largest memory that it was resident
// with. What it would be charged with at its end counts this process's too.
func (p program) run(ctx context.Context, out io.Writer, args ...string) (peakMB float64, err error) {
	cmd := p.command(ctx, args...)
	var complaint strings.Builder
	cmd.Stdout, cmd.Stderr = out, &complaint
	if err := cmd.Start(); err != nil {
		return 0, err
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	for {
		select {
		case err := <-ended:
			if err != nil {
				return 0, fmt.Errorf("pullbook %s: %w: %s", args[0], err, complaint.String())
			}
			return peakMB, nil
		case <-time.After(5 * time.Millisecond):
			if _, peak, err := resident(cmd.Process.Pid); err == nil { // it may have ended
				peakMB = max(peakMB, peak)
			}
		}
	}
}

// serving is pullbook serving on a port of its own.
type serving struct {
	cmd  *exec.Cmd
	url  string
	live *liveHeap
}

func (p program) serve(ctx context.Context) (*serving, error) {
	cmd := p.command(ctx, "serve", "--addr", "127.0.0.1:0", "--log-level", "error", "--request-timeout", "10m")
	cmd.Env = append(cmd.Env, collectorTold)
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	s := &serving{cmd: cmd, live: &liveHeap{}}
	cmd.Stderr = s.live
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if _, url, ok := strings.Cut(lines.Text(), "pullbook serves on "); ok {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			s.url = url
			return s, nil
		}
	}
	_ = cmd.Wait()
	return nil, fmt.Errorf("pullbook serve ended at once: %s", s.live.rest.String())
}

// liveHeap reads what the collector tells: how much of the heap was held each time.
type liveHeap struct {
	mu          sync.Mutex
	line        []byte
	least, most float64 // in MB
	rest        strings.Builder
}

var collected = regexp.MustCompile(`^gc \d+ .* \d+->\d+->(\d+) MB`)

func (l *liveHeap) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, c := range p {
		if l.line = append(l.line, c); c != '\n' {
			continue
		}
		if m := collected.FindSubmatch(l.line); m != nil {
			mb, _ := strconv.ParseFloat(string(m[1]), 64) // digits
			if l.most = max(l.most, mb); l.least == 0 || mb < l.least {
				l.least = mb
			}
		} else {
			l.rest.Write(l.line)
		}
		l.line = l.line[:0]
	}
	return len(p), nil
}

// forget begins anew. What was held at the least since then counts as the open book.
func (l *liveHeap) forget() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.least, l.most = 0, 0
}

// added is by how many MB more was held at the most than at the least; false where
// nothing was collected, because there was next to no garbage.
func (l *liveHeap) added() (mb float64, known bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.most - l.least, l.most > 0
}

func (s *serving) stop() error {
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		return err
	}
	return s.cmd.Wait()
}

// resident is how much memory a process is resident with now and was at the most
// since its start or the last forgetPeak, in MB.
func resident(pid int) (now, peak float64, err error) {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0, 0, err
	}
	for _, one := range []struct {
		line *regexp.Regexp
		into *float64
	}{{nowLine, &now}, {peakLine, &peak}} {
		m := one.line.FindSubmatch(status)
		if m == nil {
			return 0, 0, fmt.Errorf("/proc/%d/status does not say what memory is resident", pid)
		}
		kib, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			return 0, 0, err
		}
		*one.into = kib / 1024
	}
	return now, peak, nil
}

var (
	nowLine  = regexp.MustCompile(`VmRSS:\s+(\d+) kB`)
	peakLine = regexp.MustCompile(`VmHWM:\s+(\d+) kB`)
)

// forgetPeak begins the count of the peak anew.
func (s *serving) forgetPeak() error {
	return os.WriteFile(fmt.Sprintf("/proc/%d/clear_refs", s.cmd.Process.Pid), []byte("5"), 0)
}

// walk reads a list page by page to its end, as the header Link leads on.
func walk(ctx context.Context, url, path, token string, into io.Writer) error {
	for path != "" {
		response, err := get(ctx, url+path, token, "", into)
		if err != nil {
			return err
		}
		path = nextOf(response.Header)
	}
	return nil
}

// nextOf is where the header Link says that a list goes on.
func nextOf(h http.Header) string {
	for _, link := range h.Values("Link") {
		if at, rest, ok := strings.Cut(link, ">"); ok && strings.Contains(rest, `rel="next"`) {
			return strings.TrimPrefix(at, "<")
		}
	}
	return ""
}
