package db

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db/away"
	"pullbook/domain/fault"
)

// Waits after wrong codes. A person has five tries at a tablet, then one after half a
// minute, a minute, two, and so on up to an hour: a code of four digits is found in
// about a year. The tablet as a whole has fifteen, so that nobody goes through the
// names, and waits up to ten minutes.
const (
	freeCodes         = 5
	longestCodeWait   = time.Hour
	freeCodesTablet   = 15
	longestTabletWait = 10 * time.Minute
)

// sqlTakeCode counts a code before it is checked, so that many at once cannot pass. It
// returns no row while there is a wait.
const sqlTakeCode = `
INSERT INTO wrong_code AS w (outfit_id, tablet_id, person_id, wrong, next_at)
VALUES ($1, $2, $3, 1, now())
ON CONFLICT (outfit_id, tablet_id, person_id) DO UPDATE
   SET wrong = w.wrong + 1,
       next_at = now() + CASE WHEN w.wrong + 1 < $4 THEN interval '0'
                              ELSE least($5::interval, interval '30 seconds' * 2 ^ least(w.wrong + 1 - $4, 16)) END
 WHERE w.next_at <= now()
RETURNING wrong`

const sqlCodeWait = `
SELECT coalesce(extract(epoch FROM max(next_at) - now()), 0)::float8
  FROM wrong_code
 WHERE outfit_id = $1
   AND tablet_id = $2
   AND person_id IN ($3, $4)`

const sqlRightCode = `
DELETE FROM wrong_code
 WHERE outfit_id = $1
   AND tablet_id = $2
   AND person_id IN ($3, $4)`

const sqlUnlock = `
SELECT p.session_generation, coalesce(p.unlock_hash, '')
  FROM person p
  JOIN tablet t USING (outfit_id)
 WHERE p.outfit_id = $1
   AND p.person_id = $2
   AND p.left_at IS NULL
   AND t.tablet_id = $3
   AND t.revoked_at IS NULL`

const sqlUseTablet = `
UPDATE tablet
   SET used_at = now()
 WHERE outfit_id = $1
   AND tablet_id = $2`

// Wait says how long no further code can be tried.
type Wait struct{ For time.Duration }

func (w Wait) Error() string { return "too many tries; the next in " + w.For.String() }

// Unlock puts a person at a tablet.
func (d *DB) Unlock(ctx context.Context, tablet Session, person uuid.UUID, code string) (s Session, err error) {
	defer fault.Wrap(&err, "unlock a tablet")
	s, hash := Session{Outfit: tablet.Outfit, Tablet: tablet.Tablet, Person: person}, ""
	err = d.row(ctx, s.Outfit, []any{&s.Generation, &hash}, sqlUnlock, person, s.Tablet)
	if errors.Is(err, pgx.ErrNoRows) {
		person = uuid.Nil // whoever that is, the tablet counts it
	} else if err != nil {
		return s, err
	}
	if err := d.takeCode(ctx, tablet, person); err != nil {
		return s, err
	}
	ok, err := matches(ctx, code, hash)
	if err != nil {
		return s, err
	}
	if !ok {
		return s, fault.New(fault.SignIn, "This is not the code of that name. A manager can give a new one.")
	}
	if common(code) { // chosen before such codes were refused
		return s, fault.New(fault.SignIn, "This code is among the first that anybody tries, so that it opens no tablet any more. Choose another under Settings on your own device, or have a manager give a new one.")
	}
	return s, d.forOutfit(ctx, s.Outfit, func(b *pgx.Batch) {
		b.Queue(sqlRightCode, s.Outfit, s.Tablet, person, uuid.Nil)
		b.Queue(sqlUseTablet, s.Outfit, s.Tablet)
	})
}

// takeCode counts a code that is tried, for the person and for the tablet.
func (d *DB) takeCode(ctx context.Context, tablet Session, person uuid.UUID) error {
	err := d.inOutfit(ctx, tablet.Outfit, pgx.TxOptions{}, func(tx pgx.Tx) error {
		take := func(of uuid.UUID, free int, most time.Duration) error {
			return tx.QueryRow(ctx, sqlTakeCode, tablet.Outfit, tablet.Tablet, of, free, most).Scan(new(int))
		}
		if err := take(uuid.Nil, freeCodesTablet, longestTabletWait); err != nil || person == uuid.Nil {
			return err
		}
		return take(person, freeCodes, longestCodeWait)
	})
	if !errors.Is(err, pgx.ErrNoRows) {
		return err
	}
	var seconds float64
	err = d.row(ctx, tablet.Outfit, []any{&seconds}, sqlCodeWait, tablet.Tablet, person, uuid.Nil)
	if err != nil {
		return err
	}
	return Wait{time.Duration(max(seconds, 1) * float64(time.Second))}
}

const sqlWrongCodes = `
SELECT person_id, sum(wrong)::int
  FROM wrong_code
 WHERE outfit_id = $1
 GROUP BY person_id`

// WrongCodes returns the number of wrong codes in a row at tablets, by person.
func (d *DB) WrongCodes(ctx context.Context, outfit uuid.UUID) (wrong map[uuid.UUID]int, err error) {
	defer fault.Wrap(&err, "list wrong codes")
	wrong = map[uuid.UUID]int{}
	err = d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sqlWrongCodes, outfit).Query(func(rows pgx.Rows) error {
			var person uuid.UUID
			var n int
			_, err := pgx.ForEachRow(rows, []any{&person, &n}, func() error {
				wrong[person] = n
				return nil
			})
			return err
		})
	})
	return wrong, err
}

const sqlForgetWrongCodes = `
DELETE FROM wrong_code
 WHERE outfit_id = $1
   AND tablet_id IN (SELECT tablet_id FROM wrong_code WHERE outfit_id = $1 AND person_id = $2)
   AND person_id IN ($2, $3)`

// ForgetWrongCodes lets a person try again at once, and the tablets with it.
func (d *DB) ForgetWrongCodes(ctx context.Context, outfit, person uuid.UUID) (err error) {
	defer fault.Wrap(&err, "forget wrong codes")
	return d.forOutfit(ctx, outfit, func(b *pgx.Batch) { b.Queue(sqlForgetWrongCodes, outfit, person, uuid.Nil) })
}

// tabletIdle is the time without use after which a tablet locks by itself.
const tabletIdle = 15 * time.Minute

const sqlTabletUsed = `
WITH used AS (
    UPDATE tablet
       SET used_at = now()
     WHERE outfit_id = $1
       AND tablet_id = $2
       AND $3
       AND used_at BETWEEN now() - $4::interval AND now() - interval '30 seconds')
SELECT used_at > now() - $4::interval
  FROM tablet
 WHERE outfit_id = $1
   AND tablet_id = $2`

// TabletUsed reports whether a tablet that was unlocked still is. A request that a person
// makes there keeps it open; one that a script makes by itself does not.
func (d *DB) TabletUsed(ctx context.Context, tablet Session, byAPerson bool) (open bool, err error) {
	defer fault.Wrap(&err, "look when a tablet was used")
	now, asked := d.Now(), false
	had := d.tablets.About(tablet.Tablet)
	used, err := away.AskOrRecall(ctx, d.tablets, tablet.Outfit, tablet.Tablet, now, func(ctx context.Context) (used time.Time, err error) {
		err = d.row(ctx, tablet.Outfit, []any{&open}, sqlTabletUsed, tablet.Tablet, byAPerson, tabletIdle)
		asked = err == nil
		switch {
		case open && byAPerson:
			used = now
		case open:
			used, _ = had.Value.(time.Time)
		}
		return used, err
	})
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return false, nil
	case err != nil || asked:
		return open, err
	}
	// The database is away: this process knows when somebody last used the tablet.
	open = now.Sub(used) < tabletIdle
	if had.Value = now; open && byAPerson {
		d.tablets.Remember(tablet.Tablet, had)
	}
	return open, nil
}
