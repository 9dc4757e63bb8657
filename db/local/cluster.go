package local

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// Superuser is the role that owns a new cluster.
const Superuser = "postgres"

// InitdbArguments say what every new cluster is like.
var InitdbArguments = []string{
	"--username=" + Superuser, "--data-checksums", "--encoding=UTF8", "--locale=C", "--auth=trust",
}

// makeCluster makes the cluster of a data folder that has none. It is renamed
// into place when complete, so that a half-made one is never used.
func makeCluster(ctx context.Context, opts Options, bin Binaries, acct *account, log *serverLog) error {
	fresh := filepath.Join(opts.DataDir, "data.new")
	// An interrupted start left it; no server ever ran on it.
	if err := os.RemoveAll(fresh); err != nil {
		return fmt.Errorf("cannot clear the unfinished folder %s: %w", fresh, err)
	}
	if err := acct.mkdir(fresh); err != nil {
		return fmt.Errorf("cannot make the folder %s: %w", fresh, err)
	}
	args := append([]string{"--pgdata=" + fresh}, InitdbArguments...)
	if opts.NoFsync {
		args = append(args, "--no-sync")
	}
	initdb, err := acct.spawn(bin, fresh, log, syscall.SIGKILL, "initdb", args...)
	if err != nil {
		return fmt.Errorf("cannot run initdb: %w", err)
	}
	select {
	case <-initdb.done:
	case <-ctx.Done():
		initdb.signal(syscall.SIGKILL)
		<-initdb.done
		return ctx.Err()
	}
	if initdb.err != nil {
		return fmt.Errorf("initdb could not make the folder %s: %w\n%s", fresh, initdb.err, log.lastLines())
	}
	// An empty folder of that name would be in the way; one with files is not
	// removed by this, and does not come so far.
	if err := os.Remove(opts.clusterDir()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("cannot put the new folder in place: %w", err)
	}
	if err := os.Rename(fresh, opts.clusterDir()); err != nil {
		return fmt.Errorf("cannot put the new folder in place: %w", err)
	}
	return syncDir(opts.DataDir)
}

// syncDir makes the names in dir outlive a crash of the machine.
func syncDir(dir string) error {
	file, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(file.Sync(), file.Close())
}
