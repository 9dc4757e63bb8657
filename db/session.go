package db

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

// Sessions keeps the pages' sessions in the database, for the scs library. Each
// call's context names the outfit (WithOutfit), so that no look goes across them.
type Sessions struct{ *DB }

type outfitKey struct{}

// WithOutfit is a context whose sessions are an outfit's.
func WithOutfit(ctx context.Context, outfit uuid.UUID) context.Context {
	return context.WithValue(ctx, outfitKey{}, outfit)
}

type endingKey struct{}

// Ending is a context whose session is about to end: from here on no reader is told of it
// while the database is away, whether it can be ended there or not.
func Ending(ctx context.Context) context.Context {
	return context.WithValue(ctx, endingKey{}, true)
}

var errNoOutfit = errors.New("the context names no outfit")

// forSession is forOutfit for the outfit that the context names.
func (s Sessions) forSession(ctx context.Context, queue func(uuid.UUID, *pgx.Batch)) error {
	outfit, ok := ctx.Value(outfitKey{}).(uuid.UUID)
	if !ok {
		return errNoOutfit
	}
	return s.forOutfit(ctx, outfit, func(b *pgx.Batch) { queue(outfit, b) })
}

const sqlFindSession = `
SELECT data, expiry
  FROM session
 WHERE outfit_id = $1
   AND token = $2
   AND expiry > now()`

type sessionKey struct {
	outfit uuid.UUID
	token  string
}

type sessionRow struct {
	data   []byte
	expiry time.Time
}

// FindCtx gives a session's data; while the database is away, a reader's as it was.
func (s Sessions) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	defer fault.Wrap(&err, "find a session")
	outfit, _ := ctx.Value(outfitKey{}).(uuid.UUID)
	if ctx.Value(endingKey{}) != nil {
		s.away.end(s.away.sessions, sessionKey{outfit, token})
	}
	row, err := askOrRecall(ctx, s.DB, outfit, s.away.sessions, sessionKey{outfit, token}, func(ctx context.Context) (r sessionRow, err error) {
		err = s.forSession(ctx, func(outfit uuid.UUID, b *pgx.Batch) {
			b.Queue(sqlFindSession, outfit, token).QueryRow(func(row pgx.Row) error { return row.Scan(&r.data, &r.expiry) })
		})
		return r, err
	})
	if errors.Is(err, pgx.ErrNoRows) || err == nil && !row.expiry.After(time.Now()) {
		return nil, false, nil
	}
	return row.data, err == nil, err
}

const sqlCommitSession = `
INSERT INTO session (outfit_id, token, data, expiry)
VALUES ($1, $2, $3, $4)
ON CONFLICT (outfit_id, token) DO UPDATE SET data = EXCLUDED.data, expiry = EXCLUDED.expiry`

const sqlForgetSessions = `
DELETE FROM session
 WHERE outfit_id = $1
   AND expiry <= now()`

// CommitCtx keeps a session, and forgets the outfit's that are over.
func (s Sessions) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) (err error) {
	defer fault.Wrap(&err, "keep a session")
	return s.forSession(ctx, func(outfit uuid.UUID, b *pgx.Batch) {
		b.Queue(sqlForgetSessions, outfit)
		b.Queue(sqlCommitSession, outfit, token, data, expiry)
	})
}

const sqlDeleteSession = `
DELETE FROM session
 WHERE outfit_id = $1
   AND token = $2`

// DeleteCtx ends a session.
func (s Sessions) DeleteCtx(ctx context.Context, token string) (err error) {
	defer fault.Wrap(&err, "end a session")
	outfit, _ := ctx.Value(outfitKey{}).(uuid.UUID)
	s.away.end(s.away.sessions, sessionKey{outfit, token})
	return s.forSession(ctx, func(outfit uuid.UUID, b *pgx.Batch) {
		b.Queue(sqlDeleteSession, outfit, token)
	})
}

// Find, Commit and Delete are the library's way without a context, by which no
// outfit is named.
func (s Sessions) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

// Commit is as Find.
func (s Sessions) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

// Delete is as Find.
func (s Sessions) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }
