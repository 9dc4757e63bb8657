package main

import (
	"net/http"
	"testing"

	"github.com/google/uuid"

	"pullbook/db/local"
)

// What kinds of alteration are found is tested where the audit is; here, that
// the command says so and ends with the right status.
func TestTheAuditEndsWithOneWhereABookIsBroken(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	token := newOutfit(t, "--data", dir)
	must(t, "outfit", "add", "Marsh Honey", "--time-zone", "Europe/Madrid", "--data", dir)
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	if status, err := post(t.Context(), h.client, h.count(uuid.New(), 8)); status != http.StatusCreated {
		t.Fatal(err)
	}
	must(t, "audit", "--data", dir)
	running, err := local.Attach(local.Options{DataDir: dir})
	if err != nil {
		t.Fatal(err)
	}
	execute(t, running.URLFor(local.Superuser, bookDatabase),
		"SET session_replication_role = replica",
		`UPDATE entry SET content = replace(content::text, '"hives":8', '"hives":9')::json WHERE kind = 'hive_count'`)
	for _, args := range [][]string{{"audit", "--data", dir}, {"audit", "--outfit", "Fern Gully Honey", "--data", dir}} {
		refused(t, exitFailed, []string{"Fern Gully Honey: BROKEN: ", "was altered"}, args...)
	}
	must(t, "audit", "--outfit", "Marsh Honey", "--data", dir)
	p.stop(t)
}
