//go:build unix

package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"strconv"
	"strings"
	"syscall"
)

// accountOf is an account of the machine.
type accountOf struct{ uid, gid int }

// makeAccount finds an account, or makes one that nobody signs in to.
func makeAccount(name, home string) (a accountOf, err error) {
	found, err := user.Lookup(name)
	if errors.As(err, new(user.UnknownUserError)) {
		if home == "" {
			home = "/nonexistent"
		}
		if err = addAccount(name, home); err == nil {
			found, err = user.Lookup(name)
		}
	}
	if err != nil {
		return a, err
	}
	uid, uidErr := strconv.Atoi(found.Uid)
	gid, gidErr := strconv.Atoi(found.Gid)
	if uid == 0 {
		return a, errors.New("the service does not run as root: give another --account")
	}
	return accountOf{uid, gid}, errors.Join(uidErr, gidErr)
}

// addAccount runs the system's own command: that of shadow, or that of BusyBox.
func addAccount(name, home string) error {
	for _, command := range [][]string{
		{"useradd", "--system", "--user-group", "--no-create-home", "--home-dir", home, "--shell", "/usr/sbin/nologin", "--comment", "pullbook service", name},
		{"adduser", "-S", "-D", "-H", "-h", home, "-s", "/sbin/nologin", "-g", "pullbook service", name},
	} {
		path, err := exec.LookPath(command[0])
		if err != nil {
			continue
		}
		if out, err := exec.Command(path, command[1:]...).CombinedOutput(); err != nil {
			return fmt.Errorf("the account %s cannot be made: %s: %w\n%s", name, strings.Join(command, " "), err, strings.TrimSpace(string(out)))
		}
		return nil
	}
	return fmt.Errorf("this system has no command that the program knows to make the account %s: make it yourself, without a password, or name one with --account", name)
}

func (a accountOf) own(path string) error   { return os.Lchown(path, a.uid, a.gid) }
func (a accountOf) group(path string) error { return os.Chown(path, -1, a.gid) }

// mayWrite asks the system, as the account, whether it may make files in a folder.
func (a accountOf) mayWrite(folder string) error {
	cmd := exec.Command("/bin/sh", "-c", `test -w "$1" && test -x "$1"`, "sh", folder)
	cmd.Dir = "/"
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(a.uid), Gid: uint32(a.gid)}}
	return cmd.Run()
}
