//go:build linux || darwin

package local

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
)

// account is the unprivileged user PostgreSQL runs as when the program is root,
// because PostgreSQL refuses to. Nil means the program's own user.
type account struct {
	name     string
	uid, gid uint32
}

// chooseAccount is the owner of an existing cluster, else of the data folder, which may
// be a service's, else the account that PostgreSQL's packages make, else nobody.
func chooseAccount(dataDir, clusterDir string) (*account, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	for _, dir := range []string{clusterDir, dataDir} {
		if info, err := os.Stat(dir); err == nil {
			if stat := info.Sys().(*syscall.Stat_t); stat.Uid != 0 {
				return &account{name: fmt.Sprintf("with uid %d", stat.Uid), uid: stat.Uid, gid: stat.Gid}, nil
			}
		}
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, uidErr := strconv.ParseUint(u.Uid, 10, 32)
		gid, gidErr := strconv.ParseUint(u.Gid, 10, 32)
		if err := errors.Join(uidErr, gidErr); err != nil || uid == 0 {
			continue
		}
		return &account{name: name, uid: uint32(uid), gid: uint32(gid)}, nil
	}
	return nil, errors.New("PostgreSQL does not run as root, and there is neither an account postgres nor nobody to run it as; make one, or start the program as an ordinary user")
}

// mkdir makes dir, open to the account alone, or hands over the one that is
// there from an earlier start, perhaps by another account.
func (a *account) mkdir(dir string) error {
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return a.own(dir)
}

// own hands dir to the account.
func (a *account) own(dir string) error {
	if a == nil {
		return nil
	}
	return os.Lchown(dir, int(a.uid), int(a.gid))
}

// attributes start a process as the account, in a process group of its own:
// Ctrl-C in the terminal must not reach PostgreSQL before the program is done
// with it.
func (a *account) attributes() *syscall.SysProcAttr {
	attr := &syscall.SysProcAttr{Setpgid: true}
	if a != nil {
		attr.Credential = &syscall.Credential{Uid: a.uid, Gid: a.gid}
	}
	return attr
}

// tryReach runs a program of bin in dir as the account, so that a closed folder
// above either is explained before PostgreSQL fails on it.
func (a *account) tryReach(bin Binaries, dir string) error {
	if a == nil {
		return nil
	}
	cmd := exec.Command(bin.Path("initdb"), "--version")
	cmd.Dir = dir
	cmd.Env = []string{"LC_ALL=C"}
	cmd.SysProcAttr = a.attributes()
	err := cmd.Run()
	if err == nil {
		return nil
	}
	for _, path := range []string{dir, bin.Path("initdb")} {
		if closed := a.closedAbove(path); closed != "" {
			return fmt.Errorf("PostgreSQL does not run as root, and the account %s it would run as cannot enter %s (on the way to %s); open that folder with `chmod a+x %s`, or choose another data folder", a.name, closed, path, closed)
		}
	}
	return fmt.Errorf("cannot run PostgreSQL as the account %s in %s: %w", a.name, dir, err)
}

// closedAbove is the first folder above path that the account may not enter by
// its mode bits, "" when there is none.
func (a *account) closedAbove(path string) string {
	parent := filepath.Dir(path)
	if parent == path {
		return ""
	}
	if closed := a.closedAbove(parent); closed != "" {
		return closed
	}
	info, err := os.Stat(parent)
	if err != nil {
		return ""
	}
	enter := fs.FileMode(0o001)
	if stat := info.Sys().(*syscall.Stat_t); stat.Uid == a.uid {
		enter = 0o100
	} else if stat.Gid == a.gid {
		enter = 0o010
	}
	if info.Mode()&enter == 0 {
		return parent
	}
	return ""
}
