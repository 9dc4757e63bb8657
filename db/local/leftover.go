package local

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// stopLeftover ends a server that still runs on the cluster because the program
// that started it was killed. The caller holds the folder's lock, so nobody
// works with that server any more.
func stopLeftover(ctx context.Context, clusterDir string, log *slog.Logger) error {
	pid := postmasterPID(clusterDir)
	if pid == 0 || !isPostmaster(pid, clusterDir) {
		return nil
	}
	log.Warn("stopping the PostgreSQL that an earlier start left behind", "pid", pid)
	// Fast first; then immediate, which loses no committed row either.
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGQUIT} {
		process, err := os.FindProcess(pid)
		if err == nil {
			err = process.Signal(sig)
		}
		if err != nil && isPostmaster(pid, clusterDir) {
			return fmt.Errorf("a PostgreSQL from an earlier start, process %d, still runs on %s and cannot be stopped: %w", pid, clusterDir, err)
		}
		for deadline := time.Now().Add(10 * time.Second); time.Now().Before(deadline); {
			if !isPostmaster(pid, clusterDir) {
				return nil
			}
			select {
			case <-ctx.Done():
				return ctx.Err()
			case <-time.After(20 * time.Millisecond):
			}
		}
	}
	return fmt.Errorf("a PostgreSQL from an earlier start, process %d, still runs on %s and does not stop; stop it yourself and start again", pid, clusterDir)
}

// notedReady reports whether PostgreSQL, running as process pid, noted in its lock
// file that it takes connections. Line 8 of that file is its status.
func notedReady(clusterDir string, pid int) bool {
	text, err := os.ReadFile(filepath.Join(clusterDir, "postmaster.pid"))
	if err != nil {
		return false
	}
	lines := strings.Split(string(text), "\n")
	return len(lines) > 7 && lines[0] == strconv.Itoa(pid) && strings.TrimSpace(lines[7]) == "ready"
}

// postmasterPID is the process that PostgreSQL's own lock file names, dead or
// alive; 0 when there is no such file.
func postmasterPID(clusterDir string) int {
	text, err := os.ReadFile(filepath.Join(clusterDir, "postmaster.pid"))
	if err != nil {
		return 0
	}
	first, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(first))
	if err != nil || pid < 0 {
		return 0
	}
	return pid
}
