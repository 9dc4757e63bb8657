package api_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/jackc/pgx/v5"

	"pullbook/api"
	"pullbook/api/apitest"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
)

// Another service over a house's database has just started, and its book takes long to open,
// because somebody holds the table of entries. A page says so after a while and has the browser
// ask again; a program waits for its answer; and once the book is open both are served.
func TestWhoeverComesWhileTheBookIsOpenedSeesHowFarThatIs(t *testing.T) {
	t.Parallel()
	entries, _, _, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	has := h.Entries(t)
	started := startAgain(t, h)
	release := holdEntries(t, h.Address)

	program := make(chan int, 1)
	go func() {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, started+"/v1/outfit", nil)
		if err != nil {
			panic(err)
		}
		r.Header.Set("Authorization", "Bearer "+h.Token)
		response, err := h.Client.Do(r)
		if err != nil {
			program <- 0
			return
		}
		response.Body.Close()
		program <- response.StatusCode
	}()
	response, body := pageAt(t, h, started+"/?season=2026")
	if response.StatusCode != http.StatusServiceUnavailable || response.Header.Get("Refresh") != "2" || response.Header.Get("Retry-After") != "2" {
		t.Errorf("status %d, Refresh %q, Retry-After %q", response.StatusCode, response.Header.Get("Refresh"), response.Header.Get("Retry-After"))
	}
	wants(t, "the page while the book is opened", body, "The book is being opened", fmt.Sprintf("0 of %d entries are read.", has), "This page asks again by itself.", `href="/?season=2026"`, `<progress id="opening"`)
	release()
	if status := <-program; status != http.StatusOK {
		t.Errorf("the program was answered %d", status)
	}
	response, body = pageAt(t, h, started+"/")
	if response.StatusCode != http.StatusOK || response.Header.Get("Refresh") != "" {
		t.Errorf("once the book is open: status %d, Refresh %q", response.StatusCode, response.Header.Get("Refresh"))
	}
	wants(t, "the page once the book is open", body, "Needs attention")
}

// startAgain starts a service over a house's database that has no book open yet.
func startAgain(t *testing.T, h *apitest.House) (url string) {
	t.Helper()
	service, err := db.Open(t.Context(), dbtest.As(h.Address, db.ServiceRole), db.ServiceRole, 4)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(service.Close)
	books := books.Open(service, 4)
	t.Cleanup(books.Close)
	config := request.DefaultConfig()
	config.Log = slog.New(slog.DiscardHandler)
	handler, err := api.New(service, books, config)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(handler)
	t.Cleanup(server.Close)
	return server.URL
}

// holdEntries keeps everybody from reading entries until release is called.
func holdEntries(t *testing.T, address string) (release func()) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	tx, err := conn.Begin(t.Context())
	if err == nil {
		_, err = tx.Exec(t.Context(), "LOCK TABLE entry IN ACCESS EXCLUSIVE MODE")
	}
	if err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := tx.Rollback(t.Context()); err != nil {
			t.Error(err)
		}
	}
}

// pageAt asks for a page of a service as the house's browser does.
func pageAt(t *testing.T, h *apitest.House, address string) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept", "text/html")
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
