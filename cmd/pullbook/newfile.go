package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// writeWhole has write make a file, which has its name only once all of it is
// on the disk. What had the name before stays until then. Something that is no
// regular file, such as a pipe, is written into as it is.
func writeWhole(name string, write func(io.Writer) error) error {
	info, err := os.Stat(name)
	if err == nil && !info.Mode().IsRegular() {
		out, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		return inWordsOfDisk(name, errors.Join(write(out), out.Close()))
	}
	if err == nil {
		// The file that a link leads to is replaced, not the link.
		if name, err = filepath.EvalSymlinks(name); err != nil {
			return err
		}
	}
	return inWordsOfDisk(name, writeFile(name, write))
}

func writeFile(name string, write func(io.Writer) error) (err error) {
	if err := sweepUnfinished(name); err != nil {
		return err
	}
	file, err := newFile(name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	if err = write(file); err == nil {
		err = file.Sync()
	}
	if err != nil {
		return errors.Join(err, file.discard())
	}
	if err := file.keep(name); err != nil {
		return errors.Join(err, file.discard())
	}
	return syncFolder(filepath.Dir(name))
}

// unfinishedFile is a file that is being written. Where the system allows it has
// no name at all, so that nothing of it is left if this program is killed.
// Elsewhere it has another name, which the next backup removes.
type unfinishedFile struct {
	*os.File
	// path is "" where the file has no name.
	path string
}

// unfinishedMark stands in the names of files that are being written.
const unfinishedMark = ".unfinished-"

// namedFile makes an unfinished file that has a name. Its lock says that it is
// being written.
func namedFile(name string) (*unfinishedFile, error) {
	file, err := os.CreateTemp(filepath.Dir(name), filepath.Base(name)+unfinishedMark)
	if err != nil {
		return nil, err
	}
	f := &unfinishedFile{file, file.Name()}
	if err := tryLock(file); err != nil {
		return nil, errors.Join(err, f.discard(), file.Close())
	}
	return f, nil
}

func (f *unfinishedFile) discard() error {
	if f.path == "" {
		return nil
	}
	return os.Remove(f.path)
}

// keep gives the file its name.
func (f *unfinishedFile) keep(name string) error {
	if f.path == "" {
		// A file without a name cannot replace another in one step.
		err := f.link(name)
		if !errors.Is(err, fs.ErrExist) {
			return err
		}
		passing := fmt.Sprintf("%s%s%d", name, unfinishedMark, os.Getpid())
		if err := tryLock(f.File); err != nil {
			return err
		}
		if err := f.link(passing); err != nil {
			return err
		}
		f.path = passing
	}
	err := os.Rename(f.path, name)
	if err == nil {
		f.path = ""
	}
	return err
}

// sweepUnfinished removes what killed programs left of files of that name.
func sweepUnfinished(name string) error {
	left, err := os.ReadDir(filepath.Dir(name))
	if errors.Is(err, fs.ErrPermission) {
		return nil // a folder that this account may write into and not read
	}
	if err != nil {
		return err
	}
	for _, entry := range left {
		if !entry.Type().IsRegular() || !strings.HasPrefix(entry.Name(), filepath.Base(name)+unfinishedMark) {
			continue
		}
		path := filepath.Join(filepath.Dir(name), entry.Name())
		file, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			continue // somebody else's
		}
		if tryLock(file) == nil { // nobody writes it any more
			err = os.Remove(path)
		}
		if err := errors.Join(err, file.Close()); err != nil {
			return err
		}
	}
	return nil
}

// syncFolder makes a new name outlive a crash of the machine.
func syncFolder(dir string) error {
	file, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(file.Sync(), file.Close())
}

// inWordsOfDisk says what to do where the disk has no more room.
func inWordsOfDisk(name string, err error) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return &noRoom{fmt.Errorf("the disk is full: %s was not written, and nothing of it is left. Free space in %s, or write to another disk (%w)", name, filepath.Dir(name), err)}
	}
	return err
}
