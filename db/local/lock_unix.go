//go:build linux || darwin

package local

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// supported is false where no private server can be run.
const supported = true

// The kernel gives the lock up when its holder ends, however it ends, so a lock
// that is held always has a living holder.
const lockName = "pullbook.lock"

// lockDir takes dataDir for this program until unlockDir. It fails with ErrInUse.
func lockDir(dataDir string) (*os.File, error) {
	file, err := os.OpenFile(filepath.Join(dataDir, lockName), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("cannot lock the data folder: %w", err)
	}
	if err := ownAs(file, dataDir); err != nil {
		return nil, errors.Join(fmt.Errorf("cannot hand over %s: %w", file.Name(), err), file.Close())
	}
	if err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		defer file.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fmt.Errorf("%w: process %d works with %s; stop it, or choose another data folder", ErrInUse, readPID(file), dataDir)
		}
		return nil, fmt.Errorf("cannot lock the data folder %s: %w", dataDir, err)
	}
	if err := errors.Join(file.Truncate(0), writePID(file)); err != nil {
		return nil, errors.Join(fmt.Errorf("cannot note the process in %s: %w", file.Name(), err), file.Close())
	}
	return file, nil
}

// unlockDir gives the folder up. Closing alone would not at once: a process that this one is just
// starting has the file too until it runs its own program.
func unlockDir(file *os.File) error {
	return errors.Join(syscall.Flock(int(file.Fd()), syscall.LOCK_UN), file.Close())
}

// ownAs gives a new file to the owner of the data folder: root may work there before a
// service of another account does.
func ownAs(file *os.File, dataDir string) error {
	info, err := os.Stat(dataDir)
	if err != nil || os.Geteuid() != 0 {
		return err
	}
	stat := info.Sys().(*syscall.Stat_t)
	return file.Chown(int(stat.Uid), int(stat.Gid))
}

// Holder is the process that holds dataDir; held is false when none does.
func Holder(dataDir string) (pid int, held bool) {
	file, err := os.Open(filepath.Join(dataDir, lockName))
	if err != nil {
		return 0, false
	}
	if err := syscall.Flock(int(file.Fd()), syscall.LOCK_SH|syscall.LOCK_NB); err == nil {
		_ = unlockDir(file)
		return 0, false
	}
	defer file.Close()
	return readPID(file), true
}

func writePID(file *os.File) error {
	_, err := file.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	return err
}

func readPID(file *os.File) int {
	text := make([]byte, 32)
	n, _ := file.ReadAt(text, 0) // io.EOF: the text is shorter
	pid, _ := strconv.Atoi(strings.TrimSpace(string(text[:n])))
	return pid // 0 in the instant before the holder wrote its own
}
