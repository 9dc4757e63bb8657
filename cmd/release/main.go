// Command release builds the programs that people download, for each system that pullbook runs
// on:
//
//	go run ./cmd/release [--version 1.4.0] [--only linux/arm64] FOLDER
//
// Into the folder come a program for each system, a bill of materials beside it (CycloneDX)
// and SHA256SUMS. The same sources and the same Go give the same bytes, in whatever folder.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
)

// target is a system that programs are built for.
type target struct{ os, arch string }

func (t target) String() string { return t.os + "/" + t.arch }

// targets are built unless one of them is asked for.
var targets = []target{
	{"linux", "amd64"}, {"linux", "arm64"}, {"darwin", "amd64"}, {"darwin", "arm64"}, {"windows", "amd64"},
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	err := run(ctx, os.Args[1:], os.Stdout)
	switch {
	case err == nil:
	case errors.Is(err, flag.ErrHelp):
		os.Exit(2)
	default:
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string, out io.Writer) error {
	flags := flag.NewFlagSet("release", flag.ContinueOnError)
	flags.Usage = func() {
		fmt.Fprintln(flags.Output(), "Usage: go run ./cmd/release [--version VERSION] [--only SYSTEM] FOLDER")
		flags.PrintDefaults()
	}
	version := flags.String("version", "", "the version that the programs say; without it, what git calls the commit")
	only := flags.String("only", "", "the one system to build for, such as linux/arm64; without it, all of them")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() != 1 {
		return fmt.Errorf("name one folder for the programs; `go run ./cmd/release --help` says how")
	}
	chosen, err := chosenTargets(*only)
	if err != nil {
		return err
	}
	source, err := sourceFolder(ctx)
	if err != nil {
		return err
	}
	if *version == "" {
		if *version, err = versionOf(ctx, source); err != nil {
			return err
		}
	}
	return release{source: source, program: "./cmd/pullbook", name: "pullbook", version: *version, scripts: carriedPackages}.into(ctx, flags.Arg(0), chosen, out)
}

func chosenTargets(only string) ([]target, error) {
	if only == "" {
		return targets, nil
	}
	at := slices.IndexFunc(targets, func(t target) bool { return t.String() == only })
	if at < 0 {
		return nil, fmt.Errorf("--only is %q; pullbook is built for %s", only, strings.Trim(fmt.Sprint(targets), "[]"))
	}
	return targets[at : at+1], nil
}

// sourceFolder is where the module's go.mod stands.
func sourceFolder(ctx context.Context) (string, error) {
	file, err := output(exec.CommandContext(ctx, "go", "env", "GOMOD"))
	if err != nil || file == "" || file == os.DevNull {
		return "", fmt.Errorf("run release from the folder of pullbook's sources: there is no go.mod here (%v)", err)
	}
	return filepath.Dir(file), nil
}

// versionOf is what git calls the sources: a tag, or the commit; with what was changed since.
func versionOf(ctx context.Context, source string) (string, error) {
	git := exec.CommandContext(ctx, "git", "describe", "--tags", "--always", "--dirty=-changed", "--abbrev=12")
	git.Dir = source
	version, err := output(git)
	if err != nil {
		return "", fmt.Errorf("git cannot tell the version of %s (%w); --version gives one", source, err)
	}
	return strings.TrimPrefix(version, "v"), nil
}

// output is what a command prints, without the end of the line.
func output(cmd *exec.Cmd) (string, error) {
	text, err := cmd.Output()
	if exit := new(exec.ExitError); errors.As(err, &exit) {
		err = fmt.Errorf("%w: %s", err, strings.TrimSpace(string(exit.Stderr)))
	}
	return strings.TrimSpace(string(text)), err
}
