package main

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/uuid"
)

func TestABackupTakenWhileServingIsRestoredWhole(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	file := filepath.Join(filepath.Dir(dir), "honey.backup")
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	if status, err := h.client.record(t.Context(), h.count(uuid.New(), 31)); status != http.StatusCreated {
		t.Fatal(err)
	}
	hook := `{"way": "hook", "name": "the office", "address": "https://hooks.example/evening", "at": "19:00"}`
	if status, body, err := h.client.do(t.Context(), http.MethodPost, "/v1/deliveries", []byte(hook)); status != http.StatusCreated {
		t.Fatalf("the web hook: %d, %s, %v", status, body, err)
	}
	before := outfitOf(t, h.client)
	must(t, "backup", file, "--data", dir)
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the backup: %v, %v", info, err)
	}
	if status, err := h.client.record(t.Context(), h.count(uuid.New(), 32)); status != http.StatusCreated {
		t.Fatal(err)
	}
	refused(t, exitFailed, []string{"the data folder is in use"}, "restore", file, "--data", dir)
	p.stop(t)

	refused(t, exitFailed, []string{"holds the books of", "Fern Gully Honey", "empty"}, "restore", file, "--data", dir)

	fresh := folder(t)
	if told := must(t, "restore", file, "--data", fresh); !strings.Contains(told, "Mails and web hooks that wait: 1.") || !strings.Contains(told, "this is the book that sends now") {
		t.Errorf("the restore says %s", told)
	}
	p = start(t, "serve", fresh)
	h.client = reach(t, p.base, token)
	if _, list, err := h.client.do(t.Context(), http.MethodGet, "/v1/deliveries", nil); err != nil || strings.Contains(string(list), "next_at") || !strings.Contains(string(list), "restored from a backup") {
		t.Errorf("the web hook of a restored book: %s, %v", list, err)
	}
	if after := outfitOf(t, h.client); after != before {
		t.Errorf("restored, the outfit is %+v, was %+v", after, before)
	}
	// What came after the backup is recorded again, and the book goes on.
	if status, err := h.client.record(t.Context(), h.count(uuid.New(), 32)); status != http.StatusCreated {
		t.Fatal(err)
	}
	must(t, "audit", "--data", fresh)
	p.stop(t)
}

func TestWhatIsNoBackupIsRefusedAndChangesNothing(t *testing.T) {
	t.Parallel()
	dir := blank(t)
	must(t, "outfit", "list", "--data", dir)
	junk := filepath.Join(filepath.Dir(dir), "letter.txt")
	if err := os.WriteFile(junk, []byte("Dear Odell, the drums are sold."), 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, exitFailed, []string{"letter.txt is not a file that pullbook backup wrote"}, "restore", junk, "--data", dir)
	must(t, "outfit", "add", "Fern Gully Honey", "--time-zone", "America/Winnipeg", "--data", dir)
	refused(t, exitFailed, []string{"gone"}, "backup", filepath.Join(filepath.Dir(dir), "gone", "honey.backup"), "--data", dir)
}

func TestPasswordsAreKeptOutOfArguments(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ address, without, password string }{
		{"postgres://odell@db/books", "postgres://odell@db/books", ""},
		{"postgres://odell:s%3Acret@db:5432/books?sslmode=disable", "postgres://odell@db:5432/books?sslmode=disable", "s:cret"},
		{"postgres://db/books?password=hidden&user=odell", "postgres://db/books?user=odell", "hidden"},
	} {
		without, password, err := apart(tt.address)
		if err != nil || without != tt.without || password != tt.password {
			t.Errorf("%s comes apart as %s and %q, %v", tt.address, without, password, err)
		}
	}
}
