package db

import (
	"context"
	"errors"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

const sqlSignInOutfit = `SELECT set_config('pullbook.sign_in_outfit', lower($1), true)`

const sqlOutfitsCalled = `
SELECT outfit_id
  FROM outfit
 WHERE lower(btrim(name)) = lower($1)
 ORDER BY created_at, outfit_id`

func (d *DB) outfitsCalled(ctx context.Context, name string) (ids []uuid.UUID, err error) {
	batch := &pgx.Batch{}
	batch.Queue(sqlSignInOutfit, name)
	batch.Queue(sqlOutfitsCalled, name).Query(func(rows pgx.Rows) (err error) {
		ids, err = pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
		return err
	})
	return ids, d.Pool.SendBatch(ctx, batch).Close()
}

const sqlPersonByName = `
SELECT person_id, session_generation, coalesce(password_hash, '')
  FROM person
 WHERE outfit_id = $1
   AND lower(btrim(name)) = lower($2)
   AND left_at IS NULL`

// Named is a person who has the outfit's name and the person's name that somebody typed.
// There may be several: two outfits may have the same name.
type Named struct {
	Session
	hash string
}

// Named finds people by outfit and name, whatever the case and the blanks around them.
func (d *DB) Named(ctx context.Context, outfit, person string) (all []Named, err error) {
	defer fault.Wrap(&err, "find who signs in")
	ids, err := d.outfitsCalled(ctx, strings.TrimSpace(outfit))
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		n := Named{Session: Session{Outfit: id}}
		err := d.row(ctx, id, []any{&n.Person, &n.Generation, &n.hash}, sqlPersonByName, strings.TrimSpace(person))
		if err == nil {
			all = append(all, n)
		} else if !errors.Is(err, pgx.ErrNoRows) {
			return nil, err
		}
	}
	return all, nil
}

// SignInByPassword opens a session for the one whose password it is. An unknown outfit, an
// unknown person and a wrong password get the same fault after the same time.
func (d *DB) SignInByPassword(ctx context.Context, named []Named, password string) (s Session, err error) {
	defer fault.Wrap(&err, "sign in")
	if len(named) == 0 {
		named = []Named{{}}
	}
	for _, n := range named {
		if ok, err := matches(ctx, password, n.hash); err != nil || ok {
			return n.Session, err
		}
	}
	return Session{}, fault.New(fault.SignIn, "This is not the right password for that name and outfit. A manager can give you a new one.")
}
