package api_test

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
)

// sqlRewrite puts other content into an outfit's last entry, with the digest that is
// right for it, as another version of the program may have stored it.
const sqlRewrite = `
WITH last AS (SELECT max(number) AS number FROM entry WHERE outfit_id = $1), written AS (
UPDATE entry e
   SET content = $2::json,
       digest = sha256((SELECT digest FROM entry p WHERE p.outfit_id = e.outfit_id AND p.number = e.number - 1) || int8send(e.number) || convert_to(
           format('{"id":"%s","kind":"%s","occurred_at":"%s","recorded_at":"%s","recorded_by":"%s","replaces":"%s","reason":"%s","content":', e.entry_id, e.kind,
               to_char(occurred_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'), to_char(recorded_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'),
               e.recorded_by, coalesce(e.replaces::text, ''), e.reason) || $2 || '}', 'UTF8'))
  FROM last
 WHERE e.outfit_id = $1 AND e.number = last.number
RETURNING e.digest)
UPDATE book SET digest = written.digest FROM written WHERE outfit_id = $1`

func (o *outfit) rewriteLast(t *testing.T, content string) {
	t.Helper()
	asSuperuser(t, o.database, sqlRewrite, o.id, content)
	o.loseMemory(t)
}

// A book with an entry that cannot be read stays open to everybody: the entry stands
// in it with its number and its digest, the evening list says what to do, and its
// text can be had. It is corrected or withdrawn like any other, and moves with the
// book to another installation.
func TestABookWithAnEntryThatCannotBeReadStaysOpen(t *testing.T) {
	t.Parallel()
	house, elsewhere := openHouse(t), openHouse(t)
	other := house.newOutfit(t, "Marsh Honey")
	other.recordExamples(t)
	s := house.newShed(t, "Fern Gully Honey")
	password := apitest.BookedPasswordFor(t, house.operator, s.id, "Mirren")
	for what, content := range map[string]string{
		"deeper than the reader goes": `{"body":{"name":"Deep","limits":` + strings.Repeat("[", 9_990) + strings.Repeat("]", 9_990) + `}}`,
		"a field twice":               `{"body":{"name":"a","name":"b"}}`,
		"a number for a name":         `{"body":{"name":7}}`,
		"a list for an object":        `{"body":[1,2,3]}`,
		"nothing":                     `null`,
	} {
		bad := s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": what}).ID
		s.rewriteLast(t, content)
		s.book(t, "yards", M{"id": id(), "occurred_at": at(2, "8:00"), "name": what + " after"}) // the chain goes on
		o := s.outfit
		chain := read[[]struct {
			Kind, Unreadable string
			Number           int64
		}](t, o, "entries/"+bad)
		if len(chain) != 1 || chain[0].Kind != "yard" || chain[0].Unreadable == "" {
			t.Errorf("%s: the journal has %+v", what, chain)
		}
		for _, path := range []string{"/v1/entries?limit=1000", "/v1/yards", "/v1/reports/season", "/v1/reports/tanks", "/v1/reports/lots", "/v1/reports/totals", "/v1/reports/shed", "/v1/changes?since=0",
			"/feeds/journal.csv", "/feeds/findings.csv", "/feeds/season.xlsx", "/v1/archive"} {
			if r := s.send(t, http.MethodGet, path, s.manager, nil); r.status >= 500 {
				t.Errorf("%s: %s: %d %.300s", what, path, r.status, r.raw)
			}
		}
		page := s.browse(t, s.name, "Mirren", password)
		for path, says := range map[string]string{
			"/journal": "which cannot be read", "/findings": "cannot be read, so no figure counts it", "/journal/" + bad: "Get the stored text",
			"/journal/" + bad + "/correct": "name=\"reason\"", "/journal/" + bad + "/stored": content,
		} {
			if status, text := page(path); status != http.StatusOK || !strings.Contains(text, says) {
				t.Errorf("%s: %s: %d %.300s", what, path, status, text)
			}
		}
		if evening := s.get(t, "reports/findings"); !strings.Contains(string(evening.raw), "entry_unreadable") || !strings.Contains(string(evening.raw), "or withdraw it") {
			t.Errorf("%s: the evening list says nothing: %.500s", what, evening.raw)
		}
		r, err := elsewhere.restore(t, s.send(t, http.MethodGet, "/v1/archive", s.manager, nil).raw)
		if err != nil {
			t.Fatalf("%s: the archive does not come in elsewhere: %v", what, err)
		}
		for _, h := range []*honeyHouse{house, elsewhere} {
			book, err := books.Audit(t.Context(), h.operator, r.Outfit)
			if err != nil {
				t.Fatalf("%s: the audit: %v", what, err)
			}
			if last := book.Numbered(book.Len()); hexText(last.Digest) != s.head(t).Digest {
				t.Errorf("%s: the digest is another", what)
			}
			named := false
			for e, by := range book.Unreadable() {
				u := e.Body.(*ledger.Unreadable)
				named = named || e.ID.String() == bad && by == nil && u.Was == ledger.KindYard && string(u.Raw) == content && u.Why != ""
			}
			if !named {
				t.Errorf("%s: the audit does not name it", what)
			}
		}
		if what == "nothing" {
			s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(3, "8:00"), "replaces": bad, "reason": "cannot be read"})
		} else {
			s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": what, "replaces": bad, "reason": "cannot be read"})
		}
		s.loseMemory(t)
		if evening := s.get(t, "reports/findings"); strings.Contains(string(evening.raw), "entry_unreadable") {
			t.Errorf("%s: put right, and still on the list", what)
		}
	}
	if r := other.get(t, "reports/findings"); bytes.Contains(r.raw, []byte("entry_unreadable")) {
		t.Error("the other outfit hears of it")
	}
}

// sqlEndless gives an outfit's last entry infinite times, with the digest that is right
// for them.
const sqlEndless = `
WITH last AS (SELECT max(number) AS number FROM entry WHERE outfit_id = $1), written AS (
UPDATE entry e
   SET occurred_at = $2::text::timestamptz, recorded_at = $3::text::timestamptz,
       digest = sha256((SELECT digest FROM entry p WHERE p.outfit_id = e.outfit_id AND p.number = e.number - 1) || int8send(e.number) || convert_to(
           format('{"id":"%s","kind":"%s","occurred_at":"%s","recorded_at":"%s","recorded_by":"%s","replaces":"","reason":"","content":', e.entry_id, e.kind,
               $2::text, $3::text, e.recorded_by) || e.content::text || '}', 'UTF8'))
  FROM last
 WHERE e.outfit_id = $1 AND e.number = last.number
RETURNING e.digest)
UPDATE book SET digest = written.digest FROM written WHERE outfit_id = $1`

// An entry whose times are infinite is set aside, and the rest can be read.
func TestABookWithAnEntryOfNoFiniteTimeStaysOpen(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	// Such an entry can be there only from before the rule that refuses it.
	asSuperuser(t, s.outfit.database, "ALTER TABLE entry DROP CONSTRAINT kind_known")
	for _, times := range [][2]string{{"-infinity", "2026-02-01T08:00:00.000000Z"}, {"-infinity", "-infinity"}, {"infinity", "infinity"}} {
		bad := s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Mill " + id()}).ID
		asSuperuser(t, s.outfit.database, sqlEndless, s.outfit.id, times[0], times[1])
		s.loseMemory(t)
		s.book(t, "yards", M{"id": id(), "occurred_at": at(2, "8:00"), "name": "after " + id()})
		for _, path := range []string{"/v1/entries?limit=1000", "/v1/entries/" + bad, "/v1/yards", "/v1/reports/findings", "/feeds/journal.csv", "/v1/archive"} {
			if r := s.send(t, http.MethodGet, path, s.manager, nil); r.status != http.StatusOK {
				t.Errorf("%s: %s: %d %.300s", times, path, r.status, r.raw)
			}
		}
		book, err := books.Audit(t.Context(), house.operator, db.Outfit{ID: s.outfit.id, Name: s.name, TimeZone: "UTC"})
		if err != nil {
			t.Fatalf("%s: the audit: %v", times, err)
		}
		named := false
		for e, by := range book.Unreadable() {
			named = named || e.ID.String() == bad && by == nil
		}
		if !named {
			t.Errorf("%s: the audit does not name it", times)
		}
	}
}

// deletes deletes an outfit's entries from the database itself, and has the service read
// the book anew.
func (o *outfit) deletes(t *testing.T, numbers ...int64) {
	t.Helper()
	asSuperuser(t, o.database, "DELETE FROM entry WHERE outfit_id = $1 AND number = ANY ($2)", o.id, numbers)
	o.loseMemory(t)
}

// A book from which somebody deleted entries, in the middle or at its end, stays open:
// what is missing is named, the rest can be read, and recording goes on.
func TestABookWithMissingEntriesStaysOpen(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	password := apitest.BookedPasswordFor(t, house.operator, s.id, "Mirren")
	for range 4 {
		s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Mill " + id()})
	}
	last := s.head(t).LastEntry
	for _, gap := range []struct {
		first, last int64
		says, audit string
	}{
		{last - 2, last - 1, fmt.Sprintf("Entries %d to %d are missing", last-2, last-1), fmt.Sprintf("entry %d is missing, and so is every one up to entry %d", last-2, last-1)},
		{last + 1, last + 1, fmt.Sprintf("Entry %d is missing", last+1), fmt.Sprintf("entry %d is missing", last-2)},
	} {
		if gap.last > last {
			s.book(t, "yards", M{"id": id(), "occurred_at": at(2, "8:00"), "name": "last " + id()})
		}
		var numbers []int64
		for n := gap.first; n <= gap.last; n++ {
			numbers = append(numbers, n)
		}
		s.deletes(t, numbers...)
		entries := read[[]struct {
			ID, Unreadable string
			Number         int64
		}](t, s.outfit, "entries?limit=1000")
		missing := entries[gap.first-1]
		if missing.Number != gap.first || !strings.Contains(missing.Unreadable, "missing") {
			t.Errorf("in the place of entry %d, the list has %+v", gap.first, missing)
		}
		for _, path := range []string{"/v1/entries/" + missing.ID, "/v1/yards", "/v1/reports/season", "/v1/reports/totals", "/v1/reports/shed", "/v1/changes?since=0", "/feeds/journal.csv", "/feeds/findings.csv", "/feeds/season.xlsx", "/v1/archive"} {
			if r := s.send(t, http.MethodGet, path, s.manager, nil); r.status != http.StatusOK {
				t.Errorf("%s: %d %.300s", path, r.status, r.raw)
			}
		}
		if evening := s.get(t, "reports/findings"); strings.Count(string(evening.raw), gap.says) != 1 {
			t.Errorf("the evening list does not say once %q: %.900s", gap.says, evening.raw)
		}
		page := s.browse(t, s.name, "Mirren", password)
		for _, path := range []string{"/journal", "/findings", "/journal/" + missing.ID} {
			if status, text := page(path); status != http.StatusOK || !strings.Contains(text, "missing") || strings.Contains(text, "Withdraw it") {
				t.Errorf("%s: %d %.300s", path, status, text)
			}
		}
		before := s.head(t)
		r := s.post(t, "withdrawals", M{"id": id(), "occurred_at": at(3, "8:00"), "replaces": missing.ID, "reason": "it is gone"})
		if r.status != http.StatusConflict || !strings.Contains(string(r.raw), "is missing in the database") || s.head(t) != before {
			t.Errorf("withdrawing what is missing: %d %s", r.status, r.raw)
		}
		s.book(t, "yards", M{"id": id(), "occurred_at": at(2, "8:00"), "name": "after " + id()})
		s.loseMemory(t)
		if n := s.head(t).LastEntry; n != before.LastEntry+1 {
			t.Errorf("after entry %d comes entry %d", before.LastEntry, n)
		}
		if _, err := books.Audit(t.Context(), house.operator, db.Outfit{ID: s.outfit.id, Name: s.name, TimeZone: "UTC"}); err == nil || !strings.Contains(err.Error(), gap.audit) {
			t.Errorf("the audit does not name the gap: %v", err)
		}
		last = s.head(t).LastEntry
	}
}

// What the operator did is neither corrected nor withdrawn, whether it can be read or not.
func TestAnOperatorsEntryIsNeitherCorrectedNorWithdrawn(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	password := apitest.BookedPasswordFor(t, house.operator, s.id, "Mirren")
	latest := func() string {
		entries := read[[]struct{ ID, Kind string }](t, s.outfit, "entries?limit=1000")
		last := entries[len(entries)-1]
		if last.Kind != "operator" {
			t.Fatalf("the last entry is a %s", last.Kind)
		}
		return last.ID
	}
	for _, unreadable := range []bool{false, true} {
		if unreadable {
			s.rewriteLast(t, `{"body":{"person":{"id":"nobody"}}}`)
		}
		entry := latest()
		page := s.browse(t, s.name, "Mirren", password)
		for _, path := range []string{"/journal", "/findings", "/journal/" + entry, "/journal/" + entry + "/correct"} {
			if status, text := page(path); status >= 500 || strings.Contains(text, "Withdraw it") {
				t.Errorf("unreadable %t: %s: %d %.300s", unreadable, path, status, text)
			}
		}
		if evening := s.get(t, "reports/findings"); strings.Contains(string(evening.raw), "Make that change once more") != unreadable {
			t.Errorf("unreadable %t: the evening list says %.500s", unreadable, evening.raw)
		}
		before := s.head(t)
		for path, body := range map[string]M{
			"withdrawals": {}, "yards": {"name": "Mill"}, "buyers": {"name": "Mill"}, "washes": {"tank_id": s.large},
		} {
			body["id"], body["occurred_at"], body["replaces"], body["reason"] = id(), at(3, "8:00"), entry, "it was a mistake"
			r := s.post(t, path, body)
			if r.status != http.StatusConflict || !strings.Contains(string(r.raw), "It is neither corrected nor withdrawn: change the person, token, key, tablet or setting itself") {
				t.Errorf("unreadable %t: %s: %d %s", unreadable, path, r.status, r.raw)
			}
		}
		if s.head(t) != before {
			t.Errorf("unreadable %t: something was stored", unreadable)
		}
	}
}

func hexText(d [32]byte) string { return hex.EncodeToString(d[:]) }
