package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"pullbook/db/local"
)

// sqlFloorTable is the entry table with its keys and nothing else: no row
// security, no triggers, no checks, no chain of digests.
const sqlFloorTable = `
CREATE TABLE floor (
    outfit_id uuid, number bigserial, entry_id uuid, kind text, occurred_at timestamptz,
    recorded_at timestamptz, recorded_by text, replaces uuid, reason text, content json, digest bytea,
    PRIMARY KEY (outfit_id, number), UNIQUE (outfit_id, entry_id))`

const sqlFloorInsert = `
INSERT INTO floor (outfit_id, entry_id, kind, occurred_at, recorded_at, recorded_by, reason, content, digest)
VALUES ($1, $2, 'reading', $3, now(), 'Mirren', '', $4, decode(repeat('00', 32), 'hex'))`

var floorOutfit = uuid.New()

// serveFloor is the least that a service can do: read the body, insert it in a
// transaction, answer.
func serveFloor(ctx context.Context, url string) (string, func(), error) {
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return "", nil, err
	}
	config.MaxConns = poolSize
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return "", nil, err
	}
	address, stop, err := serve(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var in struct {
			ID         uuid.UUID       `json:"id"`
			OccurredAt time.Time       `json:"occurred_at"`
			Content    json.RawMessage `json:"content"`
		}
		if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		err := pgx.BeginFunc(r.Context(), pool, func(tx pgx.Tx) error {
			_, err := tx.Exec(r.Context(), sqlFloorInsert, floorOutfit, in.ID, in.OccurredAt, in.Content)
			return err
		})
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusCreated)
		json.NewEncoder(w).Encode(map[string]any{"id": in.ID})
	}))
	return address, func() { stop(); pool.Close() }, err
}

const floorContent = `{"body":{"on":{"kind":"tank","id":"00000000-0000-4000-8000-000000000001"},"point":"gate","instrument_id":"00000000-0000-4000-8000-000000000002","moisture":{"scale":"moisture","as_read":17.4,"sample_temperature_c":22,"compensated":true,"moisture_pct":17.4,"std_uncertainty_pct":0.2,"formula":"as shown"}}}`

func floorRequest(url string) sending {
	return sending{url: url, body: fmt.Appendf(nil, `{"id":%q,"occurred_at":%q,"content":%s}`,
		uuid.NewString(), time.Now().Format(time.RFC3339Nano), floorContent)}
}

// pgbench runs the floor's insert without any service in between.
func pgbench(ctx context.Context, server *local.Server, clients int, lasting time.Duration) (float64, error) {
	script, err := os.CreateTemp("", "insert-*.sql")
	if err != nil {
		return 0, err
	}
	defer os.Remove(script.Name())
	fmt.Fprintf(script, `BEGIN;
INSERT INTO floor (outfit_id, entry_id, kind, occurred_at, recorded_at, recorded_by, reason, content, digest)
VALUES ('%s', gen_random_uuid(), 'reading', now(), now(), 'Mirren', '', '%s', decode(repeat('00', 32), 'hex'));
COMMIT;
`, floorOutfit, strings.ReplaceAll(floorContent, ":", ": ")) // pgbench takes :17 for a variable
	if err := script.Close(); err != nil {
		return 0, err
	}
	seconds := max(1, int(lasting.Seconds()))
	out, err := exec.CommandContext(ctx, server.Binaries().Path("pgbench"), "-n", "-M", "prepared",
		"-c", strconv.Itoa(clients), "-j", "2", "-T", strconv.Itoa(seconds), "-f", script.Name(),
		server.URLFor(local.Superuser, "pullbook")).CombinedOutput()
	if err != nil {
		return 0, fmt.Errorf("pgbench: %w: %s", err, out)
	}
	m := transactions.FindSubmatch(out)
	if m == nil {
		return 0, fmt.Errorf("pgbench said no rate: %s", out)
	}
	return strconv.ParseFloat(string(m[1]), 64)
}

var transactions = regexp.MustCompile(`tps = ([0-9.]+)`)
