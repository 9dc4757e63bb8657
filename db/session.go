package db

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db/away"
	"pullbook/domain/fault"
)

// Sessions stores the pages' sessions in the database, for the scs library. The context of
// each call names the outfit (WithOutfit), so that no query goes across outfits.
type Sessions struct{ *DB }

type outfitKey struct{}

// WithOutfit returns a context whose sessions are those of an outfit.
func WithOutfit(ctx context.Context, outfit uuid.UUID) context.Context {
	return context.WithValue(ctx, outfitKey{}, outfit)
}

type endingKey struct{}

// Ending returns a context whose session is about to end. No reader gets this session from
// memory any more, even where the database is away and cannot end it.
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

// FindCtx returns a session's data. While the database is away, a reader gets the data as
// they were.
func (s Sessions) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	defer fault.Wrap(&err, "find a session")
	outfit, _ := ctx.Value(outfitKey{}).(uuid.UUID)
	if ctx.Value(endingKey{}) != nil {
		s.sessions.End(sessionKey{outfit, token})
	}
	row, err := away.AskOrRecall(ctx, s.sessions, outfit, sessionKey{outfit, token}, s.Now(), func(ctx context.Context) (r sessionRow, err error) {
		err = s.forSession(ctx, func(outfit uuid.UUID, b *pgx.Batch) {
			b.Queue(sqlFindSession, outfit, token).QueryRow(func(row pgx.Row) error { return row.Scan(&r.data, &r.expiry) })
		})
		return r, err
	})
	if errors.Is(err, pgx.ErrNoRows) || err == nil && !row.expiry.After(s.Now()) {
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

// CommitCtx stores a session, and deletes those of the outfit that have expired.
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
	s.sessions.End(sessionKey{outfit, token})
	return s.forSession(ctx, func(outfit uuid.UUID, b *pgx.Batch) {
		b.Queue(sqlDeleteSession, outfit, token)
	})
}

// Find, Commit and Delete are for the library's interface. They fail: without a context no
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

// Session is what a browser's session stands for: a person, or a shed tablet
// with the person who unlocked it.
type Session struct {
	Outfit uuid.UUID
	// Person is nil for a tablet that nobody has unlocked.
	Person uuid.UUID
	// Generation is the person's when the session began: signing out everywhere
	// moves it on.
	Generation int
	// Tablet is nil for a person's own device.
	Tablet uuid.UUID
}

const sqlSessionPrincipal = `
SELECT p.person_id, p.name, p.role, b.access, o.units, o.time_zone
  FROM person p
  JOIN book b USING (outfit_id)
  JOIN outfit o USING (outfit_id)
 WHERE p.outfit_id = $1
   AND p.person_id = $2
   AND p.session_generation = $3
   AND p.left_at IS NULL
   AND ($4::uuid IS NULL OR EXISTS (
       SELECT FROM tablet t WHERE t.outfit_id = $1 AND t.tablet_id = $4 AND t.revoked_at IS NULL))`

// Key tells the session from all other credentials.
func (s Session) Key() [sha256.Size]byte {
	return sha256.Sum256(fmt.Appendf(nil, "session %s %s %d %s", s.Outfit, s.Person, s.Generation, s.Tablet))
}

// Principal returns the person of a session. A tablet is unlocked by a few digits, so a
// manager at a tablet may do only what crew may.
func (s Session) Principal(ctx context.Context, d *DB) (p Principal, err error) {
	defer fault.Wrap(&err, "look up a session")
	if s.Person == uuid.Nil {
		return p, errLocked
	}
	p.Outfit = s.Outfit
	tablet := uuid.NullUUID{UUID: s.Tablet, Valid: s.Tablet != uuid.Nil}
	err = d.row(ctx, s.Outfit, []any{&p.Person, &p.Name, &p.Role, &p.Access, &p.Reads.Units, &p.Reads.TimeZone}, sqlSessionPrincipal, s.Person, s.Generation, tablet)
	if errors.Is(err, pgx.ErrNoRows) {
		return p, fault.New(fault.SignIn, "You were signed out: please sign in again.")
	}
	if tablet.Valid && p.Role == Manager {
		p.Role = Crew
	}
	return p, err
}

// errLocked says that a tablet is signed in, and that nobody has unlocked it.
var errLocked = fault.New(fault.SignIn, "This tablet is locked: choose your name and type your code.")
