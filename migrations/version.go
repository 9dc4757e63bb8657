package migrations

import (
	"context"
	"errors"
	"fmt"

	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
)

// Latest is the version of the schema that this program works with.
func Latest() (uint, error) {
	source, err := iofs.New(files, ".")
	if err != nil {
		return 0, fmt.Errorf("embedded migrations: %w", err)
	}
	version, err := source.First()
	for err == nil {
		next, nextErr := source.Next(version)
		if nextErr != nil {
			break // the newest has none after it
		}
		version = next
	}
	return version, err
}

// Version is the version of the schema in the database at url, 0 where there is
// none. Interrupted is true where a migration to it did not come to its end. It
// changes nothing.
func Version(ctx context.Context, url string) (version uint, interrupted bool, err error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return 0, false, err
	}
	defer conn.Close(ctx)
	return VersionWithin(ctx, conn)
}

// asker is a connection or a transaction.
type asker interface {
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

// VersionWithin is Version for a connection or a transaction.
func VersionWithin(ctx context.Context, c asker) (version uint, interrupted bool, err error) {
	var made bool
	if err := c.QueryRow(ctx, `SELECT to_regclass('schema_migrations') IS NOT NULL`).Scan(&made); err != nil || !made {
		return 0, false, err
	}
	err = c.QueryRow(ctx, `SELECT version, dirty FROM schema_migrations`).Scan(&version, &interrupted)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, false, nil
	}
	return version, interrupted, err
}
