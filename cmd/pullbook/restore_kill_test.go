//go:build unix

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"pullbook/db/local"
)

// halting is a folder with PostgreSQL's programs, of which one stops for a while
// when it has written two thirds of what it has to.
type halting struct{ dir string }

func haltingAt(t *testing.T, program string) halting {
	t.Helper()
	real, err := local.Find(local.Options{DataDir: folder(t)})
	if err != nil {
		t.Fatal(err)
	}
	h := halting{filepath.Dir(folder(t))}
	there, err := os.ReadDir(real.Dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, entry := range there {
		if entry.Name() == program {
			continue
		}
		if err := os.Symlink(real.Path(entry.Name()), filepath.Join(h.dir, entry.Name())); err != nil {
			t.Fatal(err)
		}
	}
	script := fmt.Sprintf(`#!/bin/sh
case "$*" in *--list*) exec %[1]s "$@";; esac
%[1]s "$@" > %[2]s/all || exit
head -c $(($(wc -c < %[2]s/all) * 2 / 3)) %[2]s/all
echo $$ > %[2]s/pid.new && mv %[2]s/pid.new %[2]s/pid
exec sleep 20
`, real.Path(program), h.dir)
	// A child of another test that is begun meanwhile would hold the file open (ETXTBSY).
	syscall.ForkLock.RLock()
	err = os.WriteFile(filepath.Join(h.dir, program), []byte(script), 0o755)
	syscall.ForkLock.RUnlock()
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// await returns the process of the program once it has stopped midway.
func (h halting) await(t *testing.T, p *running) int {
	t.Helper()
	path := filepath.Join(h.dir, "pid")
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(10 * time.Millisecond) {
		text, err := os.ReadFile(path)
		if err == nil {
			if err := os.Remove(path); err != nil {
				t.Fatal(err)
			}
			pid, err := strconv.Atoi(strings.TrimSpace(string(text)))
			if err != nil {
				t.Fatal(err)
			}
			return pid
		}
		select {
		case <-p.done:
			t.Fatalf("the program ended before it came midway:\n%s", p)
		default:
		}
		if time.Now().After(deadline) {
			t.Fatalf("the program did not come midway:\n%s", p)
		}
	}
}

func kill(t *testing.T, pid int) {
	t.Helper()
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
}

func TestAKilledRestoreLeavesTheDatabaseEmpty(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	fresh := blank(t)
	file := filepath.Join(filepath.Dir(dir), "honey.backup")
	must(t, "backup", file, "--data", dir)
	h := haltingAt(t, "pg_restore")
	for _, who := range []string{"pullbook", "pg_restore", "PostgreSQL"} {
		p := launch(t, "restore", file, "--data", fresh, "--pg-bindir", h.dir)
		tool := h.await(t, p)
		switch who {
		case "pullbook":
			kill(t, p.cmd.Process.Pid)
		case "pg_restore":
			kill(t, tool)
		case "PostgreSQL":
			kill(t, postgresOf(t, fresh))
		}
		if status := p.ended(t); status == exitDone || who != "pullbook" && !strings.Contains(p.String(), "nothing was restored") {
			t.Errorf("%s was killed midway, and the restore ended with status %d:\n%s", who, status, p)
		}
		if list := must(t, "outfit", "list", "--data", fresh); strings.Contains(list, "Fern Gully") {
			t.Errorf("%s was killed midway, and this is left: %s", who, list)
		}
	}
	must(t, "restore", file, "--data", fresh)
}

func TestAKilledBackupLeavesNothing(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	h := haltingAt(t, "pg_dump")
	into := t.TempDir()
	file := filepath.Join(into, "honey.backup")
	for _, had := range []string{"", "last week's"} {
		if had != "" {
			if err := os.WriteFile(file, []byte(had), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		p := launch(t, "backup", file, "--data", dir, "--pg-bindir", h.dir)
		h.await(t, p)
		kill(t, p.cmd.Process.Pid)
		p.ended(t)
		requireFolder(t, into, file, had)
	}
	must(t, "backup", file, "--data", dir)
}

func TestAFullDiskLeavesNoPartOfABackup(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	refused(t, exitFailed, []string{"the disk is full: /dev/full was not written", "Free space"}, "backup", "/dev/full", "--data", dir)
}
