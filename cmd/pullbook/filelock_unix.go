//go:build linux || darwin

package main

import (
	"os"
	"syscall"
)

// tryLock takes a file for this program until it is closed, or fails at once.
func tryLock(file *os.File) error {
	return syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
}
