package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/mattn/go-isatty"
)

type backupCommand struct {
	File string `arg:"" optional:"" type:"path" help:"The file to write. Once it is complete, it replaces a file of the same name. - writes to standard output."`
	To   string `name:"to" type:"path" placeholder:"FOLDER" help:"Folder into which a good backup goes, which was restored and audited; older ones are removed as the settings say."`
	keepSettings
	databaseSettings
	logSettings `set:"log_level=warn"`
}

func (c *backupCommand) Help() string {
	return `Writes every book as it is at one instant, also while pullbook serves it. The file ends with its length and its SHA-256, so that restore notices every byte that was changed, added or lost. It has tokens as hashes only. Whoever has the file can read everything else.

The file gets its name when it is complete and on the disk: if the program is killed or the disk is full, no part of it is left.

With --to it also reads the file back from its disk, restores it into a scratch database with a PostgreSQL of its own, audits every book there and compares the digests. Only then the file is called pullbook-TIME.backup. If it does not come back whole, it is called .doubtful. "pullbook serve --backup-to" does this every night. The exit status is 4 if a disk has no room for it.`
}

func (c *backupCommand) Run(ctx context.Context, term *terminal) (err error) {
	switch {
	case (c.File == "") == (c.To == ""):
		return errors.New("name either the file to write, or with --to the folder for good backups")
	case c.File == "-" && isatty.IsTerminal(os.Stdout.Fd()):
		return errors.New("a backup cannot be shown in a terminal: name a file, or send it on with | or >")
	}
	if err := c.keepSettings.check(); err != nil {
		return err
	}
	log, err := c.logger(term.Err)
	if err != nil {
		return err
	}
	books, err := c.openBeside(ctx, term, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, books.close()) }()
	if err := books.ready(ctx); err != nil {
		return err
	}
	if c.To != "" {
		return c.writeGood(ctx, term, books)
	}
	if c.File == "-" {
		_, err := books.dump(ctx, term.Out)
		return err
	}
	var size int64
	if err := writeWhole(c.File, func(out io.Writer) (err error) {
		size, err = books.dump(ctx, out)
		return err
	}); err != nil {
		return err
	}
	fmt.Fprintf(term.Out, "Wrote %s (%.1f MB). Read it back with: pullbook restore %s\n", c.File, float64(size)/1e6, c.File)
	return nil
}

// writeGood makes a good backup, and removes those that need not stay beside it.
func (c *backupCommand) writeGood(ctx context.Context, term *terminal, books *store) error {
	now := time.Now()
	good, err := books.makeGood(ctx, c.To, "", now, books.log)
	if errors.As(err, new(*noRoom)) {
		return &withStatus{err, exitNoRoom}
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(term.Out, "Wrote %s (%.1f MB). It was restored into a scratch database and audited:\n", good.file, float64(good.size)/1e6)
	for _, line := range good.books {
		fmt.Fprintln(term.Out, line)
	}
	return c.tidy(c.To, now, good.seasons)
}

// dump writes the database as a backup file, and returns the file's size.
func (s *store) dump(ctx context.Context, out io.Writer) (size int64, err error) {
	sealed := newSeal(out)
	err = s.tool(ctx, nil, sealed, "pg_dump", "--format=custom", "--no-owner")
	switch {
	case sealed.err != nil:
		return 0, sealed.err
	case err != nil && strings.Contains(err.Error(), "row-level security"):
		return 0, fmt.Errorf("nothing was written: who makes a backup has to see every outfit's rows, and owning the tables is not enough for that. Have a superuser run ALTER ROLE name BYPASSRLS for the role that the address signs in as, or sign in as a superuser (%w)", err)
	case err != nil:
		return 0, err
	}
	return sealed.close()
}
