package local

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

const (
	socketPort = "5432" // part of the socket's file name; no TCP port is opened
	socketFile = ".s.PGSQL." + socketPort

	// Linux takes 107 bytes for a socket's path, macOS 103.
	maxSocketPath = 103
)

// makeSocketDir makes the folder of the server's socket, which only the account
// may enter, and says whether it is to be removed afterwards.
func makeSocketDir(dataDir string, acct *account) (dir string, temporary bool, err error) {
	dir = filepath.Join(dataDir, "run")
	if socketPathFits(dir) {
		return dir, false, acct.mkdir(dir)
	}
	for _, base := range []string{os.TempDir(), "/tmp"} {
		// The name is not to be guessed: /tmp is everybody's.
		outer, err := os.MkdirTemp(base, "pullbook-")
		if err != nil {
			return "", false, fmt.Errorf("cannot make a temporary folder for the socket: %w", err)
		}
		if socketPathFits(outer) {
			return outer, true, acct.own(outer)
		}
		if err := os.Remove(outer); err != nil {
			return "", false, err
		}
	}
	return "", false, fmt.Errorf("the paths of the data folder %s and of the temporary folders are too long for a socket (%d bytes); choose a shorter data folder", dataDir, maxSocketPath)
}

// socketPathFits also refuses a comma, which separates folders for PostgreSQL
// and hosts for its clients.
func socketPathFits(dir string) bool {
	return len(filepath.Join(dir, socketFile)) <= maxSocketPath && !strings.Contains(dir, ",")
}
