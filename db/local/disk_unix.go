//go:build linux || darwin

package local

import "syscall"

// DiskOf asks the file system of a folder how much room it has. What only root may use is
// not free.
func DiskOf(dir string) (Disk, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil {
		return Disk{}, err
	}
	return Disk{Folder: dir, Free: uint64(s.Bavail) * uint64(s.Bsize), Total: s.Blocks * uint64(s.Bsize)}, nil
}
