package db

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Outfit is one beekeeping business.
type Outfit struct {
	ID       uuid.UUID
	Name     string
	TimeZone string
	// Units is "metric" or "us": what the page shows. The book keeps grams.
	Units string
	// DecimalMark is what stands before the decimals in the outfit's spreadsheets: Point,
	// Comma, or empty where nobody said.
	DecimalMark string
	// BlendWeights are what counts how much against a blend; nil where the outfit goes by the usual ones.
	BlendWeights *ledger.BlendWeights
}

// Location returns the outfit's time zone.
func (o Outfit) Location() (*time.Location, error) { return time.LoadLocation(o.TimeZone) }

const sqlInsertOutfit = `
INSERT INTO outfit (outfit_id, name, time_zone, units, decimal_mark)
VALUES ($1, $2, $3, $4, $5)
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
		if _, err := c.one(outfitTold, sqlInsertOutfit, o.ID, o.Name, o.TimeZone, o.Units, o.DecimalMark); err != nil {
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
	return checkDecimalMark(o.DecimalMark)
}

func checkDecimalMark(mark string) error {
	if mark == "" || mark == Point || mark == Comma {
		return nil
	}
	return noDecimalMark(mark)
}

func noDecimalMark(mark string) error {
	return fault.New(fault.Invalid, "The decimal mark is point, comma, or reader for that of each reader's region, not %s.", message.Quoted(mark))
}

// Point and Comma are the decimal marks that an outfit's spreadsheets may have. ReadersMark is
// how people say that they have neither for all: each reader's region has its own.
const (
	Point       = "point"
	Comma       = "comma"
	ReadersMark = "reader"
)

// DecimalMarkOf returns an outfit's decimal mark for what somebody chose: Point, Comma or
// ReadersMark.
func DecimalMarkOf(chosen string) (string, error) {
	switch chosen {
	case Point, Comma:
		return chosen, nil
	case ReadersMark:
		return "", nil
	}
	return "", noDecimalMark(chosen)
}

const sqlChangeOutfit = `
UPDATE outfit
   SET name = $2, time_zone = $3, units = $4, decimal_mark = $5
 WHERE outfit_id = $1
RETURNING ` + outfitState

// ChangeOutfit changes an outfit's name, time zone, units or decimal mark. Books that are open
// take them up with the entry that says so.
func (d *DB) ChangeOutfit(ctx context.Context, o Outfit) (err error) {
	defer fault.Wrap(&err, "change outfit %s", o.ID)
	if err := o.check(); err != nil {
		return err
	}
	return d.change(ctx, o.ID, func(c *changes) error {
		_, err := c.one(outfitTold, sqlChangeOutfit, o.ID, o.Name, o.TimeZone, o.Units, o.DecimalMark)
		return err
	})
}

const sqlSetDecimalMark = `
UPDATE outfit
   SET decimal_mark = $2
 WHERE outfit_id = $1
RETURNING ` + outfitState

// SetDecimalMark says what stands before the decimals in an outfit's spreadsheets: point,
// comma, or an empty text where nobody says it any more. Of an outfit's settings the service
// may change it and the weights of blends.
func (d *DB) SetDecimalMark(ctx context.Context, outfit uuid.UUID, mark string) (err error) {
	defer fault.Wrap(&err, "decimal mark of outfit %s", outfit)
	if err := checkDecimalMark(mark); err != nil {
		return err
	}
	return d.change(ctx, outfit, func(c *changes) error {
		_, err := c.one(outfitTold, sqlSetDecimalMark, outfit, mark)
		return err
	})
}

const sqlSetBlendWeights = `
UPDATE outfit
   SET blend_weights = $2
 WHERE outfit_id = $1
RETURNING ` + outfitState

// SetBlendWeights says what counts how much against an outfit's blends; nil has it go by the
// usual weights.
func (d *DB) SetBlendWeights(ctx context.Context, outfit uuid.UUID, w *ledger.BlendWeights) (err error) {
	defer fault.Wrap(&err, "blend weights of outfit %s", outfit)
	if w != nil {
		if wrong := w.Wrong(); len(wrong) > 0 {
			return &fault.Error{Code: fault.Invalid, Message: message.F("These weights cannot be."), Fields: wrong}
		}
	}
	return d.change(ctx, outfit, func(c *changes) error {
		_, err := c.one(outfitTold, sqlSetBlendWeights, outfit, w)
		return err
	})
}

const sqlOutfit = `
SELECT outfit_id, name, time_zone, units, decimal_mark, blend_weights
  FROM outfit
 WHERE outfit_id = $1`

// Outfit returns the outfit with an id.
func (d *DB) Outfit(ctx context.Context, id uuid.UUID) (o Outfit, err error) {
	defer fault.Wrap(&err, "outfit %s", id)
	err = d.row(ctx, id, []any{&o.ID, &o.Name, &o.TimeZone, &o.Units, &o.DecimalMark, &o.BlendWeights}, sqlOutfit)
	if errors.Is(err, pgx.ErrNoRows) {
		return o, fault.New(fault.NotFound, "There is no outfit %s.", id)
	}
	return o, err
}

const sqlOutfits = `
SELECT outfit_id, name, time_zone, units, decimal_mark, blend_weights
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
