//go:build unix

package main

import "golang.org/x/sys/unix"

// sameDisk reports whether two folders are on one file system.
func sameDisk(a, b string) bool {
	var of, other unix.Stat_t
	return unix.Stat(a, &of) == nil && unix.Stat(b, &other) == nil && of.Dev == other.Dev
}
