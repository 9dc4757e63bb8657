package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/archive"
	"pullbook/domain/ledger"
)

const (
	sqlArchivedUpTo  = `SELECT archived FROM book WHERE outfit_id = $1`
	sqlSetArchived   = `UPDATE book SET archived = $2 WHERE outfit_id = $1`
	sqlRestoreOutfit = `
INSERT INTO outfit (outfit_id, name, time_zone, units, decimal_mark, created_at, blend_weights)
VALUES ($1, $2, $3, $4, $5, $6, $7)
    ON CONFLICT (outfit_id) DO UPDATE
   SET name = excluded.name, time_zone = excluded.time_zone, units = excluded.units, decimal_mark = excluded.decimal_mark, blend_weights = excluded.blend_weights`
	// A password or code stays if its digest is the one in the book.
	sqlRestorePerson = `
INSERT INTO person AS p (outfit_id, person_id, name, role, created_at, left_at, session_generation)
VALUES ($1, $2, $3, $4, $5, $6, $7)
    ON CONFLICT (outfit_id, person_id) DO UPDATE
   SET name = excluded.name, role = excluded.role, left_at = excluded.left_at, session_generation = excluded.session_generation,
       password_hash = CASE WHEN encode(sha256(convert_to(p.password_hash, 'UTF8')), 'hex') = $8 THEN p.password_hash END,
       unlock_hash = CASE WHEN encode(sha256(convert_to(p.unlock_hash, 'UTF8')), 'hex') = $9 THEN p.unlock_hash END`
	// What is revoked here stays revoked, whatever the archive's book says.
	sqlRestoreToken    = `UPDATE token SET revoked_at = coalesce(revoked_at, $3) WHERE outfit_id = $1 AND token_id = $2`
	sqlRestoreFeedKey  = `UPDATE feed_key SET revoked_at = coalesce(revoked_at, $3) WHERE outfit_id = $1 AND feed_key_id = $2`
	sqlRestoreTablet   = `UPDATE tablet SET revoked_at = coalesce(revoked_at, $3) WHERE outfit_id = $1 AND tablet_id = $2`
	sqlRestoreDelivery = `UPDATE delivery SET ended_at = coalesce(ended_at, $3) WHERE outfit_id = $1 AND delivery_id = $2`
)

// restoreRows changes an outfit's tables to what the entries after number before tell of
// them. The book's last entry is number last. Tokens, keys and tablets that are not here
// are not made: an archive has no secrets.
func restoreRows(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, told []*ledger.Entry, before, last int64) error {
	for _, e := range told {
		o, ok := e.Body.(*ledger.Operator)
		if !ok || e.Number <= before {
			continue
		}
		var sql string
		args := []any{outfit}
		switch {
		case o.Outfit != nil:
			sql, args = sqlRestoreOutfit, append(args, o.Outfit.Name, o.Outfit.TimeZone, o.Outfit.Units, o.Outfit.DecimalMark, o.Outfit.MadeAt, o.Outfit.BlendWeights)
		case o.Person != nil:
			p := o.Person
			sql, args = sqlRestorePerson, append(args, p.ID, p.Name, p.Role, p.MadeAt, p.LeftAt, p.Sessions, p.PasswordSHA256, p.UnlockSHA256)
		case o.Token != nil:
			sql, args = sqlRestoreToken, append(args, o.Token.ID, o.Token.RevokedAt)
		case o.FeedKey != nil:
			sql, args = sqlRestoreFeedKey, append(args, o.FeedKey.ID, o.FeedKey.RevokedAt)
		case o.Tablet != nil:
			sql, args = sqlRestoreTablet, append(args, o.Tablet.ID, o.Tablet.RevokedAt)
		case o.Delivery != nil:
			sql, args = sqlRestoreDelivery, append(args, o.Delivery.ID, o.Delivery.EndedAt)
		default:
			continue
		}
		if _, err := tx.Exec(ctx, sql, args...); err != nil {
			return err
		}
	}
	_, err := tx.Exec(ctx, sqlSetArchived, outfit, last)
	return err
}

// restorePeople adds the people of an archive that was written before books told of people,
// and adds entries to the book that tell of all rows. It returns the number of entries.
func (d *DB) restorePeople(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, people []archive.Person) (int64, error) {
	for _, p := range people {
		if _, err := tx.Exec(ctx, sqlInsertPersonOnce, outfit, p.ID, p.Name, p.Role, p.Left); err != nil {
			return 0, fmt.Errorf("person %s: %w", p.Name, err)
		}
	}
	head, err := d.hold(ctx, tx, outfit)
	if err != nil {
		return 0, err
	}
	rows, err := operatorRows(ctx, tx, outfit)
	if err != nil {
		return 0, err
	}
	return int64(len(rows)), d.tell(ctx, tx, outfit, head, TheOperator, ledger.ViaFound, rows)
}
