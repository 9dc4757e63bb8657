package db

import (
	"context"
	"crypto/sha256"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

// Token lets a program in, in the name of a person.
type Token struct {
	ID        uuid.UUID
	Name      string
	Person    string
	Role      Role
	CreatedAt time.Time
	RevokedAt *time.Time
}

// TokenSecret is a token's text.
type TokenSecret string

func (t TokenSecret) Key() [sha256.Size]byte { return hashOf(string(t)) }

func (t TokenSecret) Principal(ctx context.Context, d *DB) (Principal, error) {
	return d.Principal(ctx, string(t))
}

// tokenPrefix tells people, and scanners for leaked secrets, what a token is for.
const tokenPrefix = "pullbook_"

const sqlInsertToken = `
INSERT INTO token (outfit_id, token_id, person_id, name, hash)
SELECT $1, $2, person_id, $4, $5
  FROM person
 WHERE outfit_id = $1
   AND lower(name) = lower($3)
   AND left_at IS NULL
RETURNING ` + tokenState

// CreateToken makes a token for a person and returns its text, which is stored nowhere and
// shown only now.
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
func (d *DB) Tokens(ctx context.Context, outfit uuid.UUID) (_ []Token, err error) {
	defer fault.Wrap(&err, "list tokens")
	return list(ctx, d, outfit, pgx.RowToStructByPos[Token], sqlTokens)
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
		return "", fault.New(fault.NotFound, "The outfit has no valid token %s.", id)
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

// Principal returns the person of a token. An unknown token, one of another outfit and a
// revoked one get the same fault.
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
	err = d.row(ctx, outfit, []any{&p.Person, &p.Name, &p.Role, &p.Access}, sqlPrincipal, hash[:])
	if errors.Is(err, pgx.ErrNoRows) {
		return p, errBadToken
	}
	return p, err
}

var errBadToken = fault.New(fault.SignIn, "This token is not valid: it was mistyped, revoked, or belongs to somebody who has left. A manager can make a new one.")
