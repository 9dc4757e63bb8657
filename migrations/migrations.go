// Package migrations holds the numbered SQL files that bring a database up to
// date, and takes them up and down.
package migrations

import (
	"embed"
	"errors"
	"fmt"

	"github.com/golang-migrate/migrate/v4"
	_ "github.com/golang-migrate/migrate/v4/database/pgx/v5" // the driver behind pgx5://
	"github.com/golang-migrate/migrate/v4/source/iofs"
)

//go:embed *.sql
var files embed.FS

// Open prepares the migrations for the database at url, a postgres:// address
// of a role that may create tables and roles.
func Open(url string) (*migrate.Migrate, error) {
	source, err := iofs.New(files, ".")
	if err != nil {
		return nil, fmt.Errorf("embedded migrations: %w", err)
	}
	m, err := migrate.NewWithSourceInstance("iofs", source, driverURL(url))
	if err != nil {
		return nil, fmt.Errorf("migrations: %w", err)
	}
	return m, nil
}

// Up brings the database at url up to date. It is no error if it is already.
func Up(url string) error {
	m, err := Open(url)
	if err != nil {
		return err
	}
	defer m.Close()
	if err := m.Up(); err != nil && !errors.Is(err, migrate.ErrNoChange) {
		return fmt.Errorf("migrations: %w", err)
	}
	return nil
}

// driverURL names the pgx driver in the way that golang-migrate picks it.
func driverURL(url string) string {
	for _, scheme := range []string{"postgres://", "postgresql://"} {
		if len(url) > len(scheme) && url[:len(scheme)] == scheme {
			return "pgx5://" + url[len(scheme):]
		}
	}
	return url
}
