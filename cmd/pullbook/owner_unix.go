//go:build unix

package main

import (
	"os"
	"syscall"
)

// belongsAs gives a file to the account that another file or folder belongs to, where this
// program may: the operator may be root, and the service another account.
func belongsAs(file, other string) error {
	info, err := os.Stat(other)
	if err != nil {
		return err
	}
	of, ok := info.Sys().(*syscall.Stat_t)
	if !ok || os.Geteuid() != 0 {
		return nil
	}
	return os.Chown(file, int(of.Uid), int(of.Gid))
}
