package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/golang-migrate/migrate/v4"
	"github.com/jackc/pgx/v5"

	"pullbook/migrations"
)

type restoreCommand struct {
	File string `arg:"" type:"existingfile" help:"A file that pullbook backup wrote."`
	databaseSettings
	logSettings `set:"log_level=warn"`
}

func (c *restoreCommand) Help() string {
	return `Reads the file into a database that holds no outfit, whole or not at all, brings it up to date with this program and audits it. Pullbook must not be serving from that database.

To go back to a backup while there is a newer book, restore into another folder (--data) or another database, look at it, and then serve from there. Nothing is ever overwritten.`
}

func (c *restoreCommand) Run(ctx context.Context, term *terminal) error {
	return alone(ctx, term, c.databaseSettings, c.logSettings, func(books *store) error {
		return c.restore(ctx, term, books)
	})
}

func (c *restoreCommand) restore(ctx context.Context, term *terminal, books *store) error {
	if err := books.restore(ctx, c.File); err != nil {
		return err
	}
	d, err := books.operator(ctx)
	if err != nil {
		return err
	}
	defer d.Close()
	outfits, err := d.Outfits(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(term.Out, "Restored from %s:\n", c.File)
	return auditAll(ctx, term, d, outfits)
}

func (s *store) restore(ctx context.Context, file string) error {
	if err := s.isBackup(ctx, file); err != nil {
		return err
	}
	if err := s.requireEmpty(ctx); err != nil {
		return fmt.Errorf("%w, and a backup is only restored into an empty one: give another folder with --data, or another database", err)
	}
	// The backup names the roles that the first migration makes. What else that
	// makes gives way to what the backup holds.
	m, err := migrations.Open(s.owner())
	if err != nil {
		return err
	}
	defer m.Close()
	if err := m.Migrate(1); err != nil && !errors.Is(err, migrate.ErrNoChange) {
		return err
	}
	err = s.tool(ctx, io.Discard, "pg_restore", "--clean", "--if-exists", "--no-owner", "--single-transaction", "--exit-on-error", file)
	if err != nil {
		return errors.Join(fmt.Errorf("nothing was restored: %w", err), m.Down())
	}
	return upgrade(ctx, s.owner())
}

// isBackup refuses a file that is no backup of books before anything is changed.
func (s *store) isBackup(ctx context.Context, file string) error {
	var list bytes.Buffer
	if err := s.runTool(ctx, &list, "", "pg_restore", "--list", file); err != nil {
		return fmt.Errorf("%s is not a file that pullbook backup wrote: %w", file, err)
	}
	for _, table := range []string{"schema_migrations", "outfit", "book", "entry", "claim"} {
		if !bytes.Contains(list.Bytes(), []byte(" TABLE DATA public "+table+" ")) {
			return fmt.Errorf("%s is not a file that pullbook backup wrote: it has no table %s", file, table)
		}
	}
	return nil
}

const sqlOtherTables = `
SELECT count(*)
  FROM pg_class c
  JOIN pg_namespace n ON n.oid = c.relnamespace
 WHERE c.relkind IN ('r', 'p', 'v', 'm', 'f')
   AND c.relname <> 'schema_migrations'
   AND n.nspname NOT IN ('pg_catalog', 'information_schema')
   AND n.nspname NOT LIKE 'pg\_%'`

// requireEmpty refuses a database that holds anything that could be lost.
func (s *store) requireEmpty(ctx context.Context) error {
	have, _, err := schemaVersions(ctx, s.owner())
	if err != nil {
		return err
	}
	if have == 0 {
		return requireNoTables(ctx, s.owner())
	}
	// The owner of the tables may see no row of them; the operator sees all outfits.
	d, err := s.operator(ctx)
	if err != nil {
		return err
	}
	defer d.Close()
	outfits, err := d.Outfits(ctx)
	if err != nil {
		return err
	}
	if len(outfits) > 0 {
		return fmt.Errorf("the database holds the books of %s", names(outfits))
	}
	return nil
}

func requireNoTables(ctx context.Context, url string) error {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	var count int
	if err := conn.QueryRow(ctx, sqlOtherTables).Scan(&count); err != nil {
		return err
	}
	if count > 0 {
		return fmt.Errorf("the database holds tables of something else (%d)", count)
	}
	return nil
}
