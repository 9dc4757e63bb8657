package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"pullbook/db/dbtest"
)

// shared is a folder of the test binary's, which PostgreSQL's account may pass through.
var shared string

// blank is a data folder whose PostgreSQL has run and has no book yet.
func blank(t *testing.T) string {
	t.Helper()
	dir := folder(t)
	if err := dbtest.Fresh(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	return dir
}

// pattern is the data folder that foundedFolder copies: newOutfit made its outfit.
var pattern struct {
	once       sync.Once
	dir, token string
}

// reserved is the pattern's file that takes room for nothing. The copies share it:
// nobody writes to it, and who needs its room removes it.
const reserved = "reserve"

// foundedFolder is a data folder with newOutfit's outfit, and the manager's token.
func foundedFolder(t *testing.T) (dir, token string) {
	t.Helper()
	dir = folder(t)
	return dir, foundedAt(t, dir)
}

// foundedAt makes dir a data folder with newOutfit's outfit.
func foundedAt(t *testing.T, dir string) (token string) {
	t.Helper()
	pattern.once.Do(func() {
		made := filepath.Join(shared, "pattern")
		if err := dbtest.Fresh(t.Context(), made); err != nil {
			t.Fatal(err)
		}
		token := newOutfit(t, "--data", made)
		if err := os.Rename(filepath.Join(made, reserved), filepath.Join(shared, reserved)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			t.Fatal(err)
		}
		pattern.dir, pattern.token = made, token
	})
	if pattern.dir == "" {
		t.Fatal("the data folder to copy could not be made")
	}
	if err := dbtest.Copy(pattern.dir, dir); err != nil {
		t.Fatal(err)
	}
	_ = os.Link(filepath.Join(shared, reserved), filepath.Join(dir, reserved)) // elsewhere the program makes its own
	return pattern.token
}
