package local

import (
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"time"
)

const (
	// reserveName is a file of the data folder that takes room for nothing. When the
	// disk is full and PostgreSQL cannot even start, it gives way.
	reserveName  = "reserve"
	reserveBytes = 32 << 20

	// leastFree is what has to be free for anything more to be recorded: PostgreSQL
	// needs room for its log and its checkpoints, and ends where it has none.
	leastFree = 64 << 20
	// lowFree and lowShare are where it is said that room runs out.
	lowFree  = 1 << 30
	lowShare = 20
)

// Disk is how much room is left where a private server keeps its rows.
type Disk struct {
	Folder      string
	Free, Total uint64
}

// Full reports whether nothing more may be recorded.
func (d Disk) Full() bool { return d.Free < leastFree }

// Low reports whether it is time to make room.
func (d Disk) Low() bool {
	return d.Full() || d.Free < min(lowFree, max(d.Total/lowShare, 2*leastFree))
}

// diskLook remembers the last look at the disk: each entry asks for one.
type diskLook struct {
	mu   sync.Mutex
	at   time.Time
	last Disk
	err  error
}

const lookAtDiskEvery = time.Second

// Disk looks at the disk of the data folder, or says what it looked like less than
// a second ago.
func (s *Server) Disk() (Disk, error) {
	s.disk.mu.Lock()
	defer s.disk.mu.Unlock()
	if time.Since(s.disk.at) > lookAtDiskEvery {
		s.disk.last, s.disk.err = DiskOf(s.dataDir)
		s.disk.at = time.Now()
	}
	return s.disk.last, s.disk.err
}

// keepReserve makes the file that gives way when the disk is full, where there is
// room for it and more.
func (s *Server) keepReserve() error {
	if s.opts.NoFsync {
		return nil // it is thrown away
	}
	path := filepath.Join(s.dataDir, reserveName)
	if info, err := os.Stat(path); err == nil && info.Size() == reserveBytes {
		return nil
	}
	disk, err := DiskOf(s.dataDir)
	if err != nil || disk.Free < leastFree+2*reserveBytes {
		return err
	}
	file, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	// What cannot be compressed takes room on every file system; a file that is only
	// made long does not.
	_, err = io.CopyN(file, rand.NewChaCha8([32]byte{}), reserveBytes)
	if err = errors.Join(err, file.Close()); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return nil
}

// giveReserve frees the room that was kept.
func (s *Server) giveReserve() error {
	err := os.Remove(filepath.Join(s.dataDir, reserveName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
