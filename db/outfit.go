package db

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// Outfit is one beekeeping business.
type Outfit struct {
	ID       uuid.UUID
	Name     string
	TimeZone string
	// Units is "metric" or "us": what the page shows. The book keeps grams.
	Units string
}

// Location returns the outfit's time zone.
func (o Outfit) Location() (*time.Location, error) { return time.LoadLocation(o.TimeZone) }

const sqlInsertOutfit = `
INSERT INTO outfit (outfit_id, name, time_zone, units)
VALUES ($1, $2, $3, $4)
RETURNING ` + outfitState

const sqlInsertBook = `INSERT INTO book (outfit_id) VALUES ($1)`

// CreateOutfit sets up an outfit. Its book begins with the entry that says so.
func (d *DB) CreateOutfit(ctx context.Context, o Outfit) (err error) {
	defer fault.Wrap(&err, "create outfit %q", o.Name)
	if err := o.check(); err != nil {
		return err
	}
	if err := d.CheckRoom(); err != nil {
		return err
	}
	return d.inOutfit(ctx, o.ID, pgx.TxOptions{}, func(tx pgx.Tx) error {
		c := &changes{Tx: tx, ctx: ctx, db: d, outfit: o.ID, head: Head{Access: 1}}
		if _, err := c.one(outfitTold, sqlInsertOutfit, o.ID, o.Name, o.TimeZone, o.Units); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlInsertBook, o.ID); err != nil {
			return err
		}
		return c.tell()
	})
}

// check refuses an outfit that cannot be.
func (o Outfit) check() error {
	if strings.TrimSpace(o.Name) == "" {
		return fault.New(fault.Invalid, "An outfit needs a name: people sign in with it.")
	}
	if _, err := o.Location(); err != nil || o.TimeZone == "" {
		return fault.New(fault.Invalid, "%s is not a time zone. Write it like Europe/Madrid or America/Winnipeg.", message.Quoted(o.TimeZone))
	}
	if o.Units != "metric" && o.Units != "us" {
		return fault.New(fault.Invalid, "Units are metric or us, not %s.", message.Quoted(o.Units))
	}
	return nil
}

const sqlChangeOutfit = `
UPDATE outfit
   SET name = $2, time_zone = $3, units = $4
 WHERE outfit_id = $1
RETURNING ` + outfitState

// ChangeOutfit changes an outfit's name, time zone or units. Books that are open take them
// up with the entry that says so.
func (d *DB) ChangeOutfit(ctx context.Context, o Outfit) (err error) {
	defer fault.Wrap(&err, "change outfit %s", o.ID)
	if err := o.check(); err != nil {
		return err
	}
	return d.change(ctx, o.ID, func(c *changes) error {
		_, err := c.one(outfitTold, sqlChangeOutfit, o.ID, o.Name, o.TimeZone, o.Units)
		return err
	})
}

const sqlOutfit = `
SELECT outfit_id, name, time_zone, units
  FROM outfit
 WHERE outfit_id = $1`

// Outfit returns the outfit with an id.
func (d *DB) Outfit(ctx context.Context, id uuid.UUID) (o Outfit, err error) {
	defer fault.Wrap(&err, "outfit %s", id)
	err = d.row(ctx, id, []any{&o.ID, &o.Name, &o.TimeZone, &o.Units}, sqlOutfit)
	if errors.Is(err, pgx.ErrNoRows) {
		return o, fault.New(fault.NotFound, "There is no outfit %s.", id)
	}
	return o, err
}

const sqlOutfits = `
SELECT outfit_id, name, time_zone, units
  FROM outfit
 ORDER BY created_at, outfit_id`

// Outfits lists all outfits. Only the operator's role sees any.
func (d *DB) Outfits(ctx context.Context) (_ []Outfit, err error) {
	defer fault.Wrap(&err, "list outfits")
	rows, err := d.Pool.Query(ctx, sqlOutfits)
	if err != nil {
		return nil, err
	}
	return collectOutfits(rows)
}

// OutfitsWithin is Outfits for a transaction that acts as the operator.
func OutfitsWithin(ctx context.Context, tx pgx.Tx) (_ []Outfit, err error) {
	defer fault.Wrap(&err, "list outfits")
	rows, err := tx.Query(ctx, sqlOutfits)
	if err != nil {
		return nil, err
	}
	return collectOutfits(rows)
}

func collectOutfits(rows pgx.Rows) ([]Outfit, error) {
	return pgx.CollectRows(rows, pgx.RowToStructByPos[Outfit])
}
