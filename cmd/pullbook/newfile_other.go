//go:build !linux

package main

import "errors"

// newFile makes an unfinished file for name.
func newFile(name string) (*unfinishedFile, error) { return namedFile(name) }

func (f *unfinishedFile) link(string) error { return errors.ErrUnsupported }
