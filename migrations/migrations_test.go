package migrations_test

import (
	"context"
	"errors"
	"net/url"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/golang-migrate/migrate/v4"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
	"pullbook/migrations"
)

// Roles belong to the whole server, and so do these tests: none runs beside
// another.
func TestMain(m *testing.M) {
	os.Exit(dbtest.Main(m, func(context.Context, string) error { return nil }))
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	c, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close(context.Background()) })
	return c
}

func run(t *testing.T, c *pgx.Conn, sql string, args ...any) {
	t.Helper()
	if _, err := c.Exec(t.Context(), sql, args...); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

func texts(t *testing.T, c *pgx.Conn, sql string) []string {
	t.Helper()
	rows, err := c.Query(t.Context(), sql)
	if err != nil {
		t.Fatal(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return out
}

func up(t *testing.T, url string) {
	t.Helper()
	if err := migrations.Up(url); err != nil {
		t.Fatal(err)
	}
}

// fileDigest is the SHA-256 of a file that is no more than its head.
const fileDigest = "3e49ee58275c0e10b9f9a454afaad65cb22d32ba0ba99d2bf88c32b676192a0d"

// bodyOf is the least that the database takes for each kind of entry.
var bodyOf = map[ledger.Kind]string{
	ledger.KindSeason:                `{"first": "2026-01-01", "last": "2026-12-31"}`,
	ledger.KindSuperKind:             `{"tare_g": 13000, "usual_net_g": 27000, "fullest_net_g": 36000, "frames_per_super": 10}`,
	ledger.KindTank:                  `{"capacity_g": 4500000}`,
	ledger.KindHiveCount:             `{"hives": 32}`,
	ledger.KindRunSupers:             `{"supers": 48}`,
	ledger.KindLoad:                  `{"frames_left": 29, "frames_right": 29}`,
	ledger.KindMovement:              `{"mass_g": 1250000, "from": {"kind": "run"}}`,
	ledger.KindStocktake:             `{"mass_g": 1244000}`,
	ledger.KindLot:                   `{"code": "L26-014"}`,
	ledger.KindFill:                  `{"tare_g": 18200, "gross_g": 311700, "container": "D-0101"}`,
	ledger.KindRuleSet:               `{"name": "a buyer's", "citation": "contract 7", "limits": [{}]}`,
	ledger.KindImport:                `{"entries": 1}`,
	ledger.KindSample:                `{"drawn": {"containers": ["1"]}}`,
	ledger.KindCheck:                 `{"on": "2026-08-21", "rule_sets": [{}], "found": {"through_entry": 9, "results": [{}]}}`,
	ledger.KindLotStatus:             `{"status": "held", "why": "recall"}`,
	ledger.KindOperator:              `{"tablet": {"id": "0198b1a0-0002-7000-8000-000000000001"}}`,
	ledger.KindLaboratoryCertificate: `{"reading_id": "0198b1a0-0003-7000-8000-000000000001", "sha256": "` + fileDigest + `", "bytes": 16, "media_type": "application/pdf", "file_name": "26-1207.pdf"}`,
	ledger.KindPhoto:                 `{"entry_id": "0198b1a0-0003-7000-8000-000000000001", "sha256": "` + fileDigest + `", "bytes": 16, "media_type": "image/jpeg", "file_name": "label.jpg"}`,
	ledger.KindContract:              `{"buyer_id": "0198b1a0-0001-7000-8000-000000000001", "rule_set": {"rule_set_id": "0198b1a0-0002-7000-8000-000000000001"}, "most_g": 6000000}`,
	ledger.KindPreparedDispatch:      `{"buyer_id": "0198b1a0-0001-7000-8000-000000000001", "leaves_on": "2026-08-22", "lots": [{}]}`,
	ledger.KindAdoptedPlan:           `{"title": "warm the small tank", "of": "warming", "steps": [{}]}`,
	ledger.KindPreparedBlend:         `{"tank_id": "0198b1a0-0001-7000-8000-000000000001", "takes": [{}]}`,
	ledger.KindSettlement:            `{"paid_minor": 120000, "terms_entry": "0198b1a0-0001-7000-8000-000000000001"}`,
}

// fill puts an outfit into a database, with people, tokens, names in use and an
// entry of every kind.
func fill(t *testing.T, c *pgx.Conn) {
	t.Helper()
	outfit, person := uuid.New(), uuid.New()
	run(t, c, `INSERT INTO outfit (outfit_id, name, time_zone, units) VALUES ($1, 'Fern Gully Honey', 'America/Winnipeg', 'metric')`, outfit)
	run(t, c, `INSERT INTO book (outfit_id) VALUES ($1)`, outfit)
	run(t, c, `INSERT INTO person (outfit_id, person_id, name, role) VALUES ($1, $2, 'Mirren', 'manager')`, outfit, person)
	run(t, c, `INSERT INTO token (outfit_id, token_id, person_id, name, hash) VALUES ($1, gen_random_uuid(), $2, 'phone', sha256('secret'))`, outfit, person)
	run(t, c, `INSERT INTO claim (outfit_id, noun, code, root_id) VALUES ($1, 'yard', 'alder bend', gen_random_uuid())`, outfit)
	run(t, c, `INSERT INTO certificate_file (outfit_id, sha256, media_type, content) VALUES ($1, sha256('%PDF-1.7 26-1207'), 'application/pdf', '%PDF-1.7 26-1207')`, outfit)
	var before *uuid.UUID
	for i, kind := range ledger.Kinds() {
		entry, body, reason := uuid.New(), bodyOf[kind], ""
		if body == "" {
			body = "{}"
		}
		var replaces *uuid.UUID
		if kind == ledger.KindWithdrawal {
			replaces, reason = before, "entered twice"
		}
		run(t, c, `INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at, recorded_by, replaces, reason, content, digest)
			VALUES ($1, $2, $3, $4, now(), now(), 'Mirren', $5, $6, json_build_object('body', $7::text::json), sha256('digest'))`,
			outfit, i+1, entry, string(kind), replaces, reason, body)
		run(t, c, `UPDATE book SET number = $2 WHERE outfit_id = $1`, outfit, i+1)
		before = &entry
	}
}

// rows is the text of all that is stored.
func rows(t *testing.T, c *pgx.Conn) string {
	t.Helper()
	var all []string
	for _, table := range []string{"token", "claim", "entry"} {
		all = append(all, texts(t, c, "SELECT '"+table+" ' || x::text FROM "+table+" x ORDER BY 1")...)
	}
	// What an outfit's spreadsheets write was added later.
	all = append(all, texts(t, c, "SELECT (outfit_id, name, time_zone, units, created_at)::text FROM outfit ORDER BY 1")...)
	// How a person signs in was added later, and how much came with an archive.
	all = append(all, texts(t, c, "SELECT (outfit_id, number, digest, access)::text FROM book ORDER BY 1")...)
	all = append(all, texts(t, c, "SELECT (outfit_id, person_id, name, role, created_at, left_at)::text FROM person ORDER BY 1")...)
	return strings.Join(all, "\n")
}

// things lists what is in the database that somebody made.
func things(t *testing.T, c *pgx.Conn) []string {
	t.Helper()
	return texts(t, c, `
		SELECT relname::text FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'v', 'm', 'S', 'p')
		 UNION ALL SELECT proname::text FROM pg_proc WHERE pronamespace = 'public'::regnamespace
		 UNION ALL SELECT typname::text FROM pg_type WHERE typnamespace = 'public'::regnamespace AND typtype IN ('d', 'e')`)
}

// open prepares the migrations by themselves, so that a test can take steps.
func open(t *testing.T, url string) *migrate.Migrate {
	t.Helper()
	m, err := migrations.Open(url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { m.Close() })
	return m
}

func TestAllMigrationsGoUpDownAndUpAgainOverRows(t *testing.T) {
	address := dbtest.New(t)
	m := open(t, address)
	c := connect(t, address)
	latest, err := migrations.Latest()
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		up(t, address)
		if v, interrupted, err := migrations.Version(t.Context(), address); err != nil || interrupted || v != latest {
			t.Fatalf("version %d of %d, interrupted %v, %v", v, latest, interrupted, err)
		}
		fill(t, c)
		fill(t, c)
		for version, err := latest, error(nil); err == nil && version > 0; version, _, err = m.Version() {
			if err := m.Steps(-1); err != nil {
				t.Fatalf("down from version %d: %v", version, err)
			}
		}
		if left := things(t, c); !slices.Equal(left, []string{"schema_migrations"}) {
			t.Errorf("all the way down, these are left: %v", left)
		}
		if left := texts(t, c, "SELECT rolname::text FROM pg_roles WHERE rolname LIKE 'pullbook%'"); len(left) > 0 {
			t.Errorf("no database uses them, and these roles are left: %v", left)
		}
	}
}

// TestGoingBackAVersionKeepsWhatWasRecorded goes down as far as there is a book,
// and up again.
func TestGoingBackAVersionKeepsWhatWasRecorded(t *testing.T) {
	address := dbtest.New(t)
	m := open(t, address)
	c := connect(t, address)
	up(t, address)
	fill(t, c)
	before, shape := rows(t, c), things(t, c)
	for {
		if err := m.Steps(-1); err != nil {
			t.Fatal(err)
		}
		if len(texts(t, c, "SELECT relname::text FROM pg_class WHERE relname = 'entry'")) == 0 {
			t.Fatal("the last step took the book; the ones before it should stop short of it")
		}
		if rows(t, c) != before {
			t.Fatal("what was recorded is not what it was")
		}
		if v, _, err := m.Version(); err != nil {
			t.Fatal(err)
		} else if v == bookVersion {
			break
		}
	}
	up(t, address)
	if rows(t, c) != before || !slices.Equal(things(t, c), shape) {
		t.Error("down and up again, the database is not what it was")
	}
	fill(t, c)
}

// bookVersion is the version with which the book came.
const bookVersion = 2

func TestMigratingTwiceChangesNothing(t *testing.T) {
	address := dbtest.New(t)
	up(t, address)
	c := connect(t, address)
	fill(t, c)
	before := rows(t, c)
	up(t, address)
	if rows(t, c) != before {
		t.Error("the rows are not what they were")
	}
	if err := open(t, address).Up(); !errors.Is(err, migrate.ErrNoChange) {
		t.Errorf("there was something left to do: %v", err)
	}
}

func TestTwoDatabasesOfOneServerShareTheRoles(t *testing.T) {
	first, second := dbtest.New(t), dbtest.New(t)
	up(t, first)
	up(t, second)
	fill(t, connect(t, second))
	if err := open(t, first).Down(); err != nil {
		t.Fatalf("the first goes down: %v", err)
	}
	var seen int
	if err := connect(t, dbtest.As(second, "pullbook_service")).QueryRow(t.Context(), "SELECT count(*) FROM entry").Scan(&seen); err != nil || seen != 0 {
		t.Errorf("the first went down, and the second's service sees %d entries without naming an outfit, %v", seen, err)
	}
	up(t, first)
	fill(t, connect(t, first))
	for _, address := range []string{first, second} {
		if err := open(t, address).Down(); err != nil {
			t.Fatal(err)
		}
	}
}

func TestDatabasesMayBeSetUpAtTheSameMoment(t *testing.T) {
	var addresses []string
	for range 4 {
		addresses = append(addresses, dbtest.New(t))
	}
	var all sync.WaitGroup
	for _, address := range addresses {
		all.Go(func() {
			if err := migrations.Up(address); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	for _, address := range addresses {
		fill(t, connect(t, address))
	}
}

// TestTheOwnerOfADatabaseNeedNotBeASuperuser holds for a server that others run:
// whoever migrates may make roles and owns the database, and no more.
func TestTheOwnerOfADatabaseNeedNotBeASuperuser(t *testing.T) {
	address := dbtest.New(t)
	c := connect(t, address)
	run(t, c, "DROP ROLE IF EXISTS pullbook_service")
	run(t, c, "DROP ROLE IF EXISTS pullbook_operator")
	run(t, c, "CREATE ROLE keeper LOGIN CREATEROLE NOSUPERUSER")
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	run(t, c, "ALTER DATABASE "+pgx.Identifier{strings.TrimPrefix(u.Path, "/")}.Sanitize()+" OWNER TO keeper")
	run(t, c, "GRANT ALL ON SCHEMA public TO keeper")
	keeper := dbtest.As(address, "keeper")
	up(t, keeper)
	k := connect(t, keeper)
	run(t, k, "SET ROLE pullbook_service")
	if got := texts(t, k, "SELECT entry_id::text FROM entry"); len(got) > 0 {
		t.Errorf("without naming an outfit, %v", got)
	}
	run(t, k, "RESET ROLE")
	if err := open(t, keeper).Down(); err != nil {
		t.Fatal(err)
	}
	run(t, c, "DROP OWNED BY keeper")
	run(t, c, "ALTER DATABASE "+pgx.Identifier{strings.TrimPrefix(u.Path, "/")}.Sanitize()+" OWNER TO CURRENT_USER")
	run(t, c, "DROP ROLE keeper")
}
