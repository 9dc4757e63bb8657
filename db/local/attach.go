package local

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Running is a private server that another program of the same account runs.
type Running struct {
	bin       Binaries
	socketDir string
	dataDir   string
}

// Attach reaches the private server of the program that holds the data folder,
// so that an operator can work beside it. The server stays that program's own:
// it ends when that does.
func Attach(opts Options) (*Running, error) {
	opts, err := opts.withDefaults()
	if err != nil {
		return nil, err
	}
	bin, err := Find(opts)
	if err != nil {
		return nil, err
	}
	// Line 5 of PostgreSQL's lock file is the folder of its socket.
	text, err := os.ReadFile(filepath.Join(opts.clusterDir(), "postmaster.pid"))
	if err != nil {
		return nil, fmt.Errorf("no PostgreSQL runs on %s: %w", opts.DataDir, err)
	}
	lines := strings.Split(string(text), "\n")
	if len(lines) < 5 || lines[4] == "" {
		return nil, fmt.Errorf("the PostgreSQL on %s is still starting; try again in a moment", opts.DataDir)
	}
	return &Running{bin: bin, socketDir: lines[4], dataDir: opts.DataDir}, nil
}

// URLFor connects as role to database, both of which must exist.
func (r *Running) URLFor(role, database string) string { return socketURL(r.socketDir, role, database) }

// DataDir is the folder that keeps the rows.
func (r *Running) DataDir() string { return r.dataDir }

// Disk looks at the disk of the data folder.
func (r *Running) Disk() (Disk, error) { return DiskOf(r.dataDir) }

// Binaries are the programs of the server's own version, for backups.
func (r *Running) Binaries() Binaries { return r.bin }
