package db_test

import (
	"errors"
	"pullbook/db/books/bookstest"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"
)

// What is prepared asks for something, what names a picture says which, and a contract says what is taken.
func TestTheDatabaseHoldsTheRulesOfContractsOfWhatIsPreparedAndOfPictures(t *testing.T) {
	t.Parallel()
	h := open(t)
	c := bookstest.Connect(t, h.URL)
	const digest = `"sha256": "3e49ee58275c0e10b9f9a454afaad65cb22d32ba0ba99d2bf88c32b676192a0d"`
	for _, rule := range []struct{ what, says, refusedBy string }{
		{"containers", `prepared_entry_can_be('prepared_dispatch', '{"body": {"buyer_id": "a", "leaves_on": "2026-08-22", "containers": ["a"]}}')`, ""},
		{"some of a lot", `prepared_entry_can_be('prepared_dispatch', '{"body": {"buyer_id": "a", "leaves_on": "2026-08-22", "lots": [{}]}}')`, ""},
		{"nothing", `prepared_entry_can_be('prepared_dispatch', '{"body": {"buyer_id": "a", "leaves_on": "2026-08-22"}}')`, "prepared_dispatch_asks_for_something"},
		{"for some day", `prepared_entry_can_be('prepared_dispatch', '{"body": {"buyer_id": "a", "leaves_on": "soon", "lots": [{}]}}')`, "prepared_dispatch_asks_for_something"},
		{"a contract", `contract_entry_can_be('contract', '{"body": {"buyer_id": "a", "rule_set": {"rule_set_id": "b"}, "promised_g": 2000, "most_g": 2000, "last_day": "2026-12-20"}}')`, ""},
		{"a contract without limits", `contract_entry_can_be('contract', '{"body": {"buyer_id": "a", "rule_set": {"standard": "eu-honey"}, "most_g": 2000}}')`, "contract_says_what_is_taken"},
		{"a contract of nothing", `contract_entry_can_be('contract', '{"body": {"buyer_id": "a", "rule_set": {"rule_set_id": "b"}}}')`, "contract_says_what_is_taken"},
		{"a contract that promises more", `contract_entry_can_be('contract', '{"body": {"buyer_id": "a", "rule_set": {"rule_set_id": "b"}, "promised_g": 2001, "most_g": 2000}}')`, "contract_says_what_is_taken"},
		{"a contract until some day", `contract_entry_can_be('contract', '{"body": {"buyer_id": "a", "rule_set": {"rule_set_id": "b"}, "most_g": 2000, "last_day": "soon"}}')`, "contract_says_what_is_taken"},
		{"a picture", `certificate_entry_can_be('photo', NULL, '{"body": {"entry_id": "a", ` + digest + `, "bytes": 524288, "media_type": "image/png", "file_name": "a.png"}}')`, ""},
		{"a larger one", `certificate_entry_can_be('photo', NULL, '{"body": {"entry_id": "a", ` + digest + `, "bytes": 524289, "media_type": "image/png", "file_name": "a.png"}}')`, "photo_names_its_file"},
		{"a paper", `certificate_entry_can_be('photo', NULL, '{"body": {"entry_id": "a", ` + digest + `, "bytes": 9, "media_type": "application/pdf", "file_name": "a.pdf"}}')`, "photo_names_its_file"},
	} {
		var holds bool
		err := c.QueryRow(t.Context(), "SELECT "+rule.says).Scan(&holds)
		var pg *pgconn.PgError
		switch {
		case rule.refusedBy == "" && (err != nil || !holds):
			t.Errorf("%s: refused: %v", rule.what, err)
		case rule.refusedBy != "" && (!errors.As(err, &pg) || pg.ConstraintName != rule.refusedBy):
			t.Errorf("%s: %v, %v; %s was meant to refuse it", rule.what, holds, err, rule.refusedBy)
		}
	}
}

// The database holds by itself what it can of the entries about quality, so
// that nothing gets in past the service.
func TestTheDatabaseHoldsTheRulesOfReleases(t *testing.T) {
	t.Parallel()
	h := open(t)
	c := bookstest.Connect(t, h.URL)
	for _, rule := range []struct {
		what, kind, body, refusedBy string
	}{
		{"a contract", "rule_set", `{"name": "drums", "citation": "contract 14", "limits": [{}]}`, ""},
		{"a contract without limits", "rule_set", `{"name": "drums", "citation": "contract 14", "limits": []}`, "rule_set_has_limits"},
		{"a contract that cites nothing", "rule_set", `{"name": "drums", "citation": " ", "limits": [{}]}`, "rule_set_has_limits"},
		{"a contract that ends before it begins", "rule_set", `{"name": "drums", "citation": "c", "limits": [{}], "in_force_from": "2026-06-01", "in_force_to": "2026-05-01"}`, "rule_set_dates_in_order"},
		{"a draw", "sample", `{"drawn": {"containers": ["a"]}}`, ""},
		{"a draw of nothing", "sample", `{}`, "sample_was_drawn"},
		{"a check", "check", `{"on": "2026-08-21", "rule_sets": [{}], "found": {"through_entry": 4, "results": [{}]}}`, ""},
		{"a check without its answer", "check", `{"on": "2026-08-21", "rule_sets": [{}]}`, "check_has_results"},
		{"a check that left a rule set out", "check", `{"on": "2026-08-21", "rule_sets": [{}, {}], "found": {"through_entry": 4, "results": [{}]}}`, "check_has_results"},
		{"a hold", "lot_status", `{"status": "held", "why": "recall"}`, ""},
		{"a hold without a reason", "lot_status", `{"status": "held"}`, "hold_has_a_reason"},
		{"a state that nobody sets", "lot_status", `{"status": "gone"}`, "lot_status_known"},
		{"a release by a check", "lot_status", `{"status": "released", "check_id": "a"}`, ""},
		{"a release by an override", "lot_status", `{"status": "released", "override": true, "note": "as agreed"}`, ""},
		{"an override without a reason", "lot_status", `{"status": "released", "override": true, "note": " "}`, "release_rests_on_something"},
		{"a release resting on nothing", "lot_status", `{"status": "released", "note": "as agreed"}`, "release_rests_on_something"},
		{"a settlement", "settlement", `{"paid_minor": 100, "terms_entry": "a"}`, ""},
		{"a settlement below nothing", "settlement", `{"paid_minor": -1, "terms_entry": "a"}`, "settlement_money"},
		{"a settlement without terms", "settlement", `{"paid_minor": 100}`, "settlement_money"},
	} {
		var holds bool
		err := c.QueryRow(t.Context(), "SELECT quality_entry_can_be($1, $2::json)", rule.kind, `{"body": `+rule.body+`}`).Scan(&holds)
		var pg *pgconn.PgError
		switch {
		case rule.refusedBy == "" && (err != nil || !holds):
			t.Errorf("%s is refused: %v", rule.what, err)
		case rule.refusedBy != "" && (!errors.As(err, &pg) || pg.ConstraintName != rule.refusedBy):
			t.Errorf("%s: %v, %v; %s was meant to refuse it", rule.what, holds, err, rule.refusedBy)
		}
	}
}
