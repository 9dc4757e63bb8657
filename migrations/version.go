package migrations

import (
	"context"
	"errors"
	"fmt"

	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
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
	err = conn.QueryRow(ctx, `SELECT version, dirty FROM schema_migrations`).Scan(&version, &interrupted)
	var refused *pgconn.PgError
	if errors.Is(err, pgx.ErrNoRows) || errors.As(err, &refused) && refused.Code == undefinedTable {
		return 0, false, nil
	}
	return version, interrupted, err
}

const undefinedTable = "42P01"
