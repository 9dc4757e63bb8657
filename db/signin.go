package db

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

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

// hashing follows the first choice for argon2id of the OWASP Password Storage
// Cheat Sheet: 19 MiB, two passes, one lane.
var hashing = &argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// hashers bounds the memory that hashing takes at once.
var hashers = make(chan struct{}, max(1, runtime.GOMAXPROCS(0)))

func hashSecret(ctx context.Context, secret string) (string, error) {
	if err := takeHasher(ctx); err != nil {
		return "", err
	}
	defer func() { <-hashers }()
	return argon2id.CreateHash(secret, hashing)
}

// takeHasher waits for a turn to hash, for as long as somebody waits for the answer.
func takeHasher(ctx context.Context) error {
	select {
	case hashers <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// matches is false, as slowly, where there is no hash.
func matches(ctx context.Context, secret, hash string) (bool, error) {
	if err := takeHasher(ctx); err != nil {
		return false, err
	}
	defer func() { <-hashers }()
	if hash == "" {
		_, err := argon2id.CreateHash(secret, hashing)
		return false, err
	}
	return argon2id.ComparePasswordAndHash(secret, hash)
}

// Lengths of what people sign in with, in characters.
const (
	ShortestPassword = 10
	LongestPassword  = 200
	ShortestUnlock   = 4
	LongestUnlock    = 8
)

func checkPassword(password string) error {
	n := utf8.RuneCountInString(password)
	if n < ShortestPassword || n > LongestPassword {
		return fault.New(fault.Invalid, "The password has %s characters; %s to %s will do. Three or four words that mean something only to you are easy to keep.", n, ShortestPassword, LongestPassword)
	}
	return nil
}

func checkUnlock(code string) error {
	if n := len(code); n < ShortestUnlock || n > LongestUnlock || strings.Trim(code, "0123456789") != "" {
		return fault.New(fault.Invalid, "The unlock code has to be %s to %s digits.", ShortestUnlock, LongestUnlock)
	}
	if common(code) {
		return fault.New(fault.Invalid, "The unlock code %s is among the first that anybody tries; please choose another.", code)
	}
	return nil
}

// NewPassword is a password to hand to somebody: twelve letters and digits of
// which none looks like another, in threes; 60 random bits.
func NewPassword() string {
	text := strings.ToLower(rand.Text()[:12])
	return strings.Join([]string{text[:3], text[3:6], text[6:9], text[9:]}, "-")
}

const sqlSetPassword = `
UPDATE person
   SET password_hash = $3, session_generation = session_generation + 1
 WHERE outfit_id = $1
   AND person_id = $2
   AND left_at IS NULL
RETURNING ` + personState

// SetPassword gives a person a new password, which signs the person out
// everywhere.
func (d *DB) SetPassword(ctx context.Context, outfit, person uuid.UUID, password string) (err error) {
	defer fault.Wrap(&err, "set a password")
	if err := checkPassword(password); err != nil {
		return err
	}
	hash, err := hashSecret(ctx, password)
	if err != nil {
		return err
	}
	return d.changePerson(ctx, outfit, sqlSetPassword, outfit, person, hash)
}

const sqlSetUnlock = `
UPDATE person
   SET unlock_hash = $3
 WHERE outfit_id = $1
   AND person_id = $2
   AND left_at IS NULL
RETURNING ` + personState

// SetUnlock gives a person a new code for the shed's tablets.
func (d *DB) SetUnlock(ctx context.Context, outfit, person uuid.UUID, code string) (err error) {
	defer fault.Wrap(&err, "set an unlock code")
	if err := checkUnlock(code); err != nil {
		return err
	}
	hash, err := hashSecret(ctx, code)
	if err != nil {
		return err
	}
	if err := d.changePerson(ctx, outfit, sqlSetUnlock, outfit, person, hash); err != nil {
		return err
	}
	return d.ForgetWrongCodes(ctx, outfit, person)
}

const sqlSignOutEverywhere = `
UPDATE person
   SET session_generation = session_generation + 1
 WHERE outfit_id = $1
   AND person_id = $2
RETURNING ` + personState

// SignOutEverywhere ends all sessions of a person at once.
func (d *DB) SignOutEverywhere(ctx context.Context, outfit, person uuid.UUID) (err error) {
	defer fault.Wrap(&err, "sign a person out")
	return d.changePerson(ctx, outfit, sqlSignOutEverywhere, outfit, person)
}

const sqlSetRole = `
UPDATE person
   SET role = $3
 WHERE outfit_id = $1
   AND person_id = $2
   AND left_at IS NULL
RETURNING ` + personState

// SetRole changes what a person may do, at once.
func (d *DB) SetRole(ctx context.Context, outfit, person uuid.UUID, role Role) (err error) {
	defer fault.Wrap(&err, "set a role")
	return d.changePerson(ctx, outfit, sqlSetRole, outfit, person, role)
}

// changePerson runs a statement that changes one person.
func (d *DB) changePerson(ctx context.Context, outfit uuid.UUID, sql string, args ...any) error {
	err := d.change(ctx, outfit, func(c *changes) error {
		_, err := c.one(personTold, sql, args...)
		return err
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.New(fault.NotFound, "The outfit has no such person, or the person has left.")
	}
	return err
}

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

// Named is a person whom an outfit's and a person's name mean. Two outfits may have
// the same name.
type Named struct {
	Session
	hash string
}

// Named finds whom names mean, in whatever case and with whatever blanks around them.
func (d *DB) Named(ctx context.Context, outfit, person string) (all []Named, err error) {
	defer fault.Wrap(&err, "find who signs in")
	ids, err := d.outfitsCalled(ctx, strings.TrimSpace(outfit))
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		n := Named{Session: Session{Outfit: id}}
		err := d.forOutfit(ctx, id, func(b *pgx.Batch) {
			b.Queue(sqlPersonByName, id, strings.TrimSpace(person)).QueryRow(func(row pgx.Row) error {
				return row.Scan(&n.Person, &n.Generation, &n.hash)
			})
		})
		if err == nil {
			all = append(all, n)
		} else if !errors.Is(err, pgx.ErrNoRows) {
			return nil, err
		}
	}
	return all, nil
}

// SignInByPassword opens a session for the one whose password it is. The same fault
// answers, as slowly, an unknown outfit, an unknown person and a wrong password.
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
	return Session{}, fault.New(fault.SignIn, "Outfit, name and password do not go together. A manager can give you a new password.")
}

// Locker is somebody who can unlock the shed's tablets.
type Locker struct {
	ID   uuid.UUID
	Name string
}

const sqlLockers = `
SELECT person_id, name
  FROM person
 WHERE outfit_id = $1
   AND left_at IS NULL
   AND unlock_hash IS NOT NULL
 ORDER BY lower(name)`

// Lockers are the people of an outfit who have an unlock code.
func (d *DB) Lockers(ctx context.Context, outfit uuid.UUID) (people []Locker, err error) {
	defer fault.Wrap(&err, "list who unlocks")
	err = d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sqlLockers, outfit).Query(func(rows pgx.Rows) (err error) {
			people, err = pgx.CollectRows(rows, pgx.RowToStructByPos[Locker])
			return err
		})
	})
	return people, err
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

// key tells sessions apart among all that a process remembers.
func (s Session) key() [sha256.Size]byte {
	return sha256.Sum256(fmt.Appendf(nil, "session %s %s %d %s", s.Outfit, s.Person, s.Generation, s.Tablet))
}

// principal says who a session speaks for. A tablet is unlocked by a few digits,
// so a manager at it may do what crew may.
func (s Session) principal(ctx context.Context, d *DB) (p Principal, err error) {
	defer fault.Wrap(&err, "look up a session")
	if s.Person == uuid.Nil {
		return p, ErrLocked
	}
	p.Outfit = s.Outfit
	tablet := uuid.NullUUID{UUID: s.Tablet, Valid: s.Tablet != uuid.Nil}
	err = d.forOutfit(ctx, s.Outfit, func(b *pgx.Batch) {
		b.Queue(sqlSessionPrincipal, s.Outfit, s.Person, s.Generation, tablet).QueryRow(func(row pgx.Row) error {
			return row.Scan(&p.Person, &p.Name, &p.Role, &p.Access, &p.Reads.Units, &p.Reads.TimeZone)
		})
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return p, fault.New(fault.SignIn, "You were signed out: please sign in again.")
	}
	if tablet.Valid && p.Role == Manager {
		p.Role = Crew
	}
	return p, err
}

// ErrLocked: a tablet is signed in, and nobody has unlocked it.
var ErrLocked = fault.New(fault.SignIn, "This tablet is locked: choose your name and type your code.")
