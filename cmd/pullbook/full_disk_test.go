//go:build linux

package main

import (
	"bytes"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db/local"
)

// smallDisk is a data folder on a file system of so many bytes, which PostgreSQL's
// account may enter.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	dir := folder(t)
	disk := filepath.Dir(dir)
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size+",mode=0711", "pullbook-test", disk).CombinedOutput(); err != nil {
		t.Fatalf("this test fills a disk of its own, and cannot mount one: %v, %s\nRun it as root, or as: unshare --user --map-root-user --mount go test ./cmd/pullbook -run FullDisk", err, out)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(disk, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// fill takes all room of a disk; the file's removal gives it back.
func fill(t *testing.T, path string) {
	t.Helper()
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	block := bytes.Repeat([]byte("honey"), 1<<13)
	for {
		if _, err := file.Write(block); err != nil {
			break // full
		}
	}
	for {
		if _, err := file.Write(block[:512]); err != nil {
			return
		}
	}
}

// A full disk keeps nobody from reading and loses nothing; PostgreSQL comes back by
// itself, and with room so does recording.
func TestAFullDiskIsReadAndRecordedOnAgain(t *testing.T) {
	t.Parallel()
	dir := smallDisk(t, "400m")
	token := foundedAt(t, dir)
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	record := func() int {
		status, _ := h.client.record(t.Context(), h.count(uuid.New(), 8))
		return status
	}
	read := func() int {
		status, _, _ := h.client.do(t.Context(), http.MethodGet, "/v1/outfit", nil)
		return status
	}
	if status := record(); status != http.StatusCreated {
		t.Fatal(status)
	}
	yards := filepath.Join(t.TempDir(), "yards.csv")
	if err := os.WriteFile(yards, []byte("yard\nMarsh End\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	filling := filepath.Join(filepath.Dir(dir), "photographs")
	fill(t, filling)
	awaitAnswer(t, http.StatusInsufficientStorage, record)
	before := outfitOf(t, h.client)
	_, err := h.client.record(t.Context(), h.count(uuid.New(), 8))
	for _, words := range []string{"The disk of the book is full", "nothing of this was stored", dir, "delete none in that folder"} {
		if err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("the refusal does not say %q: %v", words, err)
		}
	}
	full := []string{"The disk of the book is full", dir}
	refused(t, exitFailed, full, "person", "add", "Odell", "--role", "crew", "--data", dir)
	refused(t, exitFailed, full, "token", "add", "mirren", "--data", dir)
	refused(t, exitFailed, full, "outfit", "add", "Marsh Honey", "--time-zone", "America/Winnipeg", "--data", dir)
	refused(t, exitFailed, full, "import", yards, "--kind", "yards", "--data", dir)
	if status := read(); status != http.StatusOK {
		t.Errorf("reading was answered with %d", status)
	}
	if got := ask(t, http.DefaultClient, http.MethodGet, p.base+"/readyz"); got.status != http.StatusServiceUnavailable || !strings.Contains(got.text, "reading only") || !strings.Contains(got.text, dir) {
		t.Errorf("/readyz: %d, %s", got.status, got.text)
	}
	if text := ask(t, http.DefaultClient, http.MethodGet, p.base+"/metrics").text; !strings.Contains(text, "pullbook_disk_free_bytes ") {
		t.Error("no metric tells how much room is left")
	}

	// Without any room at all PostgreSQL ends at its next checkpoint.
	running, err := local.Attach(local.Options{DataDir: dir})
	if err != nil {
		t.Fatal(err)
	}
	endPostgres(t, running.URLFor(local.Superuser, bookDatabase), postgresOf(t, dir))
	for !strings.Contains(p.String(), "the private PostgreSQL answers again") {
		if status := read(); status != http.StatusOK {
			t.Fatalf("while PostgreSQL is away, reading was answered with %d", status)
		}
		select {
		case <-p.done:
			t.Fatalf("the program ended:\n%s", p)
		case <-time.After(20 * time.Millisecond):
		}
	}
	if after := outfitOf(t, h.client); after != before {
		t.Errorf("the book is %+v, was %+v", after, before)
	}
	if status := record(); status != http.StatusInsufficientStorage {
		t.Errorf("with the disk still full, an entry is answered with %d", status)
	}

	if err := os.Remove(filling); err != nil {
		t.Fatal(err)
	}
	awaitAnswer(t, http.StatusCreated, record)
	must(t, "audit", "--data", dir)
	p.stop(t)
}

// endPostgres has it write a checkpoint, and kills it where it goes on without room.
func endPostgres(t *testing.T, url string, pid int) {
	t.Helper()
	out, err := exec.Command("psql", url, "-c", "SELECT pg_switch_wal()", "-c", "CHECKPOINT").CombinedOutput()
	t.Logf("a checkpoint on the full disk: %v, %s", err, out)
	if syscall.Kill(pid, 0) == nil {
		kill(t, pid)
	}
}

// The warning comes while there is still room to record.
func TestLittleRoomIsSaidBeforeTheDiskIsFull(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		disk      local.Disk
		low, full bool
	}{
		{local.Disk{Free: 500 << 30, Total: 1000 << 30}, false, false},
		{local.Disk{Free: 2 << 30, Total: 1000 << 30}, false, false},
		{local.Disk{Free: 900 << 20, Total: 1000 << 30}, true, false},
		{local.Disk{Free: 1 << 30, Total: 8 << 30}, false, false},
		{local.Disk{Free: 300 << 20, Total: 8 << 30}, true, false},
		{local.Disk{Free: 65 << 20, Total: 8 << 30}, true, false},
		{local.Disk{Free: 63 << 20, Total: 8 << 30}, true, true},
		{local.Disk{Free: 0, Total: 8 << 30}, true, true},
	} {
		if tt.disk.Low() != tt.low || tt.disk.Full() != tt.full {
			t.Errorf("%+v: low %v, full %v", tt.disk, tt.disk.Low(), tt.disk.Full())
		}
	}
}
