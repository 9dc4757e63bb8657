package local_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"pullbook/db/local"
	"pullbook/db/local/packages"
)

func TestFindTakesTheNewestVersionThatFitsTheRows(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name     string
		here     []string // what each folder's postgres calls itself
		explicit string   // the version in the folder that is named, if any
		rows     string   // PG_VERSION of the data folder, "" when there is none
		want     int      // index in here, -1 for explicit
		err      error
	}{
		{name: "one", here: []string{"15.18 (Debian 15.18-0+deb12u1)"}, want: 0},
		{name: "the newest", here: []string{"15.18", "17.2", "16.9"}, want: 1},
		{name: "the first of equals", here: []string{"16.1", "16.9"}, want: 0},
		{name: "a beta", here: []string{"17.2", "18beta1"}, want: 1},
		{name: "the rows' own, not the newest", here: []string{"17.2", "15.18"}, rows: "15", want: 1},
		{name: "an explicit folder before all others", here: []string{"17.2"}, explicit: "16.9", want: -1},
		{name: "too old", here: []string{"14.19", "9.6.24"}, err: local.ErrNotFound},
		{name: "too old beside a good one", here: []string{"14.19", "15.1"}, want: 1},
		{name: "none", err: local.ErrNotFound},
		{name: "another program of that name", here: []string{"?"}, err: local.ErrNotFound},
		{name: "none for the rows", here: []string{"17.2"}, rows: "16", err: local.ErrVersion},
		{name: "an explicit folder that does not fit the rows", here: []string{"16.9"}, explicit: "17.2", rows: "16", err: local.ErrVersion},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			opts := local.Options{DataDir: t.TempDir(), Search: []string{}}
			for _, version := range tt.here {
				opts.Search = append(opts.Search, fakeBinaries(t, version))
			}
			if tt.explicit != "" {
				opts.BinDir = fakeBinaries(t, tt.explicit)
			}
			if tt.rows != "" {
				writeFile(t, filepath.Join(opts.DataDir, "data", "PG_VERSION"), tt.rows+"\n", 0o600)
			}
			got, err := local.Find(opts)
			if !errors.Is(err, tt.err) {
				t.Fatalf("got error %v, want %v", err, tt.err)
			}
			if err != nil {
				return
			}
			want := opts.BinDir
			if tt.want >= 0 {
				want = opts.Search[tt.want]
			}
			if got.Dir != want {
				t.Errorf("got %+v, want the one in %s", got, want)
			}
		})
	}
}

func TestNoPostgreSQLNamesTheInstallCommand(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "state")
	_, err := local.Start(t.Context(), local.Options{DataDir: dir, Search: []string{}})
	if !errors.Is(err, local.ErrNotFound) {
		t.Fatalf("got %v, want ErrNotFound", err)
	}
	if want := packages.Command(local.Needed).String(); !strings.Contains(err.Error(), want) {
		t.Errorf("%q does not say %q", err, want)
	}
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the data folder was made all the same: %v", err)
	}
}

func TestRowsOfAnotherVersionAreLeftAlone(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	version := filepath.Join(dir, "data", "PG_VERSION")
	writeFile(t, version, "99\n", 0o600)
	_, err := local.Start(t.Context(), local.Options{DataDir: dir})
	if !errors.Is(err, local.ErrVersion) || !strings.Contains(err.Error(), "PostgreSQL 99") {
		t.Fatalf("got %v, want ErrVersion naming PostgreSQL 99", err)
	}
	if text, err := os.ReadFile(version); err != nil || string(text) != "99\n" {
		t.Errorf("PG_VERSION now holds %q, %v", text, err)
	}
}

// fakeBinaries is a folder whose postgres only tells its version.
func fakeBinaries(t *testing.T, version string) string {
	t.Helper()
	dir := t.TempDir()
	writeFile(t, filepath.Join(dir, "postgres"), fmt.Sprintf("#!/bin/sh\necho 'postgres (PostgreSQL) %s'\n", version), 0o700)
	writeFile(t, filepath.Join(dir, "initdb"), "#!/bin/sh\nexit 1\n", 0o700)
	return dir
}

func writeFile(t *testing.T, path, text string, mode os.FileMode) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	// A child of another test that is begun meanwhile would hold the file open, and a program
	// that somebody may write to cannot be run (ETXTBSY).
	syscall.ForkLock.RLock()
	err := os.WriteFile(path, []byte(text), mode)
	syscall.ForkLock.RUnlock()
	if err != nil {
		t.Fatal(err)
	}
}
