package db_test

import (
	"errors"
	"pullbook/db/books/bookstest"
	"strings"
	"testing"

	"github.com/jackc/pgerrcode"
	"github.com/jackc/pgx/v5/pgconn"

	"pullbook/domain/ledger"
)

func TestWhatIsInTheBookCannotBeChangedByAnybody(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	before := h.Rows(t)
	superuser, service := bookstest.Connect(t, h.URL), h.asService(t)
	if _, err := service.Exec(t.Context(), "SELECT set_config('pullbook.outfit', $1, false)", h.Outfit.String()); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{
		"UPDATE entry SET recorded_by = 'somebody else'",
		"UPDATE entry SET number = number + 1",
		"UPDATE entry SET content = '{}' WHERE number = 1",
		"UPDATE entry SET recorded_by = 'nobody' WHERE false",
		"DELETE FROM entry", "DELETE FROM entry WHERE false",
		"TRUNCATE entry", "TRUNCATE entry CASCADE",
		"UPDATE claim SET code = 'birch hollow'", "DELETE FROM claim", "TRUNCATE claim",
		"INSERT INTO entry SELECT * FROM entry ON CONFLICT (outfit_id, number) DO UPDATE SET recorded_by = 'somebody else'",
		"UPDATE certificate_file SET content = 'another'", "UPDATE certificate_file SET media_type = media_type WHERE false", "DELETE FROM certificate_file", "TRUNCATE certificate_file",
		"MERGE INTO entry e USING book b ON e.outfit_id = b.outfit_id WHEN MATCHED THEN DELETE",
	} {
		var pg *pgconn.PgError
		if _, err := superuser.Exec(t.Context(), sql); !errors.As(err, &pg) || !strings.Contains(pg.Message, "append-only") || !strings.Contains(pg.Hint, "replaces it") {
			t.Errorf("the owner may %s: %v", sql, err)
		}
		if _, err := service.Exec(t.Context(), sql); code(err) != pgerrcode.InsufficientPrivilege {
			t.Errorf("the service may %s: %v", sql, err)
		}
	}
	if _, err := superuser.Exec(t.Context(), "TRUNCATE outfit CASCADE"); err == nil {
		t.Error("the outfits can be emptied with their books")
	}
	if _, err := superuser.Exec(t.Context(), "DELETE FROM book"); err == nil {
		t.Error("a book with entries can be removed")
	}
	if after := h.Rows(t); after != before {
		t.Errorf("before:\n%s\nafter:\n%s", before, after)
	}
}

func TestTheDatabaseItselfRefusesWhatCannotBe(t *testing.T) {
	t.Parallel()
	h := open(t)
	first := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"}).Entry
	c := bookstest.Connect(t, h.URL)
	for _, row := range []struct {
		what, kind, body, set, rule string
	}{
		{"a season that ends before it begins", "season", `{"first": "2026-12-31", "last": "2026-01-01"}`, "", "season_in_order"},
		{"a season without its last day", "season", `{"first": "2026-12-31"}`, "", "season_in_order"},
		{"a super of no tare", "super_kind", `{"tare_g": 0, "usual_net_g": 27000, "fullest_net_g": 36000, "frames_per_super": 10}`, "", "super_kind_masses"},
		{"a super fuller than it can be", "super_kind", `{"tare_g": 1, "usual_net_g": 36001, "fullest_net_g": 36000, "frames_per_super": 10}`, "", "super_kind_masses"},
		{"a super without frames", "super_kind", `{"tare_g": 1, "usual_net_g": 27000, "fullest_net_g": 36000, "frames_per_super": 0}`, "", "super_kind_masses"},
		{"a tank of no capacity", "tank", `{"capacity_g": 0}`, "", "tank_capacity"},
		{"fewer hives than none", "hive_count", `{"hives": -1}`, "", "hives_counted"},
		{"no supers into a run", "run_supers", `{"supers": 0}`, "", "run_supers_positive"},
		{"a load without frames", "load", `{"frames_left": 0, "frames_right": 0}`, "", "load_has_frames"},
		{"a movement of less than nothing", "movement", `{"mass_g": -1, "from": {"kind": "tank"}}`, "", "movement_mass"},
		{"a movement of nothing out of a tank", "movement", `{"mass_g": 0, "from": {"kind": "tank"}}`, "", "movement_mass"},
		{"a movement without its mass", "movement", `{"from": {"kind": "tank"}}`, "", "movement_mass"},
		{"a stocktake below nothing", "stocktake", `{"mass_g": -1}`, "", "stocktake_mass"},
		{"a lot without a code", "lot", `{"code": " "}`, "", "lot_has_a_code"},
		{"a lot whose code is missing", "lot", `{}`, "", "lot_has_a_code"},
		{"a fill whose gross is its tare", "fill", `{"tare_g": 18000, "gross_g": 18000, "container": "D-1"}`, "", "fill_gross_above_tare"},
		{"a fill of negative tare", "fill", `{"tare_g": -1, "gross_g": 18000, "container": "D-1"}`, "", "fill_gross_above_tare"},
		{"a fill without a number", "fill", `{"tare_g": 18000, "gross_g": 308000, "container": ""}`, "", "fill_gross_above_tare"},
		{"an import of more than there is before it", "import", `{"entries": 99}`, "", "import_follows_its_entries"},
		{"an import of nothing", "import", `{"entries": 0}`, "", "import_follows_its_entries"},
		{"a certificate without a file", "laboratory_certificate", `{"reading_id": "0198b1a0-0003-7000-8000-000000000001"}`, "", "certificate_names_its_file"},
		{"a certificate whose digest is none", "laboratory_certificate", strings.Replace(certificateBody, `"sha256": "00`, `"sha256": "zz`, 1), "", "certificate_names_its_file"},
		{"a certificate too large", "laboratory_certificate", strings.Replace(certificateBody, "4711", "5242881", 1), "", "certificate_names_its_file"},
		{"a certificate that is a page of the web", "laboratory_certificate", strings.Replace(certificateBody, "application/pdf", "text/html", 1), "", "certificate_names_its_file"},
		{"a certificate that corrects", "laboratory_certificate", certificateBody, "replaces = '" + first.ID.String() + "', reason = 'misread'", "certificate_names_its_file"},
		{"a kind that is none", "harvest", `{}`, "", "kind_known"},
		{"a withdrawal of nothing", "withdrawal", `{}`, "", "withdrawal_replaces"},
		{"a correction without a reason", "yard", `{}`, "replaces = '" + first.ID.String() + "', reason = ' '", "replacing_has_a_reason"},
		{"a correction of what is not there", "yard", `{}`, "replaces = gen_random_uuid(), reason = 'misread'", "replaces_an_entry"},
		{"a number that is none", "yard", `{}`, "number = 0", "number_positive"},
		{"a number that is taken", "yard", `{}`, "number = 1", "entry_pkey"},
		{"an id that is taken", "yard", `{}`, "entry_id = '" + first.ID.String() + "'", "entry_id_once"},
		{"a digest cut short", "yard", `{}`, "digest = '\\x00'", "digest_is_sha256"},
		{"a time two days ahead", "yard", `{}`, "occurred_at = now() + interval '2 days'", "not_from_the_future"},
		{"a time before all times", "yard", `{}`, "occurred_at = '-infinity'", "times_finite"},
		{"a time after all times", "reading", `{}`, "occurred_at = 'infinity'", "times_finite"},
		{"a record before all times", "yard", `{}`, "occurred_at = '-infinity', recorded_at = '-infinity'", "times_finite"},
		{"a record after all times", "yard", `{}`, "recorded_at = 'infinity'", "times_finite"},
	} {
		t.Run(row.what, func(t *testing.T) {
			columns := map[string]string{"number": "99", "entry_id": "gen_random_uuid()", "occurred_at": "now()", "recorded_at": "now()", "replaces": "NULL", "reason": "''", "digest": "decode(repeat('00', 32), 'hex')"}
			for set := range strings.SplitSeq(row.set, ", ") {
				if name, value, ok := strings.Cut(set, " = "); ok {
					columns[name] = value
				}
			}
			_, err := c.Exec(t.Context(), `INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at, recorded_by, replaces, reason, content, digest) VALUES ($1, `+
				columns["number"]+", "+columns["entry_id"]+", $2, "+columns["occurred_at"]+", "+columns["recorded_at"]+", 'nobody', "+columns["replaces"]+", "+columns["reason"]+
				", json_build_object('body', $3::text::json), "+columns["digest"]+")", h.Outfit, row.kind, row.body)
			var pg *pgconn.PgError
			if !errors.As(err, &pg) || pg.ConstraintName != row.rule {
				t.Errorf("%v; the rule %s should have refused it", err, row.rule)
			}
		})
	}
	for what, sql := range map[string]string{
		"an outfit without a name":         "INSERT INTO outfit (outfit_id, name, time_zone, units) VALUES (gen_random_uuid(), ' ', 'UTC', 'metric')",
		"units that are none":              "INSERT INTO outfit (outfit_id, name, time_zone, units) VALUES (gen_random_uuid(), 'x', 'UTC', 'stone')",
		"a role that is none":              "INSERT INTO person (outfit_id, person_id, name, role) SELECT outfit_id, gen_random_uuid(), 'x', 'owner' FROM outfit",
		"two people of one name":           "INSERT INTO person (outfit_id, person_id, name, role) SELECT outfit_id, gen_random_uuid(), 'MIRREN', 'crew' FROM outfit",
		"a person of no outfit":            "INSERT INTO person (outfit_id, person_id, name, role) VALUES (gen_random_uuid(), gen_random_uuid(), 'x', 'crew')",
		"a token of nobody":                "INSERT INTO token (outfit_id, token_id, person_id, name, hash) SELECT outfit_id, gen_random_uuid(), gen_random_uuid(), 'x', decode(repeat('00', 32), 'hex') FROM outfit",
		"a token whose secret is kept":     "INSERT INTO token (outfit_id, token_id, person_id, name, hash) SELECT outfit_id, gen_random_uuid(), person_id, 'x', 'secret' FROM person",
		"a token revoked before it was":    "UPDATE token SET revoked_at = created_at - interval '1 s'",
		"a person who left before coming":  "UPDATE person SET left_at = created_at - interval '1 s'",
		"a claim of no code":               "INSERT INTO claim (outfit_id, noun, code, root_id) SELECT outfit_id, 'yard', ' ', gen_random_uuid() FROM outfit",
		"a claim of a name that is taken":  "INSERT INTO claim (outfit_id, noun, code, root_id) SELECT outfit_id, 'yard', 'alder bend', gen_random_uuid() FROM outfit",
		"a file of another digest":         "INSERT INTO certificate_file (outfit_id, sha256, media_type, content) SELECT outfit_id, sha256('one'), 'application/pdf', 'another' FROM outfit",
		"a file of nothing":                "INSERT INTO certificate_file (outfit_id, sha256, media_type, content) SELECT outfit_id, sha256(''), 'application/pdf', '' FROM outfit",
		"a file larger than any":           "INSERT INTO certificate_file (outfit_id, sha256, media_type, content) SELECT outfit_id, sha256(x), 'application/pdf', x FROM outfit, convert_to(repeat('x', 5242881), 'UTF8') x",
		"a file that is a page of the web": "INSERT INTO certificate_file (outfit_id, sha256, media_type, content) SELECT outfit_id, sha256('<html>'), 'text/html', '<html>' FROM outfit",
		"a file of no outfit":              "INSERT INTO certificate_file (outfit_id, sha256, media_type, content) VALUES (gen_random_uuid(), sha256('one'), 'application/pdf', 'one')",
		"a book of less than no entries":   "UPDATE book SET number = -1",
		"a book's digest cut short":        "UPDATE book SET digest = '\\x00'",
		"a second book of the same outfit": "INSERT INTO book (outfit_id) SELECT outfit_id FROM outfit",
	} {
		if _, err := c.Exec(t.Context(), sql); !pgerrcode.IsIntegrityConstraintViolation(code(err)) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// certificateBody is what an entry says that names a file.
const certificateBody = `{"reading_id": "0198b1a0-0003-7000-8000-000000000001", "sha256": "0000000000000000000000000000000000000000000000000000000000000000", "bytes": 4711, "media_type": "application/pdf", "file_name": "26-1207.pdf"}`

// No entry is without a number or id, and none has another's, also where a superuser goes
// past the triggers: so a book is always read in one order.
func TestNoEntryIsDoubledOrOutOfPlace(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.NineEntries(t)
	c := bookstest.Connect(t, h.URL)
	if _, err := c.Exec(t.Context(), "SET session_replication_role = replica"); err != nil {
		t.Fatal(err)
	}
	for sql, want := range map[string]string{
		"UPDATE entry SET number = NULL WHERE number = 2":                                                              pgerrcode.NotNullViolation,
		"UPDATE entry SET entry_id = NULL WHERE number = 2":                                                            pgerrcode.NotNullViolation,
		"UPDATE entry SET outfit_id = NULL WHERE number = 2":                                                           pgerrcode.NotNullViolation,
		"UPDATE entry SET number = 1 WHERE number = 2":                                                                 pgerrcode.UniqueViolation,
		"UPDATE entry SET entry_id = (SELECT entry_id FROM entry WHERE number = 1) WHERE number = 2":                   pgerrcode.UniqueViolation,
		"INSERT INTO entry SELECT * FROM entry WHERE number = 2":                                                       pgerrcode.UniqueViolation,
		"UPDATE entry SET number = -number WHERE number = 2":                                                           pgerrcode.CheckViolation,
		"UPDATE entry SET number = 0 WHERE number = 2":                                                                 pgerrcode.CheckViolation,
		"UPDATE entry SET replaces = (SELECT max(replaces::text)::uuid FROM entry), reason = 'twice' WHERE number = 5": pgerrcode.UniqueViolation,
	} {
		if _, err := c.Exec(t.Context(), sql); code(err) != want {
			t.Errorf("%s: %v", sql, err)
		}
	}
}

func TestTheDatabaseKnowsEveryKindOfEntry(t *testing.T) {
	t.Parallel()
	h := open(t)
	c := bookstest.Connect(t, h.URL)
	for i, kind := range ledger.Kinds() {
		_, err := c.Exec(t.Context(), `INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at, recorded_by, content, digest)
			VALUES ($1, $2, gen_random_uuid(), $3, now(), now(), 'nobody', '{}', decode(repeat('00', 32), 'hex'))`, h.Outfit, 100+i, string(kind))
		var pg *pgconn.PgError
		if errors.As(err, &pg) && pg.ConstraintName == "kind_known" {
			t.Errorf("it refuses any %s: %v", kind, err)
		}
	}
}
