package db

import (
	"context"
	"errors"
	"reflect"

	"github.com/google/uuid"
	"github.com/jackc/pgerrcode"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// TheOperator is the name that the book writes beside changes by the operator's commands.
const TheOperator = "the operator"

// As returns the database for changes by somebody of an outfit. The book writes that name
// beside each change of people, tokens, keys and tablets.
func (d *DB) As(p Principal) *DB {
	as := *d
	as.by = p.Name
	return &as
}

// Each statement that changes a row of an outfit's tables returns one of these
// lists, so that the book says how the row stands. Secrets stay in the database:
// only the SHA-256 of their hashes leaves it.
const (
	outfitState  = `outfit_id, name, time_zone, units, decimal_mark, created_at, blend_weights`
	personState  = `person_id, name, role, created_at, left_at, ` + passwordSHA256 + `, ` + unlockSHA256 + `, session_generation`
	tokenState   = `token_id, person_id, name, created_at, revoked_at, ` + hashSHA256
	feedKeyState = `feed_key_id, name, coalesce(feed, ''), made_by, created_at, revoked_at, ` + hashSHA256
	tabletState  = `tablet_id, name, created_at, revoked_at`

	passwordSHA256 = `coalesce(encode(sha256(convert_to(password_hash, 'UTF8')), 'hex'), '')`
	unlockSHA256   = `coalesce(encode(sha256(convert_to(unlock_hash, 'UTF8')), 'hex'), '')`
	hashSHA256     = `encode(sha256(hash), 'hex')`
)

func outfitTold(row pgx.CollectableRow) (*ledger.Operator, error) {
	o := &ledger.OperatorOutfit{}
	err := row.Scan(&o.ID, &o.Name, &o.TimeZone, &o.Units, &o.DecimalMark, &o.MadeAt, &o.BlendWeights)
	o.MadeAt = o.MadeAt.UTC()
	return &ledger.Operator{Outfit: o}, err
}

func personTold(row pgx.CollectableRow) (*ledger.Operator, error) {
	p := &ledger.OperatorPerson{}
	err := row.Scan(&p.ID, &p.Name, &p.Role, &p.MadeAt, &p.LeftAt, &p.PasswordSHA256, &p.UnlockSHA256, &p.Sessions)
	p.MadeAt, p.LeftAt = p.MadeAt.UTC(), utc(p.LeftAt)
	return &ledger.Operator{Person: p}, err
}

func tokenTold(row pgx.CollectableRow) (*ledger.Operator, error) {
	t := &ledger.OperatorToken{}
	err := row.Scan(&t.ID, &t.PersonID, &t.Name, &t.MadeAt, &t.RevokedAt, &t.SHA256)
	t.MadeAt, t.RevokedAt = t.MadeAt.UTC(), utc(t.RevokedAt)
	return &ledger.Operator{Token: t}, err
}

func feedKeyTold(row pgx.CollectableRow) (*ledger.Operator, error) {
	k := &ledger.OperatorFeedKey{}
	err := row.Scan(&k.ID, &k.Name, &k.Feed, &k.MadeBy, &k.MadeAt, &k.RevokedAt, &k.SHA256)
	k.MadeAt, k.RevokedAt = k.MadeAt.UTC(), utc(k.RevokedAt)
	return &ledger.Operator{FeedKey: k}, err
}

func tabletTold(row pgx.CollectableRow) (*ledger.Operator, error) {
	t := &ledger.OperatorTablet{}
	err := row.Scan(&t.ID, &t.Name, &t.MadeAt, &t.RevokedAt)
	t.MadeAt, t.RevokedAt = t.MadeAt.UTC(), utc(t.RevokedAt)
	return &ledger.Operator{Tablet: t}, err
}

// changes is a transaction that changes one outfit's tables.
type changes struct {
	pgx.Tx
	ctx    context.Context
	db     *DB
	outfit uuid.UUID
	head   Head
	// was has the rows as they stood before, by their ids.
	was  map[ledger.ID]*ledger.Operator
	told []*ledger.Operator
}

// change runs f, which changes rows of an outfit's tables, and writes into the outfit's book
// what f tells of them. Both happen in one transaction. change locks the book's head before
// any row, as every append does.
func (d *DB) change(ctx context.Context, outfit uuid.UUID, f func(*changes) error) error {
	// Before, because whether it was committed may stay unknown; and after, because of
	// answers that were on their way.
	d.Away.Void(outfit)
	defer d.Away.Void(outfit)
	err := d.inOutfit(ctx, outfit, pgx.TxOptions{}, func(tx pgx.Tx) error {
		head, err := d.hold(ctx, tx, outfit)
		if err != nil {
			return err
		}
		c := &changes{Tx: tx, ctx: ctx, db: d, outfit: outfit, head: head, was: map[ledger.ID]*ledger.Operator{}}
		rows, err := operatorRows(ctx, tx, outfit)
		if err != nil {
			return err
		}
		for _, row := range rows {
			c.was[row.About()] = row
		}
		if err := f(c); err != nil {
			return err
		}
		return c.tell()
	})
	if pg := new(pgconn.PgError); errors.As(err, &pg) && pg.Code == pgerrcode.LockNotAvailable {
		return fault.New(fault.Busy, "The book is taking in a sheet just now, and takes nothing else until it is done. Nothing was changed: try again in a minute.")
	}
	return err
}

// add is change for new rows, which a full disk refuses. Changes that take rights away or
// set a password are stored for as long as there is any room.
func (d *DB) add(ctx context.Context, outfit uuid.UUID, f func(*changes) error) error {
	if err := d.CheckRoom(); err != nil {
		return err
	}
	return d.change(ctx, outfit, f)
}

// one runs a statement that changes one row, and returns how the row stands now. It fails
// with pgx.ErrNoRows where there is no such row. A row that did not change is not told.
func (c *changes) one(scan pgx.RowToFunc[*ledger.Operator], sql string, args ...any) (*ledger.Operator, error) {
	rows, err := c.Query(c.ctx, sql, args...)
	if err != nil {
		return nil, err
	}
	told, err := pgx.CollectExactlyOneRow(rows, scan)
	if err == nil && !reflect.DeepEqual(told, c.was[told.About()]) {
		c.told = append(c.told, told)
	}
	return told, err
}

// tell adds an entry to the book for each row that was changed.
func (c *changes) tell() error {
	if len(c.told) == 0 {
		return nil
	}
	by, via := c.db.by, ledger.Via("")
	switch {
	case by == "":
		return fault.New(fault.Internal, "somebody changes people, tokens, keys or tablets, and the program does not say who")
	case by == TheOperator:
		via = ledger.ViaOperator
	}
	return c.db.tell(c.ctx, c.Tx, c.outfit, c.head, by, via, c.told)
}

// tell adds entries that say how rows of the outfit's tables stand. The caller
// holds the book's head.
func (d *DB) tell(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, head Head, by string, via ledger.Via, told []*ledger.Operator) error {
	// The operator sets outfits up; only the service adds to a book.
	if err := actAs(ctx, tx, ServiceRole); err != nil {
		return err
	}
	now := Microseconds(d.Now())
	batch := &pgx.Batch{}
	for _, o := range told {
		e := &ledger.Entry{ID: uuid.New(), Kind: ledger.KindOperator, OccurredAt: now, RecordedAt: now, RecordedBy: by, Via: via, Body: o}
		_, content, err := ledger.ReadBack(e)
		if err != nil {
			return err
		}
		draft := &Draft{Outfit: outfit, Access: head.Access, Entry: e, Content: content}
		sql, args := draft.statement()
		batch.Queue(sql, args...).QueryRow(func(row pgx.Row) error { return row.Scan(&e.Number, new([]byte)) })
	}
	batch.Queue(sqlBumpAccess, outfit)
	return tx.SendBatch(ctx, batch).Close()
}

// operatorTables are the tables of which entries of kind operator tell.
var operatorTables = []struct {
	sql  string
	scan pgx.RowToFunc[*ledger.Operator]
}{
	{`SELECT ` + outfitState + ` FROM outfit WHERE outfit_id = $1`, outfitTold},
	{`SELECT ` + personState + ` FROM person WHERE outfit_id = $1 ORDER BY created_at, person_id`, personTold},
	{`SELECT ` + tokenState + ` FROM token WHERE outfit_id = $1 ORDER BY created_at, token_id`, tokenTold},
	{`SELECT ` + feedKeyState + ` FROM feed_key WHERE outfit_id = $1 ORDER BY created_at, feed_key_id`, feedKeyTold},
	{`SELECT ` + tabletState + ` FROM tablet WHERE outfit_id = $1 ORDER BY created_at, tablet_id`, tabletTold},
	{`SELECT ` + deliveryState + ` FROM delivery WHERE outfit_id = $1 ORDER BY created_at, delivery_id`, deliveryTold},
}

// operatorRows returns the rows of an outfit's tables.
func operatorRows(ctx context.Context, tx pgx.Tx, outfit uuid.UUID) (all []*ledger.Operator, err error) {
	for _, table := range operatorTables {
		rows, err := tx.Query(ctx, table.sql, outfit)
		if err != nil {
			return nil, err
		}
		some, err := pgx.CollectRows(rows, table.scan)
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	return all, nil
}

const sqlBumpAccess = `
UPDATE book
   SET access = access + 1
 WHERE outfit_id = $1`
