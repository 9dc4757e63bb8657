package db

import (
	"context"
	"errors"
	"net/url"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgerrcode"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// The ways of a delivery.
const (
	ByMail = "mail"
	ByHook = "hook"
)

// Delivery is where the evening's page goes by itself.
type Delivery struct {
	ID uuid.UUID
	// Way is ByMail or ByHook.
	Way, Name string
	// Address is a mail address, or where a web hook goes.
	Address string
	// Server (host:port), Sender and Account are of mail alone.
	Server, Sender, Account string
	// AtMinute is the minute of the outfit's day.
	AtMinute  int
	Language  string
	MadeBy    string
	CreatedAt time.Time
	EndedAt   *time.Time
	// NextAt is when it is looked at next.
	NextAt time.Time
	// Tries counts how often the message that is on its way was tried; 0 where none is.
	Tries int
	// SentAt is when one last arrived, and Failed why the last try did not; empty where it
	// did.
	SentAt *time.Time
	Failed string
}

// Shown is the address as it is shown: of a web hook the scheme and the host, since the rest
// may be a secret by itself.
func (d Delivery) Shown() string {
	if d.Way != ByHook {
		return d.Address
	}
	u, err := url.Parse(d.Address)
	if err != nil {
		return ""
	}
	return u.Scheme + "://" + u.Host
}

// HeldBack is why a delivery of a book that was restored goes nowhere: the book that the backup was made
// of may go on sending.
const HeldBack = "restored"

// Held reports whether it goes nowhere until a manager says that this is the book that sends now.
func (d Delivery) Held() bool { return d.EndedAt == nil && d.Failed == HeldBack }

// Outgoing is a delivery at work, with what no answer shows.
type Outgoing struct {
	Delivery
	// Secret is the account's password, or what signs a web hook.
	Secret string
	// MessageID and Body are what is on its way; empty where nothing is.
	MessageID, Body string
}

const (
	deliveryColumns = `delivery_id, way, name, address, server, sender, account, at_minute, language, made_by, created_at, ended_at, next_at, tries, sent_at, failed`
	// The rest of a web hook's address may be a secret by itself: of it and of what signs,
	// the book has the digest.
	deliveryState = `delivery_id, way, name, CASE WHEN way = 'hook' THEN substring(address from '^https?://[^/?#]*') ELSE address END,
    server, sender, account, at_minute, language, made_by, created_at, ended_at,
    CASE WHEN way = 'hook' THEN encode(sha256(convert_to(secret || ' ' || address, 'UTF8')), 'hex') ELSE '' END`
)

// deliveryTold leaves out even the digest of a mail account's password: people choose those,
// and they could be guessed by it.
func deliveryTold(row pgx.CollectableRow) (*ledger.Operator, error) {
	x := &ledger.OperatorDelivery{}
	err := row.Scan(&x.ID, &x.Way, &x.Name, &x.Address, &x.Server, &x.Sender, &x.Account, &x.AtMinute, &x.Language, &x.MadeBy, &x.MadeAt, &x.EndedAt, &x.SHA256)
	x.MadeAt, x.EndedAt = x.MadeAt.UTC(), utc(x.EndedAt)
	return &ledger.Operator{Delivery: x}, err
}

// MostDeliveries is how many an outfit has at once, at most.
const MostDeliveries = 20

const (
	sqlCountDeliveries = `SELECT count(*) FROM delivery WHERE outfit_id = $1 AND ended_at IS NULL`
	sqlInsertDelivery  = `
INSERT INTO delivery (outfit_id, delivery_id, way, name, address, server, sender, account, secret, at_minute, language, made_by, next_at)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)
RETURNING ` + deliveryState
)

// CreateDelivery adds a delivery, which was checked.
func (d *DB) CreateDelivery(ctx context.Context, outfit uuid.UUID, x Outgoing) (err error) {
	defer fault.Wrap(&err, "create delivery %q", x.Name)
	return d.add(ctx, outfit, func(c *changes) error {
		var n int
		if err := c.QueryRow(ctx, sqlCountDeliveries, outfit).Scan(&n); err != nil {
			return err
		}
		if n >= MostDeliveries {
			return fault.New(fault.Invalid, "The outfit has %s deliveries, which is the most. End one first.", n)
		}
		_, err := c.one(deliveryTold, sqlInsertDelivery, outfit, x.ID, x.Way, x.Name, x.Address, x.Server, x.Sender, x.Account, x.Secret, x.AtMinute, x.Language, x.MadeBy, x.NextAt)
		return err
	})
}

const sqlDeliveries = `SELECT ` + deliveryColumns + ` FROM delivery WHERE outfit_id = $1 ORDER BY created_at, delivery_id`

// Deliveries lists an outfit's deliveries, those that were ended too, without secrets.
func (d *DB) Deliveries(ctx context.Context, outfit uuid.UUID) (_ []Delivery, err error) {
	defer fault.Wrap(&err, "list deliveries")
	return list(ctx, d, outfit, pgx.RowToStructByPos[Delivery], sqlDeliveries)
}

const sqlEndDelivery = `
UPDATE delivery
   SET ended_at = now(), message_id = '', body = '', tries = 0
 WHERE outfit_id = $1
   AND delivery_id = $2
   AND ended_at IS NULL
RETURNING ` + deliveryState

// EndDelivery ends a delivery at once.
func (d *DB) EndDelivery(ctx context.Context, outfit, id uuid.UUID) (err error) {
	defer fault.Wrap(&err, "end delivery %s", id)
	err = d.change(ctx, outfit, func(c *changes) error {
		_, err := c.one(deliveryTold, sqlEndDelivery, outfit, id)
		return err
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return noDelivery(id)
	}
	return err
}

func noDelivery(id uuid.UUID) error {
	return fault.New(fault.NotFound, "The outfit has no delivery %s that goes on.", id)
}

const sqlSendNow = `
UPDATE delivery
   SET next_at = $3
 WHERE outfit_id = $1
   AND delivery_id = $2
   AND ended_at IS NULL
   AND failed <> '` + HeldBack + `'
RETURNING true`

// SendNow makes a delivery due at once, unless it is held. What it sends is the page as it is then.
func (d *DB) SendNow(ctx context.Context, outfit, id uuid.UUID) (err error) {
	defer fault.Wrap(&err, "send delivery %s", id)
	err = d.row(ctx, outfit, []any{new(bool)}, sqlSendNow, id, d.Now())
	if errors.Is(err, pgx.ErrNoRows) {
		return noDelivery(id)
	}
	return err
}

const sqlHoldDeliveries = `
UPDATE delivery
   SET failed = '` + HeldBack + `', message_id = '', body = '', tries = 0
 WHERE outfit_id = $1
   AND ended_at IS NULL`

// HoldDeliveriesWithin has no delivery of any outfit go on, as after a restore, and returns how many
// would have. The transaction is of the tables' owner.
func HoldDeliveriesWithin(ctx context.Context, tx pgx.Tx, outfits []uuid.UUID) (held int64, err error) {
	defer fault.Wrap(&err, "hold deliveries")
	for _, outfit := range outfits {
		if _, err := tx.Exec(ctx, sqlThisOutfit, outfit.String()); err != nil {
			return held, err
		}
		tag, err := tx.Exec(ctx, sqlHoldDeliveries, outfit)
		if err != nil {
			return held, err
		}
		held += tag.RowsAffected()
	}
	return held, nil
}

const sqlReleaseDelivery = `
UPDATE delivery
   SET failed = '', next_at = $3
 WHERE outfit_id = $1
   AND delivery_id = $2
   AND failed = '` + HeldBack + `'
RETURNING true`

// ReleaseDelivery has a delivery that was held go on, the next time at an instant.
func (d *DB) ReleaseDelivery(ctx context.Context, outfit, id uuid.UUID, next time.Time) (err error) {
	defer fault.Wrap(&err, "release delivery %s", id)
	err = d.row(ctx, outfit, []any{new(bool)}, sqlReleaseDelivery, id, next)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil // somebody else did, or ended it
	}
	return err
}

// Due names a delivery that is due.
type Due struct{ Outfit, ID uuid.UUID }

const (
	sqlDueBy = `SELECT set_config('pullbook.due', $1, true)`
	sqlDue   = `SELECT outfit_id, delivery_id FROM delivery WHERE ended_at IS NULL AND failed <> '` + HeldBack + `' AND next_at <= $1 ORDER BY next_at, delivery_id LIMIT 100`
)

// DueDeliveries are the deliveries of all outfits that are due by an instant, the longest due
// first, a hundred at most.
func (d *DB) DueDeliveries(ctx context.Context, by time.Time) (due []Due, err error) {
	defer fault.Wrap(&err, "look for deliveries that are due")
	batch := &pgx.Batch{}
	batch.Queue(sqlDueBy, by.UTC().Format(time.RFC3339Nano))
	batch.Queue(sqlDue, by).Query(func(rows pgx.Rows) (err error) {
		due, err = pgx.CollectRows(rows, pgx.RowToStructByPos[Due])
		return err
	})
	err = d.Pool.SendBatch(ctx, batch).Close()
	if pg := new(pgconn.PgError); errors.As(err, &pg) && pg.Code == pgerrcode.UndefinedTable {
		return nil, nil // the schema is of an earlier program, which serve says
	}
	return due, err
}

const sqlTakeDelivery = `
UPDATE delivery
   SET next_at = $4
 WHERE outfit_id = $1
   AND delivery_id = $2
   AND ended_at IS NULL
   AND failed <> '` + HeldBack + `'
   AND next_at <= $3
RETURNING ` + deliveryColumns + `, secret, message_id, body`

// TakeDelivery takes a delivery that is due by now to send it, so that no other process does
// before until. False where somebody was faster, or it was ended.
func (d *DB) TakeDelivery(ctx context.Context, what Due, now, until time.Time) (x Outgoing, ok bool, err error) {
	defer fault.Wrap(&err, "take delivery %s", what.ID)
	err = d.row(ctx, what.Outfit, []any{&x.ID, &x.Way, &x.Name, &x.Address, &x.Server, &x.Sender, &x.Account, &x.AtMinute, &x.Language, &x.MadeBy, &x.CreatedAt, &x.EndedAt,
		&x.NextAt, &x.Tries, &x.SentAt, &x.Failed, &x.Secret, &x.MessageID, &x.Body}, sqlTakeDelivery, what.ID, now, until)
	if errors.Is(err, pgx.ErrNoRows) {
		return x, false, nil
	}
	return x, err == nil, err
}

const sqlNoteDelivery = `
UPDATE delivery
   SET next_at = $3, message_id = $4, body = $5, tries = $6, sent_at = $7, failed = $8
 WHERE outfit_id = $1
   AND delivery_id = $2
   AND ended_at IS NULL
RETURNING true`

// NoteDelivery stores how a delivery goes on. One that was ended meanwhile stays as it is.
func (d *DB) NoteDelivery(ctx context.Context, outfit uuid.UUID, x Outgoing) (err error) {
	defer fault.Wrap(&err, "note delivery %s", x.ID)
	err = d.row(ctx, outfit, []any{new(bool)}, sqlNoteDelivery, x.ID, x.NextAt, x.MessageID, x.Body, x.Tries, x.SentAt, x.Failed)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil
	}
	return err
}
