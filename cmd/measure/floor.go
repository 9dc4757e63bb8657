package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// sqlFloorTables are two tables for entries. bare_floor has the columns and keys of the
// book's own and numbers by a sequence; checked_floor has the book's checks and triggers as
// well. Neither has row security or a chain of digests.
const sqlFloorTables = `
CREATE SEQUENCE bare_floor_number;
CREATE TABLE bare_floor (LIKE entry INCLUDING INDEXES);
ALTER TABLE bare_floor
    ALTER number SET DEFAULT nextval('bare_floor_number'),
    ADD FOREIGN KEY (outfit_id, replaces) REFERENCES bare_floor (outfit_id, entry_id);
CREATE SEQUENCE checked_floor_number;
CREATE TABLE checked_floor (LIKE entry INCLUDING INDEXES INCLUDING CONSTRAINTS);
ALTER TABLE checked_floor
    ALTER number SET DEFAULT nextval('checked_floor_number'),
    ADD FOREIGN KEY (outfit_id, replaces) REFERENCES checked_floor (outfit_id, entry_id);
CREATE TRIGGER append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON checked_floor
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()`

// sqlFloorInsert stores the row that the book stores of a reading, digest apart, which is as
// long. Its placeholders are the table and four values.
const sqlFloorInsert = `
INSERT INTO %s (outfit_id, entry_id, kind, occurred_at, recorded_at, recorded_by, reason, content, digest)
VALUES (%s, %s, 'reading', %s, now(), 'Mirren', '', %s, decode(repeat('00', 32), 'hex'))`

// The tables that a floor inserts into.
const (
	bareFloor    = "bare_floor"
	checkedFloor = "checked_floor"
)

// makeFloors makes the floors' tables.
func makeFloors(ctx context.Context, superuser string) error {
	conn, err := pgx.Connect(ctx, superuser)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, sqlFloorTables)
	return err
}

// floor is the least that a service can do: read the body, insert it by one statement in
// one trip, answer. The path of its address is the table and the outfit.
type floor struct {
	pool *pgxpool.Pool
	// inserts are the statements, by table.
	inserts map[string]string
}

// floorPool is how many connections to the database a floor has: one for each request at once.
// With eight it stores half as much over 32 connections.
const floorPool = 32

// serveFloor serves both floors.
func serveFloor(ctx context.Context, superuser string) (url string, stop func(), err error) {
	config, err := pgxpool.ParseConfig(superuser)
	if err != nil {
		return "", nil, err
	}
	config.MaxConns = floorPool
	config.ConnConfig.RuntimeParams["plan_cache_mode"] = "force_generic_plan" // as the book has it
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return "", nil, err
	}
	f := floor{pool: pool, inserts: map[string]string{}}
	for _, table := range []string{bareFloor, checkedFloor} {
		f.inserts[table] = fmt.Sprintf(sqlFloorInsert, table, "$1", "$2", "$3", "$4")
	}
	url, shut, err := serve(f)
	return url, func() { shut(); pool.Close() }, err
}

// longestFloorBody bounds what a floor reads.
const longestFloorBody = 64 << 10

func (f floor) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	table, outfit, _ := strings.Cut(r.URL.Path[1:], "/")
	to, err := uuid.Parse(outfit)
	if err != nil || f.inserts[table] == "" || r.ContentLength < 0 || r.ContentLength > longestFloorBody {
		http.Error(w, "a reading of some length goes to /TABLE/OUTFIT", http.StatusBadRequest)
		return
	}
	body := make([]byte, r.ContentLength)
	if _, err := io.ReadFull(r.Body, body); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	var in struct {
		ID         uuid.UUID       `json:"id"`
		OccurredAt time.Time       `json:"occurred_at"`
		Content    json.RawMessage `json:"content"`
	}
	if err := json.Unmarshal(body, &in); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	// As bytes: as uuid.UUID each id would go by way of its text.
	if _, err := f.pool.Exec(r.Context(), f.inserts[table], [16]byte(to), [16]byte(in.ID), in.OccurredAt, []byte(in.Content)); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header()["Content-Type"] = []string{"application/json"}
	w.WriteHeader(http.StatusCreated)
	fmt.Fprintf(w, `{"id":%q}`, in.ID)
}

// floorRequest is a reading as a floor takes it: what the book stores of it comes as it is.
func floorRequest(url, table string, outfit uuid.UUID, content string) sending {
	return sending{url: url + "/" + table + "/" + outfit.String(), body: fmt.Appendf(nil, `{"id":%q,"occurred_at":%q,"content":%s}`,
		uuid.NewString(), time.Now().Format(time.RFC3339Nano), content)}
}

// storedContent is what the book stored of an outfit's last reading.
func storedContent(ctx context.Context, superuser string) (content string, err error) {
	conn, err := pgx.Connect(ctx, superuser)
	if err != nil {
		return "", err
	}
	defer conn.Close(ctx)
	err = conn.QueryRow(ctx, "SELECT content::text FROM entry WHERE kind = 'reading' ORDER BY recorded_at DESC LIMIT 1").Scan(&content)
	return content, err
}
