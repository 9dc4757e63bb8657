package migrations

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"

	"github.com/golang-migrate/migrate/v4/source"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
)

const (
	sqlVersionTable = `CREATE TABLE IF NOT EXISTS schema_migrations (version bigint NOT NULL PRIMARY KEY, dirty boolean NOT NULL)`
	sqlSetVersion   = `UPDATE schema_migrations SET version = $1, dirty = false`
	sqlFirstVersion = `INSERT INTO schema_migrations (version, dirty) SELECT 0, false WHERE NOT EXISTS (SELECT FROM schema_migrations)`
)

// MoveWithin brings the schema up or down to a version in a transaction, so that
// this and what else the transaction does are done together or not at all.
func MoveWithin(ctx context.Context, tx pgx.Tx, to uint) error {
	have, interrupted, err := VersionWithin(ctx, tx)
	if err != nil {
		return err
	}
	if interrupted {
		return fmt.Errorf("a change of the schema to version %d was interrupted", have)
	}
	files, err := iofs.New(files, ".")
	if err != nil {
		return fmt.Errorf("embedded migrations: %w", err)
	}
	for _, sql := range []string{sqlVersionTable, sqlFirstVersion} {
		if _, err := tx.Exec(ctx, sql); err != nil {
			return err
		}
	}
	for have != to {
		if have, err = step(ctx, tx, files, have, to); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlSetVersion, int64(have)); err != nil {
			return err
		}
	}
	return nil
}

// step runs one migration from have in the direction of to.
func step(ctx context.Context, tx pgx.Tx, files source.Driver, have, to uint) (now uint, err error) {
	var sql io.ReadCloser
	switch {
	case have > to:
		if sql, _, err = files.ReadDown(have); err != nil {
			return have, err
		}
		if now, err = files.Prev(have); errors.Is(err, fs.ErrNotExist) {
			now, err = 0, nil
		}
	case have == 0:
		if now, err = files.First(); err == nil {
			sql, _, err = files.ReadUp(now)
		}
	default:
		if now, err = files.Next(have); err == nil {
			sql, _, err = files.ReadUp(now)
		}
	}
	if err != nil {
		return have, fmt.Errorf("embedded migrations: %w", err)
	}
	defer sql.Close()
	text, err := io.ReadAll(sql)
	if err != nil {
		return have, err
	}
	// Without arguments several statements go to the server as one text.
	if _, err := tx.Conn().PgConn().Exec(ctx, string(text)).ReadAll(); err != nil {
		return have, fmt.Errorf("migration %d: %w", max(have, now), err)
	}
	return now, nil
}
