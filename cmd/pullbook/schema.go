package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"pullbook/db/local"
	"pullbook/domain/fault"
	"pullbook/migrations"
)

// ready makes sure that the schema is the one this program works with. The
// private database is brought up to date; one that was given is left alone.
func (s *store) ready(ctx context.Context) (err error) {
	defer fault.Wrap(&err, "look at the schema")
	if s.server == nil {
		return checkSchema(ctx, s.owner())
	}
	made, err := s.exists(ctx)
	if err != nil {
		return err
	}
	if !made {
		return s.create(ctx)
	}
	return s.upgrade(ctx)
}

// checkSchema refuses a database that is older or newer than the program.
func checkSchema(ctx context.Context, url string) error {
	have, want, err := schemaVersions(ctx, url)
	switch {
	case err != nil:
		return err
	case have == 0:
		return fmt.Errorf("the database has no books yet: run `pullbook migrate` with the same settings")
	case have < want:
		return fmt.Errorf("the database is older than this program (schema version %d, and %d is needed): make a backup, then run `pullbook migrate` with the same settings", have, want)
	}
	return nil
}

// upgrade brings a database up to date. One with books is backed up first.
func (s *store) upgrade(ctx context.Context) error {
	have, want, err := schemaVersions(ctx, s.owner())
	if err != nil || have == want {
		return err
	}
	if have > 0 {
		switch held, err := s.holdsBooks(ctx); {
		case err != nil:
			return err
		case held && !s.withoutBackup:
			if err := s.backupBefore(ctx, want, s.log); err != nil {
				return err
			}
		}
	}
	if err := migrations.Up(s.owner()); err != nil {
		return err
	}
	s.had = have
	return nil
}

// holdsBooks reports whether a database of any version has an outfit.
func (s *store) holdsBooks(ctx context.Context) (held bool, err error) {
	err = within(ctx, s.owner(), func(tx pgx.Tx) error {
		return tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM outfit)`).Scan(&held)
	})
	return held, err
}

// schemaVersions gives the version that the database has and the one that the
// program works with. It fails where the database is newer, or half changed.
func schemaVersions(ctx context.Context, url string) (have, want uint, err error) {
	return versionsOf(migrations.Version(ctx, url))
}

// versionsOf is schemaVersions for what was asked already.
func versionsOf(have uint, interrupted bool, err error) (_, want uint, _ error) {
	if err != nil {
		return 0, 0, err
	}
	if want, err = migrations.Latest(); err != nil {
		return 0, 0, err
	}
	switch {
	case interrupted:
		return 0, 0, fmt.Errorf("a change of the schema to version %d was interrupted, and whether it was made is not known: restore the last backup into an empty database", have)
	case have > want:
		return 0, 0, fmt.Errorf("the database is newer than this program (schema version %d, and the program knows up to %d): use the program that made it, or a later one", have, want)
	}
	return have, want, nil
}

// exists reports whether the private PostgreSQL has the database of the books.
func (s *store) exists(ctx context.Context) (made bool, err error) {
	err = s.atServer(ctx, func(c *pgx.Conn) error {
		return c.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, bookDatabase).Scan(&made)
	})
	return made, err
}

// create makes the database of the books under another name and renames it when
// it is complete, so that a half-made one is never used.
func (s *store) create(ctx context.Context) error {
	const unfinished = bookDatabase + "_new"
	err := s.atServer(ctx, func(c *pgx.Conn) error {
		if _, err := c.Exec(ctx, `DROP DATABASE IF EXISTS `+unfinished); err != nil {
			return err
		}
		_, err := c.Exec(ctx, `CREATE DATABASE `+unfinished)
		return err
	})
	if err != nil {
		return err
	}
	if err := migrations.Up(s.server.URLFor(local.Superuser, unfinished)); err != nil {
		return err
	}
	return s.atServer(ctx, func(c *pgx.Conn) error {
		_, err := c.Exec(ctx, `ALTER DATABASE `+unfinished+` RENAME TO `+bookDatabase)
		return err
	})
}

// atServer works in the database that every PostgreSQL has.
func (s *store) atServer(ctx context.Context, f func(*pgx.Conn) error) error {
	conn, err := pgx.Connect(ctx, s.server.URL())
	if err != nil {
		return err
	}
	return errors.Join(f(conn), conn.Close(context.WithoutCancel(ctx)))
}
