package main

import (
	"net/http"
	"testing"

	"github.com/google/uuid"

	"pullbook/db/local"
)

// What kinds of alteration are found is tested where the audit is; here, that
// the command says so and ends with the right status.
func TestTheAuditsStatusTellsABrokenBookFromOneNotAllRead(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	must(t, "outfit", "add", "Marsh Honey", "--time-zone", "Europe/Madrid", "--data", dir)
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	if status, err := h.client.record(t.Context(), h.count(uuid.New(), 8)); status != http.StatusCreated {
		t.Fatal(err)
	}
	must(t, "audit", "--data", dir)
	running, err := local.Attach(local.Options{DataDir: dir})
	if err != nil {
		t.Fatal(err)
	}
	// The hive count is the last entry. Its digest is put right for what cannot be read.
	const unread = `'{"body":{"hives":"8"}}'`
	execute(t, running.URLFor(local.Superuser, bookDatabase),
		"SET session_replication_role = replica",
		`UPDATE entry e SET content = `+unread+`::json, digest = sha256((SELECT digest FROM entry p WHERE p.outfit_id = e.outfit_id AND p.number = e.number - 1) || int8send(e.number) || convert_to(
			format('{"id":"%s","kind":"%s","occurred_at":"%s","recorded_at":"%s","recorded_by":"%s","replaces":"","reason":"","content":', entry_id, kind,
				to_char(occurred_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'), to_char(recorded_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'), recorded_by)
			|| `+unread+` || '}', 'UTF8')) WHERE kind = 'hive_count'`,
		`UPDATE book b SET digest = (SELECT digest FROM entry e WHERE e.outfit_id = b.outfit_id AND e.number = b.number)
		  WHERE EXISTS (SELECT FROM entry e WHERE e.outfit_id = b.outfit_id AND e.kind = 'hive_count')`)
	refused(t, exitUnread, []string{"Fern Gully Honey: entry ", "hive_count", "CANNOT BE READ", "its digest is right", "1 of 2 books have entries that cannot be read"}, "audit", "--data", dir)
	must(t, "audit", "--outfit", "Marsh Honey", "--data", dir)
	execute(t, running.URLFor(local.Superuser, bookDatabase),
		"SET session_replication_role = replica",
		`UPDATE entry SET content = replace(content::text, '"8"', '"9"')::json WHERE kind = 'hive_count'`)
	for _, args := range [][]string{{"audit", "--data", dir}, {"audit", "--outfit", "Fern Gully Honey", "--data", dir}} {
		refused(t, exitFailed, []string{"Fern Gully Honey: BROKEN: ", "was altered"}, args...)
	}
	must(t, "audit", "--outfit", "Marsh Honey", "--data", dir)
	p.stop(t)
}
