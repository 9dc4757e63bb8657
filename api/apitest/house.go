// Package apitest serves a book to tests, as pages and as an interface for programs. Tests
// alone import it.
package apitest

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/cookiejar"
	"net/netip"
	"net/url"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/api"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
)

// AnID is the pattern of an entry's id.
const AnID = `[0-9a-f-]{36}`

// Link is the first address on a page that is all like a pattern.
func (h *House) Link(t *testing.T, page, pattern string) string {
	t.Helper()
	_, body := h.Get(t, page)
	found := regexp.MustCompile(`(?:href|value|id)="(` + pattern + `)"`).FindStringSubmatch(body)
	if found == nil {
		t.Fatalf("%s has nothing like %s", page, pattern)
	}
	return found[1]
}

// House is a service with one outfit, and a browser's cookies.
type House struct {
	// url is its address for programs, front its addresses for browsers.
	URL      string
	front    front
	Client   *http.Client
	Operator *db.DB
	Books    *books.Books
	Outfit   uuid.UUID
	Token    string
	// address is the superuser's of the database, name the outfit's, and password
	// Tamsin's.
	Address, Name, Password string
	// written is what was recorded besides what the pages did.
	Written []*ledger.Entry
	// later is how far the service's clock is ahead.
	later atomic.Int64
}

// Open serves an outfit whose book has the given entries, as configured.
func Open(t testing.TB, outfit db.Outfit, entries []*ledger.Entry, configure ...func(*request.Config)) *House {
	t.Helper()
	address := dbtest.New(t)
	open := func(url, role string) *db.DB {
		d, err := db.Open(t.Context(), url, role, 4)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(d.Close)
		return d
	}
	h := &House{Address: address, Operator: open(address, db.OperatorRole), Outfit: uuid.New(), Name: outfit.Name}
	outfit.ID = h.Outfit
	if err := h.Operator.CreateOutfit(t.Context(), outfit); err != nil {
		t.Fatal(err)
	}
	service := open(dbtest.As(address, db.ServiceRole), db.ServiceRole)
	books := books.Open(service, 4)
	t.Cleanup(books.Close)
	h.Books = books
	h.Token = h.person(t, "Tamsin")
	h.Password = PasswordFor(t, h.Address, h.Outfit, "Tamsin")
	h.RecordMore(t, entries...)

	config := request.DefaultConfig()
	config.Log = slog.New(slog.DiscardHandler)
	// The tests' own proxies, and tests that say what a proxy would.
	config.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}
	config.Now = func() time.Time { return time.Now().Add(time.Duration(h.later.Load())) }
	for _, c := range configure {
		c(&config)
	}
	handler, err := api.New(service, books, config)
	if err != nil {
		t.Fatal(err)
	}
	h.front = newFront(t, handler)
	h.URL = h.front[OnThisMachine]
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	h.Client = &http.Client{Jar: jar, Timeout: 2 * time.Minute}
	return h
}

// quick is the cost of a fixture's password. What the service's own hashes cost is tried
// in package db.
var quick = &argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// PasswordFor gives a person a password, in the database at the superuser's address. The
// book does not hear of it, and an audit would complain.
func PasswordFor(t testing.TB, address string, outfit uuid.UUID, name string) string {
	t.Helper()
	password := db.NewPassword()
	hash, err := argon2id.CreateHash(password, quick)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	done, err := conn.Exec(t.Context(), `UPDATE person SET password_hash = $3 WHERE outfit_id = $1 AND name = $2`, outfit, name, hash)
	if err != nil || done.RowsAffected() != 1 {
		t.Fatalf("a password for %s: %s %v", name, done, err)
	}
	return password
}

// BookedPasswordFor gives a person a password as the operator does: the book hears of it,
// and audits look for it.
func BookedPasswordFor(t testing.TB, operator *db.DB, outfit uuid.UUID, name string) string {
	t.Helper()
	p, err := operator.PersonCalled(t.Context(), outfit, name)
	if err != nil {
		t.Fatal(err)
	}
	password := db.NewPassword()
	if err := operator.SetPassword(t.Context(), outfit, p.ID, password); err != nil {
		t.Fatal(err)
	}
	return password
}

// SignInForm is what Tamsin types to sign in.
func (h *House) SignInForm() url.Values {
	return url.Values{"outfit": {h.Name}, "name": {"Tamsin"}, "password": {h.Password}}
}

func (h *House) person(t testing.TB, name string) (token string) {
	t.Helper()
	if err := h.Operator.CreatePerson(t.Context(), h.Outfit, db.Person{ID: uuid.New(), Name: name, Role: db.Manager}); err != nil {
		t.Fatal(err)
	}
	token, err := h.Operator.CreateToken(t.Context(), h.Outfit, name, "page test")
	if err != nil {
		t.Fatal(err)
	}
	return token
}

// RecordMore writes entries in the names of those who recorded them.
func (h *House) RecordMore(t testing.TB, entries ...*ledger.Entry) {
	t.Helper()
	tokens := map[string]string{"": h.Token, "Tamsin": h.Token}
	for _, e := range entries {
		if tokens[e.RecordedBy] == "" {
			tokens[e.RecordedBy] = h.person(t, e.RecordedBy)
		}
	}
	for _, e := range entries {
		who, err := h.Books.SignIn(t.Context(), tokens[e.RecordedBy])
		if err != nil {
			t.Fatal(err)
		}
		h.Written = append(h.Written, e)
		again := *e
		if _, err := h.Books.Append(t.Context(), who, &again); err != nil {
			t.Fatal(err)
		}
	}
}

// Get asks for a page as a browser does.
func (h *House) Get(t testing.TB, path string) (*http.Response, string) {
	t.Helper()
	return h.Send(t, http.MethodGet, path, nil, nil)
}

func (h *House) Send(t testing.TB, method, path string, form url.Values, header http.Header) (*http.Response, string) {
	t.Helper()
	all := http.Header{"Accept": {"text/html,application/xhtml+xml,*/*;q=0.8"}}
	if form != nil {
		all.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	maps.Copy(all, header)
	return h.SendBody(t, method, path, strings.NewReader(form.Encode()), all)
}

func (h *House) SendBody(t testing.TB, method, path string, text io.Reader, header http.Header) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, h.URL+path, text)
	if err != nil {
		t.Fatal(err)
	}
	r.Header = header
	response, err := h.Client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response, string(body)
}

func (h *House) SignIn(t testing.TB) {
	t.Helper()
	response, body := h.Send(t, http.MethodPost, "/sign-in", h.SignInForm(), nil)
	if response.StatusCode != http.StatusOK || !strings.Contains(body, "Sign out") {
		t.Fatalf("signing in answered %s", response.Status)
	}
}

// Entries is how many are in the book.
func (h *House) Entries(t testing.TB) (n int64) {
	t.Helper()
	who, err := h.Books.SignIn(t.Context(), h.Token)
	if err != nil {
		t.Fatal(err)
	}
	if err := h.Books.Read(t.Context(), who, func(_ db.Outfit, b *ledger.Book) error {
		n = b.Len()
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return n
}

// M is a JSON object.
type M = map[string]any

// CrewMember is somebody more of the outfit.
func (h *House) CrewMember(t testing.TB, name string) (password string) {
	t.Helper()
	if err := h.Operator.CreatePerson(t.Context(), h.Outfit, db.Person{ID: uuid.New(), Name: name, Role: db.Crew}); err != nil {
		t.Fatal(err)
	}
	return PasswordFor(t, h.Address, h.Outfit, name)
}

// Booked are the entries that devices brought into the book, as a list of the
// interface gives them, in order of their numbers.
func (h *House) Booked(t testing.TB, path string) (out []M) {
	t.Helper()
	for _, e := range h.Ask(t, path+"?limit=1000") {
		if e["via"] == "device" {
			out = append(out, e)
		}
	}
	return out
}

func (h *House) Ask(t testing.TB, path string) (out []M) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, h.URL+"/v1/"+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+h.Token)
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if err := json.NewDecoder(response.Body).Decode(&out); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return out
}

// One is the only entry that devices brought of a kind.
func (h *House) One(t testing.TB, path string) M {
	t.Helper()
	all := h.Booked(t, path)
	if len(all) != 1 {
		t.Fatalf("%d %s came into the book, want one: %v", len(all), path, all)
	}
	return all[0]
}

// Device is a browser with cookies of its own.
func (h *House) Device(t *testing.T) *House {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	other := &House{Address: h.Address, Operator: h.Operator, Books: h.Books, Outfit: h.Outfit, Name: h.Name, URL: h.URL, front: h.front, Token: h.Token, Password: h.Password}
	other.Client = &http.Client{Jar: jar, Timeout: 2 * time.Minute}
	return other
}

// Somebody adds a person with a password, and gives a device that is signed in
// as that person.
func (h *House) Somebody(t *testing.T, name string, role db.Role) *House {
	t.Helper()
	if err := h.Operator.CreatePerson(t.Context(), h.Outfit, db.Person{ID: uuid.New(), Name: name, Role: role}); err != nil {
		t.Fatal(err)
	}
	d := h.Device(t)
	d.Password = PasswordFor(t, h.Address, h.Outfit, name)
	form := d.SignInForm()
	form.Set("name", name)
	if _, body := d.Send(t, http.MethodPost, "/sign-in", form, nil); !strings.Contains(body, "Sign out") {
		t.Fatalf("%s is not let in: %s", name, body)
	}
	return d
}

// SQL runs a statement as the database's superuser.
func (h *House) SQL(t *testing.T, sql string, args ...any) (rows []string) {
	t.Helper()
	c, err := pgx.Connect(t.Context(), h.Address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(context.Background())
	out, err := c.Query(t.Context(), sql, args...)
	if err != nil {
		t.Fatal(err)
	}
	if rows, err = pgx.CollectRows(out, pgx.RowTo[string]); err != nil {
		t.Fatal(err)
	}
	return rows
}
