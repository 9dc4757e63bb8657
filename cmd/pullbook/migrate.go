package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"pullbook/migrations"
)

type migrateCommand struct {
	DownTo    *uint `name:"down-to" placeholder:"VERSION" help:"For developers: go down to this version of the schema. What newer versions keep is LOST; 0 loses every book."`
	LoseBooks bool  `name:"lose-books" help:"For developers: go down even if there are books."`
	Mend      bool  `name:"mend" help:"Put right what protects the books, if somebody changed it: functions, policies, triggers, grants, roles. The command says what it runs."`
	Without   bool  `name:"without-backup" help:"Make no backup before the new schema."`
	databaseSettings
	logSettings `set:"log_level=warn"`
}

func (c *migrateCommand) Help() string {
	return `A database given by its URL needs this once, and again after each change of program. With --backup-to the command makes a backup first and tries the new schema on a copy that was restored from it; without that, make one yourself. The URL has to name a role that may create tables and roles. "pullbook serve" brings the private PostgreSQL up to date by itself.`
}

func (c *migrateCommand) Run(ctx context.Context, term *terminal) error {
	where := c.databaseSettings
	where.WithoutBackup = c.Without
	return alone(ctx, term, where, c.logSettings, func(books *store) error {
		return c.migrate(ctx, term, books)
	})
}

// schemaChanged is said between the new version of the schema and the one before.
const schemaChanged = "; before it was"

func (c *migrateCommand) migrate(ctx context.Context, term *terminal, books *store) (err error) {
	switch {
	case c.DownTo != nil:
		err = c.goDown(ctx, books)
	case c.Mend:
		if err = books.upgrade(ctx); err == nil {
			err = within(ctx, books.owner(), func(tx pgx.Tx) error { return mend(ctx, term, tx) })
		}
	default:
		err = books.upgrade(ctx)
	}
	if err != nil {
		return err
	}
	have, _, err := migrations.Version(ctx, books.owner())
	if err != nil {
		return err
	}
	if books.had > 0 {
		fmt.Fprintf(term.Out, "The database has schema version %d%s %d.\n", have, schemaChanged, books.had)
		return nil
	}
	fmt.Fprintf(term.Out, "The database has schema version %d.\n", have)
	return nil
}

// goDown takes migrations back until the schema has the version asked for.
func (c *migrateCommand) goDown(ctx context.Context, books *store) error {
	have, _, err := schemaVersions(ctx, books.owner())
	if err != nil {
		return err
	}
	if *c.DownTo >= have {
		return fmt.Errorf("the database has schema version %d: --down-to takes a lower one", have)
	}
	if !c.LoseBooks {
		if err := requireEmpty(ctx, books.owner()); err != nil {
			return fmt.Errorf("%w (--lose-books goes down all the same)", err)
		}
	}
	m, err := migrations.Open(books.owner())
	if err != nil {
		return err
	}
	defer m.Close()
	if *c.DownTo == 0 {
		return m.Down()
	}
	return m.Migrate(*c.DownTo)
}

// requireEmpty refuses a database that holds books.
func requireEmpty(ctx context.Context, url string) error {
	return within(ctx, url, func(tx pgx.Tx) error { return emptyWithin(ctx, tx) })
}

// within runs f in a transaction of a connection of its own.
func within(ctx context.Context, url string, f func(pgx.Tx) error) (err error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close(context.WithoutCancel(ctx))) }()
	return pgx.BeginFunc(ctx, conn, f)
}
