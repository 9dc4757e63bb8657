package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// newFile makes an unfinished file for name. Some file systems know no files
// without a name.
func newFile(name string) (*unfinishedFile, error) {
	fd, err := unix.Open(filepath.Dir(name), unix.O_TMPFILE|unix.O_RDWR|unix.O_CLOEXEC, 0o600)
	switch {
	case errors.Is(err, unix.EOPNOTSUPP), errors.Is(err, unix.EISDIR), errors.Is(err, unix.EINVAL), errors.Is(err, unix.ENOENT):
		return namedFile(name)
	case err != nil:
		return nil, &os.PathError{Op: "write", Path: name, Err: err}
	}
	file := &unfinishedFile{File: os.NewFile(uintptr(fd), name)}
	if _, err := os.Stat(file.inProc()); err != nil {
		return namedFileInstead(name, file)
	}
	return file, nil
}

// namedFileInstead is for machines where /proc is closed, by which alone such a
// file can be given a name.
func namedFileInstead(name string, unnamed *unfinishedFile) (*unfinishedFile, error) {
	if err := unnamed.Close(); err != nil {
		return nil, err
	}
	return namedFile(name)
}

func (f *unfinishedFile) inProc() string { return fmt.Sprintf("/proc/self/fd/%d", f.Fd()) }

// link gives a file without a name one that no other file has.
func (f *unfinishedFile) link(name string) error {
	err := unix.Linkat(unix.AT_FDCWD, f.inProc(), unix.AT_FDCWD, name, unix.AT_SYMLINK_FOLLOW)
	if err != nil {
		return &os.PathError{Op: "name", Path: name, Err: err}
	}
	return nil
}

// forgetCached has what was written to a file and synced be read from its disk afterwards,
// not from memory: a worn stick takes everything, and gives back something else.
func forgetCached(file *os.File) error {
	return unix.Fadvise(int(file.Fd()), 0, 0, unix.FADV_DONTNEED)
}
