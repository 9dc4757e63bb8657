package dbtest

import (
	"errors"
	"os"
	"path/filepath"
	"time"

	"pullbook/db/local"
)

const (
	dirPrefix = "pullbook-dbtest-"
	stateName = "state"
)

// sweep removes what test binaries that were killed or panicked left in
// tempDir, about 40 MB each. A young folder may belong to one that has not
// locked it yet.
func sweep(tempDir string) error {
	left, err := filepath.Glob(filepath.Join(tempDir, dirPrefix+"*"))
	if err != nil {
		return err
	}
	for _, dir := range left {
		info, err := os.Stat(dir)
		if errors.Is(err, os.ErrNotExist) {
			continue // another test binary was quicker
		}
		if err != nil {
			return err
		}
		if _, held := local.Holder(filepath.Join(dir, stateName)); held || time.Since(info.ModTime()) < time.Minute {
			continue
		}
		// Another account's cannot be removed, and is not in the way.
		_ = os.RemoveAll(dir)
	}
	return nil
}
