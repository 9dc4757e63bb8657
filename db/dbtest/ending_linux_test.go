package dbtest_test

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"pullbook/db/dbtest"
)

// The kernel ends the server when its test binary ends without a word.
func TestNoServerOutlivesItsTestBinary(t *testing.T) {
	t.Parallel()
	for _, ending := range []string{"panic", "kill"} {
		t.Run(ending, func(t *testing.T) {
			t.Parallel()
			tempDir := openTempDir(t)
			binary := exec.Command(os.Args[0], "-test.run=^TestAnotherRoleHasItsOwnRights$")
			binary.Env = append(os.Environ(), endingVariable+"="+ending, "TMPDIR="+tempDir)
			out, err := binary.StdoutPipe()
			if err != nil {
				t.Fatal(err)
			}
			if err := binary.Start(); err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { _ = binary.Process.Kill() }) // it has ended unless the test failed
			lines := bufio.NewScanner(out)
			var server int
			for server == 0 && lines.Scan() {
				_, _ = fmt.Sscanf(lines.Text(), "server %d", &server) // other lines are the test binary's
			}
			if server == 0 {
				t.Fatal("the test binary started no server")
			}
			if ending == "kill" {
				if err := binary.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
			if err := binary.Wait(); err == nil {
				t.Error("the test binary came to a good end")
			}
			awaitEnd(t, server)
			requireSwept(t, tempDir)
		})
	}
}

func awaitEnd(t *testing.T, pid int) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		// The command line of a process that has ended reads empty.
		if text, err := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", pid)); err != nil || len(text) == 0 {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("server %d is still there", pid)
		}
	}
}

// requireSwept checks that what was left is removed, but only when it is old.
func requireSwept(t *testing.T, tempDir string) {
	t.Helper()
	left := func() []string {
		names, err := filepath.Glob(filepath.Join(tempDir, "*", "state"))
		if err != nil {
			t.Fatal(err)
		}
		return names
	}
	if err := dbtest.Sweep(tempDir); err != nil {
		t.Fatal(err)
	}
	if len(left()) != 1 {
		t.Fatalf("left after a sweep at once: %q, want the one folder", left())
	}
	old := time.Now().Add(-time.Hour)
	if err := os.Chtimes(filepath.Dir(left()[0]), old, old); err != nil {
		t.Fatal(err)
	}
	if err := dbtest.Sweep(tempDir); err != nil {
		t.Fatal(err)
	}
	if len(left()) != 0 {
		t.Errorf("left after a sweep an hour later: %q", left())
	}
}

// openTempDir is a temporary folder that the server's account may pass through.
func openTempDir(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "pullbook-ending-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return dir
}
