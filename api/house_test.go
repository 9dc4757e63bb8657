package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/api"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
)

// M is a JSON object.
type M = map[string]any

// clock is what time it is in the honey house: a Saturday in the flow, one in
// the afternoon where the outfits are.
var clock = time.Date(2026, 8, 22, 18, 0, 0, 0, time.UTC)

// honeyHouse is the service over a database of its own.
type honeyHouse struct {
	operator, service *db.DB
	books             *books.Books
	url               string
	// database is where its books are kept.
	database string
	client   *http.Client
	log      lockedBuffer
}

type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func openHouse(t *testing.T) *honeyHouse {
	t.Helper()
	return openHouseAt(t, dbtest.New(t))
}

// asSuperuser runs a statement past the program, its triggers and its foreign keys, as
// somebody with the database's own password can.
func asSuperuser(t testing.TB, database, sql string, args ...any) {
	t.Helper()
	config, err := pgx.ParseConfig(database)
	if err != nil {
		t.Fatal(err)
	}
	config.RuntimeParams["session_replication_role"] = "replica"
	conn, err := pgx.ConnectConfig(t.Context(), config)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), sql, args...); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

// openHouseAt opens a service over a database that may have others over it.
func openHouseAt(t *testing.T, databaseURL string) *honeyHouse {
	t.Helper()
	h := &honeyHouse{database: databaseURL}
	var err error
	if h.operator, err = db.Open(t.Context(), databaseURL, db.OperatorRole, 1); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.operator.Close)
	if h.service, err = db.Open(t.Context(), dbtest.As(databaseURL, db.ServiceRole), db.ServiceRole, 4); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.service.Close)
	now := func() time.Time { return clock }
	h.service.Now, h.operator.Now = now, now
	h.books = books.Open(h.service, 64)
	t.Cleanup(h.books.Close)
	h.serve(t, func(*request.Config) {})
	return h
}

// serve starts serving anew, with other settings.
func (h *honeyHouse) serve(t *testing.T, change func(*request.Config)) {
	t.Helper()
	config := request.DefaultConfig()
	config.Now = func() time.Time { return clock }
	config.Log = slog.New(slog.NewJSONHandler(&h.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	change(&config)
	handler, err := api.New(h.service, h.books, config)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(handler)
	t.Cleanup(server.Close)
	h.url = server.URL
	h.client = &http.Client{Transport: heldToContract(t, server.Client().Transport)}
}

// loseMemory makes the house forget all that it need not know, as a restart does.
func (h *honeyHouse) loseMemory(t *testing.T) {
	t.Helper()
	h.books.Close()
	h.books = books.Open(h.service, 64)
	t.Cleanup(h.books.Close)
	h.serve(t, func(*request.Config) {})
}

// reply is what came back.
type reply struct {
	status int
	header http.Header
	raw    []byte
}

func (h *honeyHouse) send(t *testing.T, method, path, token string, body []byte) reply {
	t.Helper()
	return h.sendWith(t, method, path, http.Header{"Authorization": {"Bearer " + token}}, body)
}

func (h *honeyHouse) sendWith(t *testing.T, method, path string, header http.Header, body []byte) reply {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, h.url+path, bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header = header.Clone()
	if body != nil && r.Header.Get("Content-Type") == "" {
		r.Header.Set("Content-Type", "application/json")
	}
	response, err := h.client.Do(r)
	if err != nil {
		t.Fatalf("%s %s: %v", method, path, err)
	}
	defer response.Body.Close()
	raw, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatalf("%s %s: %v", method, path, err)
	}
	return reply{response.StatusCode, response.Header, raw}
}

// as decodes a reply.
func as[T any](t *testing.T, r reply) T {
	t.Helper()
	var v T
	if err := json.Unmarshal(r.raw, &v); err != nil {
		t.Fatalf("%v: %s", err, r.raw)
	}
	return v
}

// problem is problem details as RFC 9457 has them, with the book's own members.
type problem struct {
	Type, Title, Detail string
	Status              int
	RequestID           string `json:"request_id"`
	Errors              []complaint
}

type complaint struct {
	Pointer, Detail string
	Sent            any
	DidYouMean      any `json:"did_you_mean"`
}

// outfit is one beekeeping business with somebody of each role.
type outfit struct {
	*honeyHouse
	name                  string
	id                    uuid.UUID
	manager, crew, reader string
}

func (h *honeyHouse) newOutfit(t *testing.T, name string) *outfit {
	t.Helper()
	o := &outfit{honeyHouse: h, name: name, id: uuid.New()}
	ctx := context.Background()
	if err := h.operator.CreateOutfit(ctx, db.Outfit{ID: o.id, Name: name, TimeZone: "America/Winnipeg", Units: "metric"}); err != nil {
		t.Fatal(err)
	}
	for _, p := range []struct {
		name  string
		role  db.Role
		token *string
	}{{"Mirren", db.Manager, &o.manager}, {"Tam", db.Crew, &o.crew}, {"Spreadsheet", db.Reader, &o.reader}} {
		if err := h.operator.CreatePerson(ctx, o.id, db.Person{ID: uuid.New(), Name: p.name, Role: p.role}); err != nil {
			t.Fatal(err)
		}
		var err error
		if *p.token, err = h.operator.CreateToken(ctx, o.id, p.name, p.name+"'s token"); err != nil {
			t.Fatal(err)
		}
	}
	return o
}

// post sends an entry in the manager's name.
func (o *outfit) post(t *testing.T, path string, body M) reply {
	t.Helper()
	raw, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	return o.send(t, http.MethodPost, "/v1/"+path, o.manager, raw)
}

// book records an entry that the book must take, and gives its reply.
func (o *outfit) book(t *testing.T, path string, body M) recorded {
	t.Helper()
	r := o.post(t, path, body)
	if r.status != http.StatusCreated {
		t.Fatalf("%s %v: %d %s", path, body, r.status, r.raw)
	}
	return as[recorded](t, r)
}

// recorded is the reply to an entry.
type recorded struct {
	Number   int64
	ID       string
	Sentence string
	Levels   []struct {
		Place    struct{ Name string }
		BeforeKg float64 `json:"before_kg"`
		AfterKg  float64 `json:"after_kg"`
	}
	Flags []flag
}

type flag struct {
	Code, Sentence  string
	EntryID         string `json:"entry_id"`
	Expected, Found float64
}

// get reads, as the reader, what must be there.
func (o *outfit) get(t *testing.T, path string) reply {
	t.Helper()
	r := o.send(t, http.MethodGet, "/v1/"+path, o.reader, nil)
	if r.status != http.StatusOK {
		t.Fatalf("%s: %d %s", path, r.status, r.raw)
	}
	return r
}

func read[T any](t *testing.T, o *outfit, path string) T {
	t.Helper()
	return as[T](t, o.get(t, path))
}

// head is the end of the book: whatever is stored changes it.
type head struct {
	LastEntry int64 `json:"last_entry"`
	Digest    string
}

func (o *outfit) head(t *testing.T) head { return read[head](t, o, "outfit") }

// release lets a lot leave, on the manager's word.
func (o *outfit) release(t *testing.T, lot, when string) {
	t.Helper()
	o.book(t, "lot-statuses", M{"id": id(), "occurred_at": when, "lot_id": lot, "status": "released", "override": true, "note": "sold as it is"})
}

// id is a new one for an entry.
func id() string { return uuid.NewString() }

// at is a time of day on a day of August 2026, where the outfits are.
func at(day int, clock string) string {
	hour, minute, _ := strings.Cut(clock, ":")
	h, _ := time.ParseDuration(hour + "h" + minute + "m")
	return time.Date(2026, 8, day, 0, 0, 0, 0, time.FixedZone("", -5*3600)).Add(h).Format(time.RFC3339)
}

// with is an object with some members set otherwise; nil takes one out.
func with(m M, pairs ...any) M {
	out := M{}
	for k, v := range m {
		out[k] = v
	}
	for i := 0; i < len(pairs); i += 2 {
		if name := pairs[i].(string); pairs[i+1] == nil {
			delete(out, name)
		} else {
			out[name] = pairs[i+1]
		}
	}
	return out
}
