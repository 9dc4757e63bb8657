package main

import (
	"context"
	"errors"
	"fmt"
	"os"
)

type backupCommand struct {
	File string `arg:"" type:"path" help:"The file to write; one of that name is replaced once the new one is complete."`
	databaseSettings
	logSettings `set:"log_level=warn"`
}

func (c *backupCommand) Help() string {
	return `Writes every book as it is at one instant, also while pullbook serves it, in pg_dump's custom format. Tokens are in it as hashes only; everything else can be read by whoever has the file.`
}

func (c *backupCommand) Run(ctx context.Context, term *terminal) (err error) {
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
	size, err := books.dump(ctx, c.File)
	if err != nil {
		return err
	}
	fmt.Fprintf(term.Out, "Wrote %s (%.1f MB). Read it back with: pullbook restore %s\n", c.File, float64(size)/1e6, c.File)
	return nil
}

// dump writes the database to file, under another name until it is complete.
func (s *store) dump(ctx context.Context, file string) (size int64, err error) {
	unfinished := file + ".unfinished"
	out, err := os.OpenFile(unfinished, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600)
	if err != nil {
		return 0, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(unfinished))
		}
	}()
	err = s.tool(ctx, out, "pg_dump", "--format=custom", "--no-owner")
	if err == nil {
		err = out.Sync()
	}
	if err = errors.Join(err, out.Close()); err != nil {
		return 0, err
	}
	info, err := os.Stat(unfinished)
	if err != nil {
		return 0, err
	}
	return info.Size(), os.Rename(unfinished, file)
}
