//go:build !unix

package main

// sameDisk is not known here.
func sameDisk(string, string) bool { return false }
