package api_test

import (
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/cookiejar"
	"net/netip"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
)

// pageHouse is a service with one outfit, and a browser's cookies.
type pageHouse struct {
	// url is its address for programs, front its addresses for browsers.
	url      string
	front    front
	client   *http.Client
	operator *db.DB
	books    *books.Books
	outfit   uuid.UUID
	token    string
	// address is the superuser's of the database, name the outfit's, and password
	// Tamsin's.
	address, name, password string
	// written is what was recorded besides what the pages did.
	written []*ledger.Entry
	// later is how far the service's clock is ahead.
	later atomic.Int64
}

// pagesOf serves an outfit whose book has the given entries, as configured.
func pagesOf(t testing.TB, outfit db.Outfit, entries []*ledger.Entry, configure ...func(*api.Config)) *pageHouse {
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
	h := &pageHouse{address: address, operator: open(address, db.OperatorRole), outfit: uuid.New(), name: outfit.Name}
	outfit.ID = h.outfit
	if err := h.operator.CreateOutfit(t.Context(), outfit); err != nil {
		t.Fatal(err)
	}
	service := open(dbtest.As(address, db.ServiceRole), db.ServiceRole)
	books := books.Open(service, 4)
	t.Cleanup(books.Close)
	h.books = books
	h.token = h.person(t, "Tamsin")
	h.password = passwordFor(t, h.operator, h.outfit, "Tamsin")
	h.recordMore(t, entries...)

	config := api.DefaultConfig()
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
	h.url = h.front[onThisMachine]
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	h.client = &http.Client{Jar: jar, Timeout: 20 * time.Second}
	return h
}

// passwordFor gives a person a password.
func passwordFor(t testing.TB, operator *db.DB, outfit uuid.UUID, name string) string {
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

// signInForm is what Tamsin types to sign in.
func (h *pageHouse) signInForm() url.Values {
	return url.Values{"outfit": {h.name}, "name": {"Tamsin"}, "password": {h.password}}
}

func (h *pageHouse) person(t testing.TB, name string) (token string) {
	t.Helper()
	if err := h.operator.CreatePerson(t.Context(), h.outfit, db.Person{ID: uuid.New(), Name: name, Role: db.Manager}); err != nil {
		t.Fatal(err)
	}
	token, err := h.operator.CreateToken(t.Context(), h.outfit, name, "page test")
	if err != nil {
		t.Fatal(err)
	}
	return token
}

// recordMore writes entries in the names of those who recorded them.
func (h *pageHouse) recordMore(t testing.TB, entries ...*ledger.Entry) {
	t.Helper()
	tokens := map[string]string{"": h.token, "Tamsin": h.token}
	for _, e := range entries {
		if tokens[e.RecordedBy] == "" {
			tokens[e.RecordedBy] = h.person(t, e.RecordedBy)
		}
	}
	for _, e := range entries {
		who, err := h.books.SignIn(t.Context(), tokens[e.RecordedBy])
		if err != nil {
			t.Fatal(err)
		}
		h.written = append(h.written, e)
		again := *e
		if _, err := h.books.Append(t.Context(), who, &again); err != nil {
			t.Fatal(err)
		}
	}
}

// get asks for a page as a browser does.
func (h *pageHouse) get(t testing.TB, path string) (*http.Response, string) {
	t.Helper()
	return h.send(t, http.MethodGet, path, nil, nil)
}

func (h *pageHouse) send(t testing.TB, method, path string, form url.Values, header http.Header) (*http.Response, string) {
	t.Helper()
	all := http.Header{"Accept": {"text/html,application/xhtml+xml,*/*;q=0.8"}}
	if form != nil {
		all.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	maps.Copy(all, header)
	return h.sendBody(t, method, path, strings.NewReader(form.Encode()), all)
}

func (h *pageHouse) sendBody(t testing.TB, method, path string, text io.Reader, header http.Header) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, h.url+path, text)
	if err != nil {
		t.Fatal(err)
	}
	r.Header = header
	response, err := h.client.Do(r)
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

func (h *pageHouse) signIn(t testing.TB) {
	t.Helper()
	response, body := h.send(t, http.MethodPost, "/sign-in", h.signInForm(), nil)
	if response.StatusCode != http.StatusOK || !strings.Contains(body, "Sign out") {
		t.Fatalf("signing in answered %s", response.Status)
	}
}
