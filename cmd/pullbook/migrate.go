package main

import (
	"context"
	"fmt"

	"pullbook/migrations"
)

type migrateCommand struct {
	DownTo    *uint `name:"down-to" placeholder:"VERSION" help:"For developers: go down to this version of the schema. What newer versions keep is LOST; 0 loses every book."`
	LoseBooks bool  `name:"lose-books" help:"For developers: go down also where there are books."`
	databaseSettings
	logSettings `set:"log_level=warn"`
}

func (c *migrateCommand) Help() string {
	return `Needed once for a database given by its URL, and again after each change of program; make a backup first. The address has to sign in as a role that may create tables and roles. The private PostgreSQL is brought up to date by "pullbook serve" itself.`
}

func (c *migrateCommand) Run(ctx context.Context, term *terminal) error {
	return alone(ctx, term, c.databaseSettings, c.logSettings, func(books *store) error {
		return c.migrate(ctx, term, books)
	})
}

func (c *migrateCommand) migrate(ctx context.Context, term *terminal, books *store) (err error) {
	if c.DownTo != nil {
		err = c.goDown(ctx, books)
	} else {
		err = upgrade(ctx, books.owner())
	}
	if err != nil {
		return err
	}
	have, _, err := migrations.Version(ctx, books.owner())
	if err != nil {
		return err
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
		if err := books.requireEmpty(ctx); err != nil {
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
