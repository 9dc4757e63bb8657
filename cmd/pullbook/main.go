// Command pullbook keeps the book behind a honey house.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
	_ "time/tzdata" // outfits name their time zones, and a bare machine may know none

	"github.com/alecthomas/kong"
	"github.com/mattn/go-isatty"

	"pullbook/domain/fault"
)

// The exit statuses: done, failed, or asked for something that there is not.
const (
	exitDone    = 0
	exitFailed  = 1
	exitMisused = 2
	// exitUnread is the audit's where a book is unaltered and cannot all be read.
	exitUnread = 3
	// exitNoRoom is that of "backup --to" where a disk has no room for it, or for its check.
	exitNoRoom = 4
)

func main() { os.Exit(run(os.Args[1:], stopSignals())) }

// terminal is what a command reads from and writes to: answers on Out, the rest
// on Err.
type terminal struct {
	In       io.Reader
	Out, Err io.Writer
	// Asks is true where a person sits at In.
	Asks bool
	// Line says how far work is, to whom looks on at Err; nil where nobody does.
	Line *statusLine
}

func run(args []string, ctx context.Context) int {
	term := &terminal{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Asks: isatty.IsTerminal(os.Stdin.Fd()), Line: statusLineOf(os.Stderr)}
	exit, ended := exitDone, false
	parser, err := newParser(kong.Exit(func(code int) { exit, ended = code, true }),
		kong.Bind(term), kong.BindTo(ctx, (*context.Context)(nil)))
	if err != nil {
		fmt.Fprintln(term.Err, "pullbook:", err)
		return exitFailed
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	parsed, err := parser.Parse(args)
	switch {
	case ended: // help was asked for
		return exit
	case err != nil:
		return misused(term, err)
	}
	if err := parsed.Run(); err != nil {
		fmt.Fprintln(term.Err, "pullbook:", sentence(err))
		if errors.As(err, new(*unreadBooks)) {
			return exitUnread
		}
		if ended := new(withStatus); errors.As(err, &ended) {
			return ended.status
		}
		return exitFailed
	}
	return exitDone
}

// withStatus ends the program with an exit status of its own.
type withStatus struct {
	error
	status int
}

func (w *withStatus) Unwrap() error { return w.error }

func misused(term *terminal, err error) int {
	command := "pullbook"
	var parse *kong.ParseError
	if errors.As(err, &parse) && parse.Context.Command() != "" {
		command = parse.Context.Selected().FullPath()
	}
	fmt.Fprintf(term.Err, "pullbook: %v\nRun `%s --help` to see what there is.\n", err, command)
	return exitMisused
}

// sentence is what went wrong in words for a beekeeper, without the steps on
// the way there.
func sentence(err error) string {
	var f *fault.Error
	if errors.As(err, &f) {
		return f.Error()
	}
	return err.Error()
}

// stopSignals gives a context that ends when the program is asked to stop. Who
// asks again does not want to wait.
func stopSignals() context.Context {
	ctx, stop := context.WithCancel(context.Background())
	asked := make(chan os.Signal, 2)
	signal.Notify(asked, os.Interrupt, syscall.SIGTERM)
	go func() {
		<-asked
		stop()
		first := time.Now()
		for range asked {
			// Some tell the program and its whole group: that is one wish.
			if time.Since(first) > time.Second {
				fmt.Fprintln(os.Stderr, "pullbook: stopped at once; nothing acknowledged is lost, and the next start recovers")
				os.Exit(exitFailed)
			}
		}
	}()
	return ctx
}
