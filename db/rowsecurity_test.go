package db_test

import (
	"errors"
	"pullbook/db/books/bookstest"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgerrcode"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"pullbook/db"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
)

// asService is a connection that signs in as the service does.
func (h *honeyHouse) asService(t *testing.T) *pgx.Conn {
	t.Helper()
	return bookstest.Connect(t, dbtest.As(h.URL, db.ServiceRole))
}

// code is PostgreSQL's code of an error.
func code(err error) string {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pg.Code
	}
	return ""
}

const sqlTables = `
SELECT c.relname
  FROM pg_class c
 WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p') AND c.relname <> 'schema_migrations'
 ORDER BY 1`

func TestEveryTableBelongsToOutfitsAndIsForcedToTellThemApart(t *testing.T) {
	t.Parallel()
	c := bookstest.Connect(t, open(t).URL)
	tables := bookstest.Texts(t, c, sqlTables)
	if len(tables) < 7 {
		t.Fatalf("tables: %v", tables)
	}
	for what, sql := range map[string]string{
		"no outfit_id": sqlTables[:strings.Index(sqlTables, " ORDER")] + `
			AND NOT EXISTS (SELECT FROM pg_attribute a WHERE a.attrelid = c.oid AND a.attname = 'outfit_id' AND a.attnotnull)`,
		"row security that is off, or not forced on the owner": sqlTables[:strings.Index(sqlTables, " ORDER")] + `
			AND NOT (c.relrowsecurity AND c.relforcerowsecurity)`,
		"no policy that keeps reading and writing to the one outfit": sqlTables[:strings.Index(sqlTables, " ORDER")] + `
			AND NOT EXISTS (SELECT FROM pg_policies p WHERE p.tablename = c.relname AND p.cmd = 'ALL'
				AND p.qual = '(outfit_id = this_outfit())' AND coalesce(p.with_check, p.qual) = p.qual)`,
		"another policy that lets the service see more": `
			SELECT tablename FROM pg_policies WHERE policyname <> 'own_outfit' AND NOT (roles = '{pullbook_operator}' AND cmd = 'SELECT')
			   AND NOT (tablename = 'outfit' AND policyname = 'sign_in_names' AND cmd = 'SELECT'
			            AND qual = '(lower(btrim(name)) = current_setting(''pullbook.sign_in_outfit''::text, true))')
			   AND NOT (tablename = 'delivery' AND policyname = 'due' AND cmd = 'SELECT' AND roles = '{pullbook_service}'
			            AND qual = '((ended_at IS NULL) AND (next_at <= (NULLIF(current_setting(''pullbook.due''::text, true), ''''::text))::timestamp with time zone))')`,
		"a key or index in which the outfit does not come first": `
			SELECT i.indexrelid::regclass::text FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid
			  JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = i.indkey[0]
			 WHERE c.relnamespace = 'public'::regnamespace AND c.relname <> 'schema_migrations' AND a.attname <> 'outfit_id'`,
	} {
		if got := bookstest.Texts(t, c, sql); len(got) > 0 {
			t.Errorf("%v: %s", got, what)
		}
	}
}

func TestTheServiceOwnsNothingAndCanChangeNoEntry(t *testing.T) {
	t.Parallel()
	c := bookstest.Connect(t, open(t).URL)
	for what, sql := range map[string]string{
		"may more than a plain role": `SELECT rolname::text FROM pg_roles WHERE rolname LIKE 'pullbook%' AND
			(rolsuper OR rolbypassrls OR rolcreaterole OR rolcreatedb OR rolreplication)`,
		"owned by a role of the program": `SELECT relname::text FROM pg_class WHERE relowner IN (SELECT oid FROM pg_roles WHERE rolname LIKE 'pullbook%')
			UNION ALL SELECT proname::text FROM pg_proc WHERE proowner IN (SELECT oid FROM pg_roles WHERE rolname LIKE 'pullbook%')`,
		"a role that the service belongs to": `SELECT roleid::regrole::text FROM pg_auth_members WHERE member = 'pullbook_service'::regrole`,
		"a right of the service's to change or remove": `
			SELECT c.relname || ' ' || r FROM pg_class c, unnest(ARRAY['DELETE', 'TRUNCATE', 'TRIGGER', 'REFERENCES', 'UPDATE']) r
			 WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND has_table_privilege('pullbook_service', c.oid, r)
			   AND NOT (c.relname = 'session' AND r IN ('DELETE', 'UPDATE')) AND NOT (c.relname IN ('known_device', 'wrong_code') AND r = 'DELETE')`,
		"a column that the service may change, except for the book's head, the ways in and what a manager sets of the outfit": `
			SELECT c.relname || '.' || a.attname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0
			 WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND has_column_privilege('pullbook_service', c.oid, a.attnum, 'UPDATE')
			   AND (c.relname, a.attname) NOT IN (('outfit', 'decimal_mark'), ('outfit', 'blend_weights'), ('book', 'number'), ('book', 'digest'), ('book', 'access'),
			       ('person', 'left_at'), ('person', 'role'), ('person', 'password_hash'), ('person', 'unlock_hash'), ('person', 'session_generation'),
			       ('token', 'revoked_at'), ('tablet', 'revoked_at'), ('tablet', 'used_at'), ('wrong_code', 'wrong'), ('wrong_code', 'next_at'), ('feed_key', 'revoked_at'),
			       ('delivery', 'ended_at'), ('delivery', 'next_at'), ('delivery', 'message_id'), ('delivery', 'body'), ('delivery', 'tries'), ('delivery', 'sent_at'), ('delivery', 'failed')) AND c.relname <> 'session'`,
		"a table into which the service may write more than entries, their names, and who comes in": `
			SELECT c.relname FROM pg_class c
			 WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND has_table_privilege('pullbook_service', c.oid, 'INSERT')
			   AND c.relname NOT IN ('entry', 'claim', 'certificate_file', 'person', 'token', 'tablet', 'session', 'feed_key', 'known_device', 'wrong_code', 'delivery')`,
		"a schema in which the service may make things": `
			SELECT nspname::text FROM pg_namespace WHERE has_schema_privilege('pullbook_service', oid, 'CREATE')`,
	} {
		if got := bookstest.Texts(t, c, sql); len(got) > 0 {
			t.Errorf("%v: %s", got, what)
		}
	}
}

func TestSQLByHandMeetsOneOutfitOnly(t *testing.T) {
	t.Parallel()
	h := open(t)
	theirs, principal := h.NewOutfit(t, "Two Rivers Honey")
	mine := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	h.Record(t, h.Books, principal, &ledger.Yard{Name: "Birch Hollow"})
	for _, p := range []db.Principal{h.Manager, principal} {
		h.Certificate(t, p, h.LaboratoryResult(t, p), "26-1207")
	}
	for _, outfit := range []uuid.UUID{h.Outfit, theirs} {
		if _, _, err := h.Service.As(h.Manager).CreateFeedKey(t.Context(), outfit, "the office", "", "Mirren"); err != nil {
			t.Fatal(err)
		}
		hook := db.Outgoing{Delivery: db.Delivery{ID: uuid.New(), Way: db.ByHook, Name: "the office", Address: "https://office.example", Language: "en", MadeBy: "Mirren"}, Secret: "whsec_AAAA"}
		if err := h.Service.As(h.Manager).CreateDelivery(t.Context(), outfit, hook); err != nil {
			t.Fatal(err)
		}
	}
	c := h.asService(t)
	tables := bookstest.Texts(t, bookstest.Connect(t, h.URL), sqlTables)

	outfitsSeen := func() map[string]bool {
		seen := map[string]bool{}
		for _, table := range tables {
			for _, id := range bookstest.Texts(t, c, "SELECT outfit_id::text FROM "+pgx.Identifier{table}.Sanitize()) {
				seen[id] = true
			}
		}
		return seen
	}
	if seen := outfitsSeen(); len(seen) > 0 {
		t.Errorf("without naming an outfit, the service sees rows of %v", seen)
	}
	name := func(outfit uuid.UUID) {
		if _, err := c.Exec(t.Context(), "SELECT set_config('pullbook.outfit', $1, false)", outfit.String()); err != nil {
			t.Fatal(err)
		}
	}
	name(h.Outfit)
	if seen := outfitsSeen(); len(seen) != 1 || !seen[h.Outfit.String()] {
		t.Errorf("as one outfit, the service sees rows of %v", seen)
	}

	insert := func(outfit uuid.UUID, number int) error {
		_, err := c.Exec(t.Context(), `INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at, recorded_by, content, digest)
			VALUES ($1, $2, gen_random_uuid(), 'yard', now(), now(), 'nobody', '{}', decode(repeat('00', 32), 'hex'))`, outfit, number)
		return err
	}
	if err := insert(theirs, 2); code(err) != pgerrcode.InsufficientPrivilege {
		t.Errorf("writing an entry into the other's book: %v", err)
	}
	if _, err := c.Exec(t.Context(), "INSERT INTO claim (outfit_id, noun, code, root_id) VALUES ($1, 'yard', 'cedar flat', $2)", theirs, mine.Entry.ID); code(err) != pgerrcode.InsufficientPrivilege {
		t.Errorf("taking a name in the other's book: %v", err)
	}
	if _, err := c.Exec(t.Context(), "INSERT INTO certificate_file (outfit_id, sha256, media_type, content) VALUES ($1, sha256('one'), 'application/pdf', 'one')", theirs); code(err) != pgerrcode.InsufficientPrivilege {
		t.Errorf("putting a certificate's file among the other's: %v", err)
	}
	if _, err := c.Exec(t.Context(), "INSERT INTO feed_key (outfit_id, feed_key_id, name, made_by, hash) VALUES ($1, gen_random_uuid(), 'x', 'x', decode(repeat('00', 32), 'hex'))", theirs); code(err) != pgerrcode.InsufficientPrivilege {
		t.Errorf("making a key to the other's feeds: %v", err)
	}
	for _, sql := range []string{
		"UPDATE book SET number = number + 1 WHERE outfit_id = $1",
		"UPDATE book SET digest = digest WHERE outfit_id = $1",
		"UPDATE outfit SET decimal_mark = 'comma' WHERE outfit_id = $1",
		"UPDATE person SET role = 'manager' WHERE outfit_id = $1",
		"UPDATE token SET revoked_at = NULL WHERE outfit_id = $1",
		"UPDATE feed_key SET revoked_at = NULL WHERE outfit_id = $1",
	} {
		if tag, err := c.Exec(t.Context(), sql, theirs); err != nil || tag.RowsAffected() != 0 {
			t.Errorf("%s reached the other's book: %v, %v", sql, tag, err)
		}
	}
	for _, sql := range []string{
		"UPDATE outfit SET name = name", "UPDATE person SET name = 'x'", "UPDATE person SET password_hash = 'x'", "UPDATE token SET hash = hash",
		"UPDATE tablet SET name = 'x'", "DELETE FROM person", "DELETE FROM token", "INSERT INTO book (outfit_id) VALUES (gen_random_uuid())",
		"ALTER TABLE entry DISABLE ROW LEVEL SECURITY", "ALTER TABLE entry DISABLE TRIGGER append_only", "DROP TABLE entry",
		"SET session_replication_role = replica", "SET ROLE pullbook_operator", "SET SESSION AUTHORIZATION postgres",
	} {
		if _, err := c.Exec(t.Context(), sql); err == nil {
			t.Errorf("the service may %s", sql)
		}
	}
}

func TestTheOperatorListsOutfitsAndReadsNoBook(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.NewOutfit(t, "Two Rivers Honey")
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	outfits, err := h.Operator.Outfits(t.Context())
	if err != nil || len(outfits) != 2 {
		t.Errorf("the operator lists %v, %v", outfits, err)
	}
	if outfits, err := h.Service.Outfits(t.Context()); err != nil || len(outfits) != 0 {
		t.Errorf("the service lists %v, %v", outfits, err)
	}
	var entries int
	if err := h.Operator.Pool.QueryRow(t.Context(), "SELECT count(*) FROM entry").Scan(&entries); err != nil || entries != 0 {
		t.Errorf("the operator sees %d entries without naming an outfit, %v", entries, err)
	}
}
