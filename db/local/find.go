package local

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// MinMajor is the oldest PostgreSQL major version that is used.
const MinMajor = 15

// Binaries is a folder with PostgreSQL's programs.
type Binaries struct {
	Dir   string // absolute, holds at least postgres and initdb
	Major int    // 15 for 15.18
}

// Path is the full path of one program, such as "pg_dump". It is not checked
// to exist: only postgres and initdb are.
func (b Binaries) Path(program string) string { return filepath.Join(b.Dir, program) }

// Find picks the PostgreSQL to run: the newest major version of at least
// MinMajor, or exactly the version that made the data folder where there is
// one. Among folders of the same version the first in the order of search wins.
// It fails with ErrNotFound or ErrVersion.
func Find(opts Options) (Binaries, error) {
	opts, err := opts.withDefaults()
	if err != nil {
		return Binaries{}, err
	}
	made, err := clusterMajor(opts.clusterDir())
	if err != nil {
		return Binaries{}, err
	}
	var found []Binaries
	inspected := map[string]bool{} // PATH often leads to one of the usual folders
	for _, dir := range opts.searchDirs() {
		if inspected[dir] {
			continue
		}
		inspected[dir] = true
		if b, ok := inspect(dir); ok {
			found = append(found, b)
		}
	}
	var best Binaries
	for _, b := range found {
		if b.Major >= MinMajor && b.Major > best.Major && (made == 0 || b.Major == made) {
			best = b
		}
	}
	if best.Major == 0 {
		return Binaries{}, opts.noFit(found, made)
	}
	return best, nil
}

// noFit explains why none of the PostgreSQLs found can be used.
func (o Options) noFit(found []Binaries, made int) error {
	var list []string
	for _, b := range found {
		list = append(list, fmt.Sprintf("PostgreSQL %d in %s", b.Major, b.Dir))
	}
	have := strings.Join(list, ", ")
	switch {
	case made != 0 && len(found) > 0:
		return fmt.Errorf("%w: the rows in %s were written by PostgreSQL %d, and here is only %s; install PostgreSQL %d, or name the folder of its programs (nothing was changed)",
			ErrVersion, o.clusterDir(), made, have, made)
	case o.BinDir != "" && len(found) == 0:
		return fmt.Errorf("%w: the folder %s does not hold the programs postgres and initdb; name another folder, or none to search the machine. %s",
			ErrNotFound, o.BinDir, howToInstall())
	case len(found) > 0:
		return fmt.Errorf("%w in version %d or newer: here is only %s. %s",
			ErrNotFound, MinMajor, have, howToInstall())
	}
	return fmt.Errorf("%w on this machine. %s", ErrNotFound, howToInstall())
}

func (o Options) searchDirs() []string {
	switch {
	case o.BinDir != "":
		return []string{o.BinDir}
	case o.Search != nil:
		return o.Search
	}
	return append(pathDirs(), usualDirs()...)
}

// pathDirs are the folders that PATH leads to. Distributions put links or only
// pg_config on PATH, so links are followed and pg_config is asked.
func pathDirs() []string {
	var dirs []string
	if pgConfig, err := exec.LookPath("pg_config"); err == nil {
		if out, err := output(pgConfig, "--bindir"); err == nil {
			dirs = append(dirs, strings.TrimSpace(out))
		}
	}
	if postgres, err := exec.LookPath("postgres"); err == nil {
		if real, err := filepath.EvalSymlinks(postgres); err == nil {
			dirs = append(dirs, filepath.Dir(real))
		}
	}
	return dirs
}

// usualDirs are the folders that packages install into.
func usualDirs() []string {
	var dirs []string
	for _, pattern := range []string{
		"/usr/lib/postgresql/*/bin",                       // Debian, Ubuntu
		"/usr/pgsql-*/bin",                                // PostgreSQL's own packages for Fedora and Red Hat
		"/usr/bin",                                        // Fedora, Red Hat, Arch
		"/usr/lib/postgresql*/bin",                        // openSUSE
		"/usr/libexec/postgresql*",                        // Alpine
		"/opt/homebrew/opt/postgresql@*/bin",              // Homebrew on Apple silicon
		"/usr/local/opt/postgresql@*/bin",                 // Homebrew on Intel
		`C:\Program Files\PostgreSQL\*\bin`,               // PostgreSQL's own packages for Windows
		"/home/linuxbrew/.linuxbrew/opt/postgresql@*/bin", // Homebrew on Linux
	} {
		matches, err := filepath.Glob(pattern)
		if err != nil {
			panic(err) // the patterns are constants
		}
		dirs = append(dirs, matches...)
	}
	return dirs
}

var versionPattern = regexp.MustCompile(`\(PostgreSQL\) (\d+)`)

// inspect reads the major version of the PostgreSQL in dir, if there is one.
func inspect(dir string) (Binaries, bool) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return Binaries{}, false
	}
	b := Binaries{Dir: dir}
	if _, err := exec.LookPath(b.Path("initdb")); err != nil {
		return Binaries{}, false
	}
	out, err := output(b.Path("postgres"), "--version")
	if err != nil {
		return Binaries{}, false
	}
	match := versionPattern.FindStringSubmatch(out)
	if match == nil {
		return Binaries{}, false
	}
	b.Major, err = strconv.Atoi(match[1])
	return b, err == nil
}

func output(program string, args ...string) (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	out, err := exec.CommandContext(ctx, program, args...).Output()
	return string(out), err
}

// clusterMajor is the major version that made the cluster, 0 when there is none.
func clusterMajor(clusterDir string) (int, error) {
	text, err := os.ReadFile(filepath.Join(clusterDir, "PG_VERSION"))
	if errors.Is(err, fs.ErrNotExist) {
		if entries, err := os.ReadDir(clusterDir); err == nil && len(entries) > 0 {
			return 0, fmt.Errorf("the folder %s is not empty and not PostgreSQL's (it has no file PG_VERSION); choose another data folder", clusterDir)
		}
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("cannot read the version of the data folder: %w", err)
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil {
		return 0, fmt.Errorf("the file PG_VERSION in %s holds %q, not a version such as %d", clusterDir, text, MinMajor)
	}
	return major, nil
}
