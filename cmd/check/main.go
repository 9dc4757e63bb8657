// Command check runs all tests of the project, and first looks for the programs
// that they need:
//
//	go run ./cmd/check [--install] [-- arguments of go test]
//
// With --install it installs what is missing with the platform's own package
// manager, and says each command before it runs. Without, it names what is
// missing and runs nothing.
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
	"slices"
	"strings"
	"syscall"

	"pullbook/db/local/packages"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	err := run(ctx, os.Args[1:], os.Stdout)
	var tests *exec.ExitError
	switch {
	case err == nil:
	case errors.Is(err, flag.ErrHelp):
		os.Exit(2)
	case errors.As(err, &tests):
		os.Exit(max(tests.ExitCode(), 1))
	default:
		fmt.Fprintln(os.Stderr, "check:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string, out io.Writer) error {
	flags := flag.NewFlagSet("check", flag.ContinueOnError)
	flags.Usage = func() {
		fmt.Fprintln(flags.Output(), "Usage: go run ./cmd/check [--install] [-- arguments of go test]")
		flags.PrintDefaults()
	}
	install := flags.Bool("install", false, "install what the tests need, with the platform's own package manager")
	if err := flags.Parse(args); err != nil {
		return err
	}
	tests := goTest(flags.Args())
	if err := provide(ctx, missing(ctx, tests), *install, out); err != nil {
		return err
	}
	fmt.Fprintf(out, "+ %s\n", strings.Join(tests, " "))
	cmd := exec.CommandContext(ctx, tests[0], tests[1:]...)
	// Interrupted, the tests end themselves and their databases.
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.Stdout, cmd.Stderr = out, os.Stderr
	return cmd.Run()
}

// goTest returns the command that runs the tests. The browser tests take longer
// than go test allows a package by itself, under the race detector. The packages that
// take longest come first, so that none of them is left over for one processor at the
// end; go test runs each package once.
func goTest(more []string) []string {
	return slices.Concat([]string{"go", "test", "-timeout", "60m"}, longest, []string{"./..."}, more)
}

// longest are the packages whose tests take the most time, the longest first.
var longest = []string{
	"./domain/plan", "./api/browsertest/screens", "./api", "./api/browsertest/recording", "./cmd/pullbook", "./cmd/pullbook/worst",
	"./api/browsertest/work", "./api/browsertest/paper", "./domain/demo", "./domain/plan/rest", "./domain/plan/sale", "./api/feeds", "./domain/ledger", "./db/books", "./api/bringin", "./db/local",
}

// provide installs what is missing, or says how to.
func provide(ctx context.Context, lacking []packages.Need, install bool, out io.Writer) error {
	if len(lacking) == 0 {
		return nil
	}
	var names []string
	for _, need := range lacking {
		names = append(names, need.Name)
	}
	list := strings.Join(names, ", ")
	way := packages.Command(lacking...)
	if len(way.Unknown) > 0 {
		return fmt.Errorf("the tests need %s, and no package of this platform is known for %s: install that by hand", list, strings.Join(way.Unknown, ", "))
	}
	if !install {
		return fmt.Errorf("the tests need %s. Install it with `%s`, or run check with --install", list, way)
	}
	fmt.Fprintf(out, "The tests need %s, which this machine lacks.\n", list)
	if err := way.Run(ctx, out); err != nil {
		return err
	}
	return nil
}
