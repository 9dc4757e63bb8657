package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
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
	cmd *exec.Cmd
	url string
}

func (p program) serve(ctx context.Context) (*serving, error) {
	cmd := p.command(ctx, "serve", "--addr", "127.0.0.1:0", "--log-level", "error", "--request-timeout", "10m")
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	var complaint strings.Builder
	cmd.Stderr = &complaint
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if _, url, ok := strings.Cut(lines.Text(), "pullbook serves on "); ok {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return &serving{cmd, url}, nil
		}
	}
	_ = cmd.Wait()
	return nil, fmt.Errorf("pullbook serve ended at once: %s", complaint.String())
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

var heapLine = regexp.MustCompile(`(?m)^go_memstats_heap_alloc_bytes (\S+)$`)

// heap is the program's heap now, in MB.
func (s *serving) heap(ctx context.Context) (float64, error) {
	var text strings.Builder
	if _, err := get(ctx, s.url+"/metrics", "", "", &text); err != nil {
		return 0, err
	}
	m := heapLine.FindStringSubmatch(text.String())
	if m == nil {
		return 0, errors.New("the program's metrics do not say how large its heap is")
	}
	bytes, err := strconv.ParseFloat(m[1], 64)
	return bytes / (1 << 20), err
}

// highest looks at the program's heap until done, and gives the most that it saw.
func (s *serving) highest(ctx context.Context, done <-chan struct{}) (most float64, err error) {
	for {
		select {
		case <-done:
			return most, nil
		case <-time.After(25 * time.Millisecond):
			now, err := s.heap(ctx)
			if err != nil {
				return most, err
			}
			most = max(most, now)
		}
	}
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
