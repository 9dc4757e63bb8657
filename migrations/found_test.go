package migrations_test

import (
	"testing"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
)

// versionBeforeOperator is the last version whose books did not tell of people.
const versionBeforeOperator = 6

// Books that are there already tell from the upgrade on how their rows were found,
// and an audit holds.
func TestAnUpgradedBookBeginsWithItsRowsAsFound(t *testing.T) {
	address := dbtest.New(t)
	if err := open(t, address).Migrate(versionBeforeOperator); err != nil {
		t.Fatal(err)
	}
	c := connect(t, address)
	outfit, other, mirren := uuid.New(), uuid.New(), uuid.New()
	for _, id := range []uuid.UUID{outfit, other} {
		run(t, c, `INSERT INTO outfit (outfit_id, name, time_zone, units) VALUES ($1, E'Fern "Gully" \\ & Sons <ñ>', 'America/Winnipeg', 'us')`, id)
		run(t, c, `INSERT INTO book (outfit_id) VALUES ($1)`, id)
	}
	run(t, c, `INSERT INTO person (outfit_id, person_id, name, role, password_hash, session_generation) VALUES ($1, $2, 'Mirren', 'manager', '$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA', 4)`, outfit, mirren)
	run(t, c, `INSERT INTO person (outfit_id, person_id, name, role, unlock_hash, left_at) VALUES ($1, gen_random_uuid(), 'Odell', 'crew', '$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaB', now())`, outfit)
	run(t, c, `INSERT INTO token (outfit_id, token_id, person_id, name, hash, revoked_at) VALUES ($1, gen_random_uuid(), $2, 'phone', sha256('secret'), now())`, outfit, mirren)
	run(t, c, `INSERT INTO feed_key (outfit_id, feed_key_id, name, made_by, hash) VALUES ($1, gen_random_uuid(), 'office', 'Mirren', sha256('key'))`, outfit)
	run(t, c, `INSERT INTO tablet (outfit_id, tablet_id, name) VALUES ($1, gen_random_uuid(), 'shed')`, outfit)
	up(t, address)
	operator, err := db.Open(t.Context(), address, db.OperatorRole, 1)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(operator.Close)
	audit := func(id uuid.UUID) (*ledger.Book, error) {
		o, err := operator.Outfit(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		return books.Audit(t.Context(), operator, o)
	}
	for id, rows := range map[uuid.UUID]int64{outfit: 6, other: 1} {
		book, err := audit(id)
		if err != nil || book.Len() != rows {
			t.Fatalf("%d rows were found: %v", rows, err)
		}
		for e := range book.Entries {
			if e.Kind != ledger.KindOperator || e.Via != ledger.ViaFound {
				t.Errorf("entry %d is a %s, come by %q", e.Number, e.Kind, e.Via)
			}
		}
	}
	run(t, c, `UPDATE person SET role = 'manager' WHERE name = 'Odell'`)
	if _, err := audit(outfit); err == nil {
		t.Error("somebody was made a manager after the upgrade, and the audit does not see it")
	}
}
