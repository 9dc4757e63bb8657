//go:build !linux && !darwin

package local

import (
	"os"
	"syscall"
)

// supported is false where no private server can be run.
const supported = false

type account struct{}

func chooseAccount(string, string) (*account, error)     { return nil, ErrUnsupported }
func (*account) mkdir(string) error                      { return ErrUnsupported }
func (*account) own(string) error                        { return ErrUnsupported }
func (*account) attributes() *syscall.SysProcAttr        { return nil }
func (*account) tryReach(Binaries, string) error         { return ErrUnsupported }
func endWithParent(*syscall.SysProcAttr, syscall.Signal) {}
func lockDir(string) (*os.File, error)                   { return nil, ErrUnsupported }
func unlockDir(*os.File) error                           { return ErrUnsupported }
func DiskOf(string) (Disk, error)                        { return Disk{}, ErrUnsupported }
func isPostmaster(int, string) bool                      { return false }

// Holder is the process that holds dataDir; here none ever does.
func Holder(string) (pid int, held bool) { return 0, false }
