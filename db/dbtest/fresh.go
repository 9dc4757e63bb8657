package dbtest

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"pullbook/db/local"
)

// Fresh makes dir a data folder whose server has run and has no database of the
// caller's yet. The first test binary of a machine runs initdb and keeps a copy of
// the outcome; the next ones copy that, which takes a tenth of the work.
func Fresh(ctx context.Context, dir string) error {
	kept := keptFolder()
	if _, err := os.Stat(kept); err == nil {
		return Copy(kept, dir)
	}
	server, err := local.Start(ctx, local.Options{DataDir: dir, NoFsync: true})
	if err != nil {
		return err
	}
	if err := server.Stop(ctx); err != nil {
		return err
	}
	if kept != "" {
		keep(dir, kept)
	}
	return nil
}

// Copy makes to a copy of a data folder on which no server runs. Owners stay.
func Copy(from, to string) error {
	if out, err := exec.Command("cp", "-Rp", from, to).CombinedOutput(); err != nil {
		return fmt.Errorf("copy the data folder %s: %w\n%s", from, err, out)
	}
	return nil
}

// keptFolder is where Fresh keeps its copy, "" where that cannot be kept. The name
// follows from all that the copy depends on, and from the boot of the machine: after
// a crash a folder might have its name and not yet its bytes.
func keptFolder() string {
	cache, err := os.UserCacheDir()
	folder := filepath.Join(cache, "pullbook-dbtest")
	boot, bootErr := os.ReadFile("/proc/sys/kernel/random/boot_id")
	bin, binErr := local.Find(local.Options{DataDir: folder})
	if errors.Join(err, bootErr, binErr) != nil {
		return ""
	}
	info, err := os.Stat(bin.Path("postgres"))
	if err != nil {
		return ""
	}
	recipe := fmt.Sprint(bin, info.Size(), info.ModTime(), local.InitdbArguments, os.Geteuid(), string(boot))
	return filepath.Join(folder, fmt.Sprintf("%x", sha256.Sum256([]byte(recipe))))
}

// keep copies a data folder to where it is kept. The copy gets its name when it is
// complete; of several test binaries the first wins. That nothing is kept, on a full
// disk for instance, costs the next binary time and nothing else.
func keep(dir, kept string) {
	folder := filepath.Dir(kept)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return
	}
	removeOld(folder)
	unfinished, err := os.MkdirTemp(folder, "unfinished-")
	if err != nil {
		return
	}
	defer os.RemoveAll(unfinished)
	copied := filepath.Join(unfinished, stateName)
	if err := Copy(dir, copied); err != nil {
		return
	}
	_ = os.Rename(copied, kept) // another binary was quicker
}

// removeOld removes what was kept for other versions and earlier boots. A test run
// that still copies one takes less than a day.
func removeOld(folder string) {
	there, err := os.ReadDir(folder)
	if err != nil {
		return
	}
	for _, entry := range there {
		if info, err := entry.Info(); err == nil && time.Since(info.ModTime()) > 24*time.Hour {
			_ = os.RemoveAll(filepath.Join(folder, entry.Name()))
		}
	}
}
