package db

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

// Tablet is a device of the shed that stays signed in for the season.
type Tablet struct {
	ID        uuid.UUID
	Name      string
	CreatedAt time.Time
	RevokedAt *time.Time
}

const sqlInsertTablet = `
INSERT INTO tablet (outfit_id, tablet_id, name)
VALUES ($1, $2, $3)
RETURNING ` + tabletState

// CreateTablet adds a tablet and returns its session, which is locked.
func (d *DB) CreateTablet(ctx context.Context, outfit uuid.UUID, name string) (s Session, err error) {
	defer fault.Wrap(&err, "create tablet %q", name)
	s = Session{Outfit: outfit, Tablet: uuid.New()}
	err = d.add(ctx, outfit, func(c *changes) error {
		_, err := c.one(tabletTold, sqlInsertTablet, outfit, s.Tablet, name)
		return err
	})
	if constraint(err) == "name_not_empty" {
		return s, fault.New(fault.Invalid, "The tablet needs a name, such as where it hangs.")
	}
	return s, err
}

const sqlTablets = `
SELECT tablet_id, name, created_at, revoked_at
  FROM tablet
 WHERE outfit_id = $1
 ORDER BY created_at, tablet_id`

// Tablets lists an outfit's tablets, the revoked ones too.
func (d *DB) Tablets(ctx context.Context, outfit uuid.UUID) (_ []Tablet, err error) {
	defer fault.Wrap(&err, "list tablets")
	return list(ctx, d, outfit, pgx.RowToStructByPos[Tablet], sqlTablets)
}

const sqlRevokeTablet = `
UPDATE tablet
   SET revoked_at = now()
 WHERE outfit_id = $1
   AND tablet_id = $2
   AND revoked_at IS NULL
RETURNING ` + tabletState

// RevokeTablet signs a tablet out for good, at once.
func (d *DB) RevokeTablet(ctx context.Context, outfit, tablet uuid.UUID) (err error) {
	defer fault.Wrap(&err, "revoke tablet %s", tablet)
	err = d.change(ctx, outfit, func(c *changes) error {
		_, err := c.one(tabletTold, sqlRevokeTablet, outfit, tablet)
		return err
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.New(fault.NotFound, "The outfit has no such tablet that is still signed in.")
	}
	return err
}

const sqlTabletGood = `
SELECT name
  FROM tablet
 WHERE outfit_id = $1
   AND tablet_id = $2
   AND revoked_at IS NULL`

// TabletGood refuses a tablet that was revoked.
func (d *DB) TabletGood(ctx context.Context, outfit, tablet uuid.UUID) (err error) {
	defer fault.Wrap(&err, "look up tablet %s", tablet)
	err = d.row(ctx, outfit, []any{new(string)}, sqlTabletGood, tablet)
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.New(fault.SignIn, "This tablet was signed out by a manager: please sign in again.")
	}
	return err
}
