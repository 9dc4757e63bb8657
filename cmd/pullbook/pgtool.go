package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"strings"
)

// tool runs one of PostgreSQL's own programs on the database, as its owner.
func (s *store) tool(ctx context.Context, in io.Reader, out io.Writer, program string, args ...string) error {
	address, password, err := apart(s.owner())
	if err != nil {
		return err
	}
	return s.runTool(ctx, in, out, password, program, append(args, "--dbname="+address, "--no-password")...)
}

func (s *store) runTool(ctx context.Context, in io.Reader, out io.Writer, password, program string, args ...string) error {
	binaries, err := s.binaries()
	if err != nil {
		return err
	}
	path := binaries.Path(program)
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s is not in %s; install PostgreSQL's client programs, or name their folder with --pg-bindir", program, binaries.Dir)
	}
	var said bytes.Buffer
	cmd := exec.CommandContext(ctx, path, args...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = in, out, &said
	cmd.Env = os.Environ()
	if password != "" {
		cmd.Env = append(cmd.Env, "PGPASSWORD="+password)
	}
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("%s failed: %w\n%s", program, err, strings.TrimSpace(said.String()))
	}
	return nil
}

// apart takes the password out of an address: the arguments of a program can be
// seen by everybody on the machine.
func apart(address string) (without, password string, err error) {
	u, err := url.Parse(address)
	if err != nil {
		return "", "", errors.New("the database URL cannot be read") // without what may be a password in it
	}
	if u.User != nil {
		password, _ = u.User.Password()
		u.User = url.User(u.User.Username())
	}
	query := u.Query()
	if query.Has("password") {
		password = query.Get("password")
		query.Del("password")
		u.RawQuery = query.Encode()
	}
	return u.String(), password, nil
}
