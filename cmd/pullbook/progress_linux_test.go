package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// screen is a terminal on which a program writes what is no answer.
type screen struct {
	terminal, program *os.File
	read              sync.WaitGroup

	mu   sync.Mutex
	text bytes.Buffer
}

// newScreen opens a pseudo-terminal.
func newScreen(t *testing.T) *screen {
	t.Helper()
	terminal, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { terminal.Close() })
	if err := unix.IoctlSetPointerInt(int(terminal.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	number, err := unix.IoctlGetInt(int(terminal.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	program, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	s := &screen{terminal: terminal, program: program}
	s.read.Go(func() { _, _ = io.Copy(s, terminal) }) // it ends with an error once no program has the terminal
	return s
}

func (s *screen) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(p)
}

func (s *screen) saw() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// watched runs the program to its end at a terminal, and gives all that the terminal was told.
func watched(t *testing.T, out io.Writer, args ...string) string {
	t.Helper()
	s := newScreen(t)
	cmd := exec.CommandContext(t.Context(), binary, args...)
	cmd.Env, cmd.Stdout, cmd.Stderr = environment(), out, s.program
	err := cmd.Run()
	s.program.Close()
	s.read.Wait()
	if err != nil {
		t.Fatalf("pullbook %s: %v\n%s", strings.Join(args, " "), err, s.saw())
	}
	return s.saw()
}

// Who looks on sees how far long work is, on a line that is gone once it is over. Nothing of it
// goes into a file or a pipe.
func TestLongWorkSaysOnATerminalHowFarItIs(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	work := t.TempDir()
	backup, archive := filepath.Join(work, "honey.backup"), filepath.Join(work, "honey.zip")
	yards := sheets(t)("yards.csv", "Yard\nMill\nRidge\n")
	zip, err := os.Create(archive)
	if err != nil {
		t.Fatal(err)
	}
	defer zip.Close()
	must(t, "backup", backup, "--data", dir)
	fresh, other := folder(t), folder(t)
	for _, c := range []struct {
		says []string
		out  io.Writer
		args []string
	}{
		{[]string{"Auditing Fern Gully Honey: ", " entries "}, nil, []string{"audit", "--data", dir}},
		{[]string{"Bringing in yards.csv: "}, nil, []string{"import", yards, "--kind", "yards", "--dry-run", "--data", dir}},
		{[]string{"Exporting Fern Gully Honey: "}, zip, []string{"export", "--data", dir}},
		{[]string{"Bringing in Fern Gully Honey: ", "Auditing Fern Gully Honey: "}, nil, []string{"import-archive", archive, "--data", other}},
		{[]string{"Restoring: ", " MB loaded", "Auditing Fern Gully Honey: "}, nil, []string{"restore", backup, "--data", fresh}},
	} {
		saw := watched(t, c.out, c.args...)
		for _, says := range c.says {
			if !strings.Contains(saw, says) {
				t.Errorf("pullbook %s: the terminal is not told %q:\n%q", c.args[0], says, saw)
			}
		}
		last := saw[strings.LastIndex(saw, clearLine)+len(clearLine):]
		if last != "" && !strings.HasPrefix(last, "Wrote the book of Fern Gully Honey: ") {
			t.Errorf("pullbook %s: once it is over the terminal still shows %q", c.args[0], last)
		}
	}
	if got := pullbook(t, "audit", "--data", dir); got.err != "" || strings.Contains(got.out, "\r") {
		t.Errorf("without a terminal the audit says %q and %q", got.out, got.err)
	}
}

// A service that starts opens the book before somebody asks for it. Its terminal says how far
// that is, and its log has one line once it is over.
func TestAServiceThatStartsSaysHowFarItsBookIs(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	s := newScreen(t)
	p := launchBeside(t, s.program, "serve", "--data", dir, "--addr", "127.0.0.1:0")
	s.program.Close()
	p.await(t, "pullbook serves on ")
	for end := time.Now().Add(time.Minute); !strings.Contains(s.saw(), "the book is open"); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("its log never says that the book is open:\n%q", s.saw())
		}
	}
	p.stop(t)
	saw := s.saw()
	for _, says := range []string{clearLine + "Opening Fern Gully Honey: ", fmt.Sprintf("entries=%d", founded)} {
		if !strings.Contains(saw, says) {
			t.Errorf("the terminal is not told %q:\n%q", says, saw)
		}
	}
	if strings.Count(saw, "the book is open") != 1 {
		t.Errorf("the log says it more than once:\n%q", saw)
	}
}
