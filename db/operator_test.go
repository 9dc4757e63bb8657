package db_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// everyRow gives the outfit a row of each table, with everything that a row says.
func (h *honeyHouse) everyRow(t *testing.T) {
	t.Helper()
	odell := db.Person{ID: uuid.New(), Name: "Odell", Role: db.Crew}
	manager := h.Service.As(h.Manager)
	_, _, keyErr := manager.CreateFeedKey(t.Context(), h.Outfit, "the office", "lots", "Mirren")
	_, tabletErr := manager.CreateTablet(t.Context(), h.Outfit, "by the extractor")
	for _, err := range []error{
		manager.CreatePersonWithPassword(t.Context(), h.Outfit, odell, "four words for it"),
		manager.SetUnlock(t.Context(), h.Outfit, odell.ID, "4711"),
		keyErr, tabletErr,
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
}

// Whatever a row says, the audit names it where somebody altered it in the
// database and not through the program.
func TestTheAuditNamesWhatWasAlteredInTheTables(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.everyRow(t)
	if err := h.Audit(t); err != nil {
		t.Fatalf("as it was written: %v", err)
	}
	for _, row := range []struct{ alter, back, says string }{
		{"UPDATE outfit SET name = 'Fern Gully'", "UPDATE outfit SET name = 'Fern Gully Honey'", `the name is Fern Gully in the table of outfits; the book says Fern Gully Honey since entry 1`},
		{"UPDATE outfit SET time_zone = 'Europe/Madrid'", "UPDATE outfit SET time_zone = 'America/Winnipeg'", "the time zone is Europe/Madrid"},
		{"UPDATE outfit SET time_zone = 'Nowhere'", "UPDATE outfit SET time_zone = 'America/Winnipeg'", "the time zone is Nowhere"},
		{"UPDATE outfit SET units = 'us'", "UPDATE outfit SET units = 'metric'", "the units is us"},
		{"UPDATE outfit SET decimal_mark = 'comma'", "UPDATE outfit SET decimal_mark = ''", "the decimal mark is comma in the table of outfits; the book says not said since entry 1"},
		{`UPDATE outfit SET blend_weights = '{"source_kg": 25}'`, "UPDATE outfit SET blend_weights = NULL", "the blend weights is source_kg 25, moisture_given 0"},
		{"UPDATE person SET role = 'manager' WHERE name = 'Odell'", "UPDATE person SET role = 'crew' WHERE name = 'Odell'", "Odell: the role is manager in the table of people; the book says crew since entry 6"},
		{"UPDATE person SET name = 'Dell' WHERE name = 'Odell'", "UPDATE person SET name = 'Odell' WHERE name = 'Dell'", "the book says Odell"},
		{"UPDATE person SET left_at = now() WHERE name = 'Odell'", "UPDATE person SET left_at = NULL", "Odell: the leaving is"},
		{"UPDATE person SET session_generation = 7 WHERE name = 'Odell'", "UPDATE person SET session_generation = 1", "the count of signing out everywhere is 7"},
		{"UPDATE person SET unlock_hash = NULL WHERE name = 'Odell'", "", "Odell: the tablet code is none"},
		{"UPDATE person SET password_hash = '$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA' WHERE name = 'Odell'", "", "Odell: the password is one of digest"},
		{"UPDATE person SET password_hash = '$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA' WHERE name = 'Mirren'", "UPDATE person SET password_hash = NULL WHERE name = 'Mirren'", "Mirren: the password is one of digest"},
		{"INSERT INTO person (outfit_id, person_id, name, role) SELECT outfit_id, gen_random_uuid(), 'Ghost', 'manager' FROM outfit", "DELETE FROM person WHERE name = 'Ghost'", "Ghost"},
		{"UPDATE token SET revoked_at = now()", "UPDATE token SET revoked_at = NULL", `the token "test": the revoking is`},
		{"UPDATE token SET person_id = (SELECT person_id FROM person WHERE name = 'Odell')", "UPDATE token SET person_id = (SELECT person_id FROM person WHERE name = 'Mirren')", `the token "test": the person is`},
		{"UPDATE token SET hash = sha256('x')", "", `the token "test": the secret is`},
		{"INSERT INTO token (outfit_id, token_id, person_id, name, hash) SELECT outfit_id, gen_random_uuid(), person_id, 'theirs', sha256('y') FROM person WHERE name = 'Mirren'", "DELETE FROM token WHERE name = 'theirs'", `the token "theirs"`},
		{"UPDATE feed_key SET feed = NULL", "UPDATE feed_key SET feed = 'lots'", `the feed key "the office": the feed is all in the table of feed keys; the book says lots`},
		{"UPDATE feed_key SET hash = sha256('x')", "", `the feed key "the office": the secret is`},
		{"UPDATE feed_key SET made_by = 'Odell'", "UPDATE feed_key SET made_by = 'Mirren'", `the maker is Odell`},
		{"UPDATE feed_key SET revoked_at = now()", "UPDATE feed_key SET revoked_at = NULL", `the feed key "the office": the revoking is`},
		{"UPDATE tablet SET revoked_at = now()", "UPDATE tablet SET revoked_at = NULL", `the tablet "by the extractor": the signing out is`},
		{"UPDATE tablet SET name = 'elsewhere'", "UPDATE tablet SET name = 'by the extractor'", `the book says by the extractor`},
		{"DELETE FROM tablet", "", `the tablet "by the extractor" (`},
		{"DELETE FROM token WHERE name = 'test'", "", `is missing in the table of tokens`},
	} {
		h.Superuser(t, row.alter)
		err := h.Audit(t)
		var found *ledger.Break
		if !errors.As(err, &found) || !strings.Contains(found.Error(), row.says) {
			t.Errorf("%s: %v, want %q", row.alter, err, row.says)
		}
		if row.back != "" {
			h.Superuser(t, row.back)
		}
	}
	// Those that were not set back stand beside each other.
	for _, says := range []string{"the tablet code is none", `the token "test"`, `the feed key "the office"`} {
		if err := h.Audit(t); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("all together: %v, want %q too", err, says)
		}
	}
}

// A change that fails leaves no entry, and an entry is there for each that does not.
func TestEachChangeIsOneEntryByWhoeverMadeIt(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.everyRow(t)
	people, err := h.Operator.People(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	tablets, err := h.Operator.Tablets(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	manager, odell := h.Service.As(h.Manager), people[1].ID
	if people[1].Name != "Odell" {
		odell = people[0].ID
	}
	for _, change := range []struct {
		what string
		do   func() error
		by   string
		made int
		ends string
	}{
		{"a role", func() error { return manager.SetRole(t.Context(), h.Outfit, odell, db.Manager) }, "Mirren", 1, ""},
		{"the same role again", func() error { return manager.SetRole(t.Context(), h.Outfit, odell, db.Manager) }, "", 0, ""},
		{"a password", func() error { return h.Operator.SetPassword(t.Context(), h.Outfit, odell, "another four words") }, db.TheOperator, 1, ""},
		{"signed out everywhere", func() error { return manager.SignOutEverywhere(t.Context(), h.Outfit, odell) }, "Mirren", 1, ""},
		{"a tablet revoked", func() error { return manager.RevokeTablet(t.Context(), h.Outfit, tablets[0].ID) }, "Mirren", 1, ""},
		{"it is revoked already", func() error { return manager.RevokeTablet(t.Context(), h.Outfit, tablets[0].ID) }, "", 0, "no such tablet"},
		{"a decimal mark", func() error { return manager.SetDecimalMark(t.Context(), h.Outfit, "comma") }, "Mirren", 1, ""},
		{"the same mark again", func() error { return manager.SetDecimalMark(t.Context(), h.Outfit, "comma") }, "", 0, ""},
		{"a mark that is none", func() error { return manager.SetDecimalMark(t.Context(), h.Outfit, "dot") }, "", 0, "is point, comma, or reader"},
		{"no mark any more", func() error { return h.Operator.SetDecimalMark(t.Context(), h.Outfit, "") }, db.TheOperator, 1, ""},
		{"weights of blends", func() error {
			return manager.SetBlendWeights(t.Context(), h.Outfit, &ledger.BlendWeights{SourceKg: 25, HMFGiven: 0.1})
		}, "Mirren", 1, ""},
		{"the same weights again", func() error {
			return manager.SetBlendWeights(t.Context(), h.Outfit, &ledger.BlendWeights{SourceKg: 25, HMFGiven: 0.1})
		}, "", 0, ""},
		{"a weight that cannot be", func() error { return manager.SetBlendWeights(t.Context(), h.Outfit, &ledger.BlendWeights{YearKg: -1}) }, "", 0, "These weights cannot be"},
		{"the usual weights again", func() error { return manager.SetBlendWeights(t.Context(), h.Outfit, nil) }, "Mirren", 1, ""},
		{"leaving", func() error { return manager.PersonLeaves(t.Context(), h.Outfit, odell) }, "Mirren", 1, ""},
		{"a role of who has left", func() error { return manager.SetRole(t.Context(), h.Outfit, odell, db.Crew) }, "", 0, "the person has left"},
		{"nobody's name", func() error { return h.Service.SignOutEverywhere(t.Context(), h.Outfit, odell) }, "", 0, "does not say who"},
	} {
		before := len(h.Stored(t, h.Outfit))
		err := change.do()
		now := h.Stored(t, h.Outfit)
		if (err == nil) != (change.ends == "") || err != nil && !strings.Contains(err.Error(), change.ends) || len(now) != before+change.made {
			t.Errorf("%s: %v, and %d entries", change.what, err, len(now)-before)
			continue
		}
		if last := now[len(now)-1]; change.made == 1 && (last.Kind != ledger.KindOperator || last.RecordedBy != change.by) {
			t.Errorf("%s: a %s by %s", change.what, last.Kind, last.RecordedBy)
		}
		if err := h.Audit(t); err != nil {
			t.Errorf("%s: %v", change.what, err)
		}
	}
}

// A manager on the page and the operator beside it change the same person at once, while
// others record: each change is an entry, the later of the two tells of both, and the
// numbers and digests go on without a gap.
func TestChangesAtOnceAreOneEntryEach(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.everyRow(t)
	odell, err := h.Operator.PersonCalled(t.Context(), h.Outfit, "Odell")
	if err != nil {
		t.Fatal(err)
	}
	const rounds = 5
	before := len(h.Stored(t, h.Outfit))
	roles := [2]db.Role{db.Manager, db.Crew}
	for round := range rounds {
		var all sync.WaitGroup
		all.Go(func() {
			if err := h.Service.As(h.Manager).SetRole(t.Context(), h.Outfit, odell.ID, roles[round%2]); err != nil {
				t.Error(err)
			}
		})
		all.Go(func() {
			if err := h.Operator.SignOutEverywhere(t.Context(), h.Outfit, odell.ID); err != nil {
				t.Error(err)
			}
		})
		all.Go(func() { h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: fmt.Sprintf("yard %d", round)}) })
		all.Wait()
	}
	made := h.Stored(t, h.Outfit)[before:]
	if len(made) != 3*rounds {
		t.Fatalf("%d entries were made, want %d", len(made), 3*rounds)
	}
	sessions, changes := int64(1), 0
	for _, e := range made {
		o, ok := e.Body.(*ledger.Operator)
		if !ok {
			continue
		}
		if changes++; e.Via == ledger.ViaOperator {
			sessions++
		}
		if is := o.Person; is == nil || is.ID != odell.ID || is.Sessions != sessions {
			t.Errorf("entry %d tells of %+v, want the count of signing out at %d", e.Number, is, sessions)
		}
	}
	if changes != 2*rounds || sessions != 1+rounds {
		t.Errorf("%d entries tell of changes, %d of them of the operator's", changes, sessions-1)
	}
	if err := h.Audit(t); err != nil {
		t.Error(err)
	}
}
