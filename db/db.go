// Package db keeps outfits, their people and their entries in PostgreSQL. All SQL is
// here, one file a noun.
package db

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"pullbook/db/away"
	"pullbook/domain/fault"
)

// The roles that the migrations make.
const (
	ServiceRole  = "pullbook_service"
	OperatorRole = "pullbook_operator"
)

// DB is a pool of connections that act as one of the roles.
type DB struct {
	Pool *pgxpool.Pool
	// Now is the service's clock.
	Now func() time.Time
	// Room returns an error while the disk has no room for anything new; nil where
	// nobody knows.
	Room func() error
	// Away remembers who may read while the database is away.
	Away *away.Memory

	sessions, feedKeys, tablets *away.Answers
	// by is who changes an outfit's tables; empty where nobody may. See As.
	by string
}

// Open connects to the database at url and acts as role, whatever the role the
// address signs in with. The migrations must have been run.
func Open(ctx context.Context, url, role string, connections int) (_ *DB, err error) {
	defer fault.Wrap(&err, "open the database as %s", role)
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, err
	}
	config.MaxConns = int32(connections)
	// Every statement here touches few rows by key, so that planning one anew
	// for its arguments costs more than running it.
	config.ConnConfig.RuntimeParams["plan_cache_mode"] = "force_generic_plan"
	// An import by another process holds an outfit's book: what waits for it gives
	// way, so that the entries of other outfits in one group with it do not wait too.
	config.ConnConfig.RuntimeParams["lock_timeout"] = "3s"
	config.AfterConnect = func(ctx context.Context, c *pgx.Conn) error {
		_, err := c.Exec(ctx, "SET ROLE "+pgx.Identifier{role}.Sanitize())
		return err
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, err
	}
	if err := pool.Ping(ctx); err != nil {
		pool.Close()
		return nil, err
	}
	memory := away.NewMemory()
	d := &DB{Pool: pool, Now: time.Now, Away: memory, sessions: memory.NewAnswers(), feedKeys: memory.NewAnswers(), tablets: memory.NewAnswers()}
	if role == OperatorRole {
		d.by = TheOperator
	}
	return d, nil
}

// Close closes all connections.
func (d *DB) Close() { d.Pool.Close() }

// CheckRoom returns an error while the disk has no room for anything new.
func (d *DB) CheckRoom() error {
	if d.Room == nil {
		return nil
	}
	return d.Room()
}

const sqlThisOutfit = `SELECT set_config('pullbook.outfit', $1, true)`

// forOutfit queues statements that see one outfit's rows and nothing else, and
// sends them in one round trip and one transaction.
func (d *DB) forOutfit(ctx context.Context, outfit uuid.UUID, queue func(*pgx.Batch)) error {
	batch := &pgx.Batch{}
	batch.Queue(sqlThisOutfit, outfit.String())
	queue(batch)
	return d.Pool.SendBatch(ctx, batch).Close()
}

// row runs a statement about an outfit, its first argument, and scans the one row that it
// returns. It fails with pgx.ErrNoRows where there is none.
func (d *DB) row(ctx context.Context, outfit uuid.UUID, into []any, sql string, args ...any) error {
	return d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sql, append([]any{outfit}, args...)...).QueryRow(func(row pgx.Row) error { return row.Scan(into...) })
	})
}

// list runs a statement about an outfit, its first argument, and returns all rows.
func list[T any](ctx context.Context, d *DB, outfit uuid.UUID, scan pgx.RowToFunc[T], sql string, args ...any) (all []T, err error) {
	err = d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sql, append([]any{outfit}, args...)...).Query(func(rows pgx.Rows) (err error) {
			all, err = pgx.CollectRows(rows, scan)
			return err
		})
	})
	return all, err
}

// inOutfit runs f in a transaction that sees one outfit's rows and nothing else.
func (d *DB) inOutfit(ctx context.Context, outfit uuid.UUID, options pgx.TxOptions, f func(pgx.Tx) error) error {
	return pgx.BeginTxFunc(ctx, d.Pool, options, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, sqlThisOutfit, outfit.String()); err != nil {
			return fmt.Errorf("name the outfit: %w", err)
		}
		return f(tx)
	})
}
