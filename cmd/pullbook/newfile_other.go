//go:build !linux

package main

import (
	"errors"
	"os"
)

// newFile makes an unfinished file for name.
func newFile(name string) (*unfinishedFile, error) { return namedFile(name) }

func (f *unfinishedFile) link(string) error { return errors.ErrUnsupported }

// forgetCached does nothing where a program cannot ask for it.
func forgetCached(*os.File) error { return nil }
