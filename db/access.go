package db

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"pullbook/domain/fault"
)

// Role says what a person or program may do.
type Role string

const (
	// Reader reads.
	Reader Role = "reader"
	// Crew reads and records.
	Crew Role = "crew"
	// Manager also corrects, withdraws, sets up and dispatches.
	Manager Role = "manager"
)

// Person is somebody who works for an outfit.
type Person struct {
	ID   uuid.UUID
	Name string
	Role Role
	Left *time.Time
	// HasPassword and HasUnlock say which ways in the person has.
	HasPassword, HasUnlock bool
}

// Token is a program's way in, in the name of a person.
type Token struct {
	ID        uuid.UUID
	Name      string
	Person    string
	Role      Role
	CreatedAt time.Time
	RevokedAt *time.Time
}

// Principal is who a token speaks for.
type Principal struct {
	Outfit uuid.UUID
	Person uuid.UUID
	// Name is what the book writes down as having recorded an entry.
	Name string
	Role Role
	// Access is the outfit's access count when this was looked up; when the
	// count has moved on, this is no longer to be trusted.
	Access int64
	// Reads is how the outfit's pages show figures; only a page's session has it.
	Reads struct{ Units, TimeZone string }
	by    credential
}

// credential is what somebody signed in with: a token, or a page's session.
type credential interface {
	key() [sha256.Size]byte
	principal(context.Context, *DB) (Principal, error)
}

// token is a token's text.
type token string

func (t token) key() [sha256.Size]byte { return hashOf(string(t)) }

func (t token) principal(ctx context.Context, d *DB) (Principal, error) {
	return d.Principal(ctx, string(t))
}

const sqlBumpAccess = `
UPDATE book
   SET access = access + 1
 WHERE outfit_id = $1`

const sqlInsertPerson = `
INSERT INTO person (outfit_id, person_id, name, role, password_hash)
VALUES ($1, $2, $3, $4, nullif($5, ''))
RETURNING ` + personState

// CreatePerson adds a person to an outfit, who cannot sign in to the page before
// there is a password.
func (d *DB) CreatePerson(ctx context.Context, outfit uuid.UUID, p Person) error {
	return d.createPerson(ctx, outfit, p, "")
}

// CreatePersonWithPassword adds a person to an outfit who can sign in to the page.
func (d *DB) CreatePersonWithPassword(ctx context.Context, outfit uuid.UUID, p Person, password string) error {
	if err := checkPassword(password); err != nil {
		return err
	}
	hash, err := hashSecret(ctx, password)
	if err != nil {
		return err
	}
	return d.createPerson(ctx, outfit, p, hash)
}

func (d *DB) createPerson(ctx context.Context, outfit uuid.UUID, p Person, hash string) (err error) {
	defer fault.Wrap(&err, "create person %q", p.Name)
	err = d.add(ctx, outfit, func(c *changes) error {
		_, err := c.one(personTold, sqlInsertPerson, outfit, p.ID, p.Name, p.Role, hash)
		return err
	})
	if constraint(err) == "person_name_once" {
		return fault.New(fault.Conflict, "The outfit has a person called %s already.", p.Name)
	}
	return err
}

const sqlPeople = `
SELECT person_id, name, role, left_at, password_hash IS NOT NULL, unlock_hash IS NOT NULL
  FROM person
 WHERE outfit_id = $1
 ORDER BY lower(name)`

// People lists the people of an outfit.
func (d *DB) People(ctx context.Context, outfit uuid.UUID) (people []Person, err error) {
	defer fault.Wrap(&err, "list people")
	err = d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sqlPeople, outfit).Query(func(rows pgx.Rows) (err error) {
			people, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (p Person, err error) {
				err = row.Scan(&p.ID, &p.Name, &p.Role, &p.Left, &p.HasPassword, &p.HasUnlock)
				return p, err
			})
			return err
		})
	})
	return people, err
}

const sqlPersonLeaves = `
UPDATE person
   SET left_at = now()
 WHERE outfit_id = $1
   AND person_id = $2
   AND left_at IS NULL
RETURNING ` + personState

// PersonLeaves marks a person as gone, which ends the person's tokens and
// sessions at once. What the person recorded stays.
func (d *DB) PersonLeaves(ctx context.Context, outfit, person uuid.UUID) (err error) {
	defer fault.Wrap(&err, "person %s leaves", person)
	return d.changePerson(ctx, outfit, sqlPersonLeaves, outfit, person)
}

// PersonCalled finds a person who has not left by name, in whatever case.
func (d *DB) PersonCalled(ctx context.Context, outfit uuid.UUID, name string) (Person, error) {
	people, err := d.People(ctx, outfit)
	for _, p := range people {
		if strings.EqualFold(p.Name, name) && p.Left == nil {
			return p, err
		}
	}
	if err == nil {
		err = fault.New(fault.NotFound, "The outfit has nobody called %s.", name)
	}
	return Person{}, err
}

// tokenPrefix lets a person, and a scanner for leaked secrets, tell what a
// token is for.
const tokenPrefix = "pullbook_"

// newSecret makes a secret's text: what it is for, the outfit's id, so that the service need not
// look across outfits to find whose it is, and 192 random bits.
func newSecret(prefix string, outfit uuid.UUID) string {
	secret := make([]byte, 16+24)
	copy(secret, outfit[:])
	rand.Read(secret[16:])
	return prefix + base64.RawURLEncoding.EncodeToString(secret)
}

// outfitIn reads whose a secret is; false where it can be none with this prefix.
func outfitIn(prefix, secret string) (uuid.UUID, bool) {
	text, ok := strings.CutPrefix(secret, prefix)
	raw, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil || len(raw) != 16+24 || !ok {
		return uuid.UUID{}, false
	}
	return uuid.UUID(raw[:16]), true
}

func hashOf(secret string) [sha256.Size]byte { return sha256.Sum256([]byte(secret)) }

const sqlInsertToken = `
INSERT INTO token (outfit_id, token_id, person_id, name, hash)
SELECT $1, $2, person_id, $4, $5
  FROM person
 WHERE outfit_id = $1
   AND lower(name) = lower($3)
   AND left_at IS NULL
RETURNING ` + tokenState

// CreateToken makes a token for a person and returns its text, which is kept
// nowhere and shown only now.
func (d *DB) CreateToken(ctx context.Context, outfit uuid.UUID, person, name string) (secret string, err error) {
	defer fault.Wrap(&err, "create token %q", name)
	secret = newSecret(tokenPrefix, outfit)
	hash := hashOf(secret)
	err = d.add(ctx, outfit, func(c *changes) error {
		_, err := c.one(tokenTold, sqlInsertToken, outfit, uuid.New(), person, name, hash[:])
		return err
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return "", fault.New(fault.NotFound, "The outfit has nobody called %s.", person)
	}
	return secret, err
}

const sqlTokens = `
SELECT t.token_id, t.name, p.name, p.role, t.created_at, t.revoked_at
  FROM token t
  JOIN person p USING (outfit_id, person_id)
 WHERE t.outfit_id = $1
 ORDER BY t.created_at, t.token_id`

// Tokens lists an outfit's tokens, the revoked ones too.
func (d *DB) Tokens(ctx context.Context, outfit uuid.UUID) (tokens []Token, err error) {
	defer fault.Wrap(&err, "list tokens")
	err = d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sqlTokens, outfit).Query(func(rows pgx.Rows) (err error) {
			tokens, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (t Token, err error) {
				err = row.Scan(&t.ID, &t.Name, &t.Person, &t.Role, &t.CreatedAt, &t.RevokedAt)
				return t, err
			})
			return err
		})
	})
	return tokens, err
}

const sqlRevokeToken = `
UPDATE token
   SET revoked_at = now()
 WHERE outfit_id = $1
   AND token_id = $2
   AND revoked_at IS NULL
RETURNING ` + tokenState

// RevokeToken ends a token at once.
func (d *DB) RevokeToken(ctx context.Context, outfit, id uuid.UUID) (name string, err error) {
	defer fault.Wrap(&err, "revoke token %s", id)
	err = d.change(ctx, outfit, func(c *changes) error {
		now, err := c.one(tokenTold, sqlRevokeToken, outfit, id)
		if err == nil {
			name = now.Token.Name
		}
		return err
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return "", fault.New(fault.NotFound, "The outfit has no token %s that is still good.", id)
	}
	return name, err
}

const sqlPrincipal = `
SELECT p.person_id, p.name, p.role, b.access
  FROM token t
  JOIN person p USING (outfit_id, person_id)
  JOIN book b USING (outfit_id)
 WHERE t.outfit_id = $1
   AND t.hash = $2
   AND t.revoked_at IS NULL
   AND p.left_at IS NULL`

// Principal says who a token speaks for. The same fault answers a token that
// never was, one of another outfit and a revoked one.
func (d *DB) Principal(ctx context.Context, secret string) (p Principal, err error) {
	defer fault.Wrap(&err, "look up a token")
	if IsFeedKey(secret) {
		return p, fault.New(fault.SignIn, "This is a feed key: it opens the addresses under /feeds/ and nothing else. Here a token is needed.")
	}
	outfit, ok := outfitIn(tokenPrefix, secret)
	if !ok {
		return p, errBadToken
	}
	hash := hashOf(secret)
	p.Outfit = outfit
	err = d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sqlPrincipal, outfit, hash[:]).QueryRow(func(row pgx.Row) error {
			return row.Scan(&p.Person, &p.Name, &p.Role, &p.Access)
		})
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return p, errBadToken
	}
	return p, err
}

var errBadToken = fault.New(fault.SignIn, "This token is not good: it was mistyped, revoked, or belongs to somebody who has left. A manager can make a new one.")

// constraint is the name of the constraint that err says was broken.
func constraint(err error) string {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pg.ConstraintName
	}
	return ""
}
