package migrations_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"pullbook/db/dbtest"
	"pullbook/migrations"
)

var errUndo = errors.New("only tried")

// tamperings are what somebody with the owner's rights, or a superuser, may do to
// what protects the books, and what is said of each.
// Only a backup brings back what is lost.
var tamperings = []struct {
	sql, says string
	lost      bool
}{
	{`ALTER TABLE entry DISABLE TRIGGER append_only`, "the trigger append_only on entry is disabled: somebody with the owner's rights could change", false},
	{`ALTER TABLE entry DISABLE TRIGGER ALL`, "the foreign key check on entry", false},
	{`ALTER TABLE claim ENABLE REPLICA TRIGGER append_only`, "the trigger append_only on claim", false},
	{`DROP TRIGGER append_only ON entry`, "the trigger append_only on entry is missing", false},
	{`DROP TRIGGER append_only ON entry; CREATE TRIGGER append_only BEFORE TRUNCATE ON entry FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()`, "the trigger append_only on entry is", false},
	{`CREATE FUNCTION sly() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NULL; END'; CREATE TRIGGER a BEFORE INSERT ON entry FOR EACH ROW EXECUTE FUNCTION sly()`, "the trigger a on entry is none of this program's", false},
	{`CREATE RULE nothing AS ON INSERT TO entry DO INSTEAD NOTHING`, "the rule nothing on entry", false},
	{`CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NULL; END'`, "the function refuse_change() was changed", false},
	{`CREATE OR REPLACE FUNCTION this_outfit() RETURNS uuid LANGUAGE sql STABLE PARALLEL SAFE RETURN (SELECT outfit_id FROM public.outfit LIMIT 1)`, "the function this_outfit() was changed", false},
	{`ALTER FUNCTION refuse_change() SECURITY DEFINER`, "the function refuse_change() was changed", false},
	{`ALTER FUNCTION refuse_unless(boolean, text) SET search_path = pg_temp`, "the function refuse_unless(boolean,text) was changed", false},
	{`DROP FUNCTION quality_entry_can_be(text, json) CASCADE`, "the function quality_entry_can_be(text,json) is missing", false},
	{`CREATE FUNCTION open_door() RETURNS void LANGUAGE sql SECURITY DEFINER AS 'DELETE FROM public.entry'`, "the function open_door() is none of this program's", false},
	{`REVOKE EXECUTE ON FUNCTION this_outfit() FROM PUBLIC`, "the function this_outfit() was changed", false},
	{`ALTER FUNCTION this_outfit() OWNER TO pullbook_service`, "the function this_outfit() was changed", false},
	{`DROP POLICY own_outfit ON entry`, "the policy own_outfit on entry is missing", false},
	{`ALTER POLICY own_outfit ON entry USING (true)`, "the policy own_outfit on entry is", false},
	{`ALTER POLICY own_outfit ON entry TO pullbook_operator`, "the policy own_outfit on entry is", false},
	{`CREATE POLICY all_see ON entry USING (true)`, "the policy all_see on entry is none", false},
	{`ALTER TABLE entry NO FORCE ROW LEVEL SECURITY`, "the table entry is", false},
	{`ALTER TABLE person DISABLE ROW LEVEL SECURITY`, "the table person is", false},
	{`ALTER TABLE session SET UNLOGGED`, "the table session is", false},
	{`ALTER TABLE entry OWNER TO pullbook_service`, "the table entry is", false},
	{`GRANT UPDATE ON entry TO pullbook_service`, "the grant UPDATE ON public.entry TO pullbook_service is none", false},
	{`GRANT UPDATE (content) ON entry TO pullbook_operator`, "the grant UPDATE (content) ON public.entry TO pullbook_operator is none", false},
	{`GRANT DELETE ON claim TO PUBLIC`, "the grant DELETE ON public.claim TO PUBLIC is none", false},
	{`GRANT SELECT ON token TO PUBLIC`, "the grant SELECT ON public.token TO PUBLIC is none", false},
	{`GRANT SELECT ON entry TO pullbook_service WITH GRANT OPTION`, "the grant SELECT ON public.entry TO pullbook_service is", false},
	{`REVOKE INSERT ON entry FROM pullbook_service`, "the grant INSERT ON public.entry TO pullbook_service is missing", false},
	{`GRANT CREATE ON SCHEMA public TO PUBLIC`, "the grant CREATE ON SCHEMA public TO pullbook_service is none", false},
	{`ALTER ROLE pullbook_service BYPASSRLS`, "the role pullbook_service is", false},
	{`ALTER ROLE pullbook_service SUPERUSER`, "the role pullbook_service is", false},
	{`ALTER ROLE pullbook_operator CREATEROLE`, "the role pullbook_operator is", false},
	{`GRANT pg_write_all_data TO pullbook_service`, "the membership pg_write_all_data TO pullbook_service is none", false},
	{`ALTER ROLE pullbook_service SET session_replication_role = replica`, "the setting session_replication_role of the role pullbook_service", false},
	{`ALTER ROLE pullbook_service SET synchronous_commit = off`, "the setting synchronous_commit", false},
	{`ALTER TABLE entry DROP CONSTRAINT kind_known`, "the constraint kind_known on entry is missing", false},
	{`ALTER TABLE entry DROP CONSTRAINT kind_known, ADD CONSTRAINT kind_known CHECK (number > 0)`, "the constraint kind_known on entry is", false},
	{`ALTER TABLE book DROP CONSTRAINT number_not_negative, ADD CONSTRAINT number_not_negative CHECK (number >= 0) NOT VALID`, "the constraint number_not_negative on book is", false},
	{`DROP INDEX replaced_once`, "the index replaced_once on entry is missing", false},
	{`DROP INDEX token_hash_once`, "the index token_hash_once on token is missing", false},
	{`CREATE UNIQUE INDEX one_entry_a_day ON entry (outfit_id, occurred_at)`, "the index one_entry_a_day on entry is none", false},
	{`ALTER TABLE entry ALTER reason SET DEFAULT 'none'`, "the column reason on entry is", true},
	{`ALTER TABLE entry ALTER digest DROP NOT NULL`, "the column digest on entry is", true},
	{`ALTER TABLE entry ADD secret text`, "the column secret on entry is none", true},
	{`DROP TABLE session`, "the table session is missing", true},
}

// TestTamperingIsNamedAndMended tries each in a transaction of its own.
func TestTamperingIsNamedAndMended(t *testing.T) {
	address := dbtest.New(t)
	up(t, address)
	c := connect(t, address)
	for _, tt := range tamperings {
		err := pgx.BeginFunc(t.Context(), c, func(tx pgx.Tx) error {
			if _, err := tx.Conn().PgConn().Exec(t.Context(), tt.sql).ReadAll(); err != nil {
				return err
			}
			found, err := migrations.Differences(t.Context(), tx)
			if err != nil {
				return err
			}
			named, mendable := false, len(found) > 0
			for _, d := range found {
				named = named || strings.Contains(d.Says, tt.says)
				mendable = mendable && len(d.Mend) > 0
			}
			if !named {
				t.Errorf("after %s nothing says %q: %q", tt.sql, tt.says, found)
			}
			if mendable != !tt.lost {
				t.Errorf("after %s, whether it can be mended is %v: %q", tt.sql, mendable, found)
			}
			_, left, err := migrations.Mend(t.Context(), tx)
			if err != nil || (len(left) > 0) != tt.lost {
				t.Errorf("%s, and mended, it is still otherwise: %q, %v", tt.sql, left, err)
			}
			return errUndo
		})
		if !errors.Is(err, errUndo) {
			t.Errorf("%s: %v", tt.sql, err)
		}
	}
}

func TestWhatOthersKeepBesideTheBooksIsNoDifference(t *testing.T) {
	address := dbtest.New(t)
	up(t, address)
	c := connect(t, address)
	run(t, c, `CREATE ROLE analyst`)
	defer run(t, c, `DROP OWNED BY analyst; DROP ROLE analyst`)
	for _, sql := range []string{
		`CREATE TABLE letter (letter_id int PRIMARY KEY)`,
		`CREATE VIEW letters AS SELECT * FROM letter`,
		`CREATE FUNCTION greet() RETURNS text LANGUAGE sql RETURN 'Dear Odell'`,
		`GRANT SELECT ON entry TO analyst`,
		`GRANT ALL ON letter TO analyst`,
		`CREATE INDEX entry_kind ON entry (outfit_id, kind)`,
	} {
		run(t, c, sql)
	}
	err := pgx.BeginFunc(t.Context(), c, func(tx pgx.Tx) error {
		found, err := migrations.Differences(t.Context(), tx)
		if len(found) > 0 {
			t.Errorf("found %q", found)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Whoever owns a database on a server that others run is no superuser, and has
// another name.
func TestTheOwnersNameIsNoDifference(t *testing.T) {
	address := dbtest.New(t)
	c := connect(t, address)
	run(t, c, "CREATE ROLE hired LOGIN CREATEROLE NOSUPERUSER")
	run(t, c, "DROP ROLE IF EXISTS pullbook_service, pullbook_operator")
	run(t, c, "GRANT ALL ON SCHEMA public TO hired")
	hired := dbtest.As(address, "hired")
	up(t, hired)
	err := pgx.BeginFunc(t.Context(), connect(t, hired), func(tx pgx.Tx) error {
		found, err := migrations.Differences(t.Context(), tx)
		if len(found) > 0 {
			t.Errorf("found %q", found)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := open(t, hired).Down(); err != nil {
		t.Fatal(err)
	}
	run(t, c, "DROP OWNED BY hired")
	run(t, c, "DROP ROLE hired")
}
