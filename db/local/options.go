package local

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
)

// Options say where the private server keeps its rows and which PostgreSQL it
// uses. The zero value is good for production.
type Options struct {
	// DataDir is the folder that keeps the rows between starts; DefaultDataDir
	// when empty. It is made when it does not exist.
	DataDir string

	// BinDir is a folder with postgres and initdb. When set, no other folder is
	// looked at.
	BinDir string

	// Search lists the folders to look through when BinDir is empty, instead of
	// PATH and the platform's usual places. Nil means those; empty means none.
	Search []string

	// Log receives PostgreSQL's own log: warnings and fatal errors at warn,
	// everything else at debug. Nothing is logged when nil.
	Log *slog.Logger

	// NoFsync gives up durability for speed: a crash of the machine may destroy
	// the data folder. For tests, and for what is thrown away.
	NoFsync bool
}

func (o Options) withDefaults() (Options, error) {
	if o.DataDir == "" {
		dir, err := DefaultDataDir()
		if err != nil {
			return o, err
		}
		o.DataDir = dir
	}
	dir, err := filepath.Abs(o.DataDir)
	if err != nil {
		return o, fmt.Errorf("data folder %q: %w", o.DataDir, err)
	}
	o.DataDir = dir
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return o, nil
}

func (o Options) clusterDir() string { return filepath.Join(o.DataDir, "data") }

// DefaultDataDir is where the rows go when no folder is named: the system's
// state folder under root, whose home is closed to the account PostgreSQL runs
// as, else the state folder of the user.
func DefaultDataDir() (string, error) {
	if os.Geteuid() == 0 {
		return "/var/lib/pullbook", nil
	}
	if state := os.Getenv("XDG_STATE_HOME"); filepath.IsAbs(state) {
		return filepath.Join(state, "pullbook"), nil
	}
	if runtime.GOOS == "linux" {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", fmt.Errorf("no data folder was given and the home folder is unknown: %w", err)
		}
		return filepath.Join(home, ".local", "state", "pullbook"), nil
	}
	config, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("no data folder was given and the user's own is unknown: %w", err)
	}
	return filepath.Join(config, "pullbook"), nil
}
