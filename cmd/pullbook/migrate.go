package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/golang-migrate/migrate/v4"

	"pullbook/migrations"
)

type migrateCommand struct {
	DownTo *uint `name:"down-to" placeholder:"VERSION" help:"For developers: go down to this version of the schema. What newer versions keep is LOST; 0 loses every book."`
	databaseSettings
	logSettings `set:"log_level=warn"`
}

func (c *migrateCommand) Help() string {
	return `Needed once for a database given by its URL, and again after each change of program; make a backup first. The address has to sign in as a role that may create tables and roles. The private PostgreSQL is brought up to date by "pullbook serve" itself.`
}

func (c *migrateCommand) Run(ctx context.Context, term *terminal) (err error) {
	log, err := c.logger(term.Err)
	if err != nil {
		return err
	}
	books, err := c.open(ctx, term, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, books.close()) }()
	if books.server != nil {
		if err := books.ready(ctx); err != nil {
			return err
		}
	}
	if c.DownTo != nil {
		err = goDown(ctx, books.owner(), *c.DownTo)
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

// goDown takes migrations back until the schema has the version.
func goDown(ctx context.Context, url string, version uint) error {
	have, _, err := schemaVersions(ctx, url)
	if err != nil {
		return err
	}
	if version >= have {
		return fmt.Errorf("the database has schema version %d: --down-to takes a lower one", have)
	}
	m, err := migrations.Open(url)
	if err != nil {
		return err
	}
	defer m.Close()
	if version == 0 {
		err = m.Down()
	} else {
		err = m.Migrate(version)
	}
	if errors.Is(err, migrate.ErrNoChange) {
		return nil
	}
	return err
}
