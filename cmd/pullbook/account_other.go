//go:build !unix

package main

import "errors"

// accountOf is an account of the machine.
type accountOf struct{}

func makeAccount(string, string) (accountOf, error) { return accountOf{}, errors.ErrUnsupported }
func (accountOf) own(string) error                  { return errors.ErrUnsupported }
func (accountOf) group(string) error                { return errors.ErrUnsupported }
func (accountOf) mayWrite(string) error             { return errors.ErrUnsupported }
