//go:build unix

package main

import (
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/local"
)

// passwordOf gives the manager of the only outfit a password, and names the outfit.
func passwordOf(t *testing.T, databaseURL string) (outfit, password string) {
	t.Helper()
	operator, err := db.Open(t.Context(), databaseURL, db.OperatorRole, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer operator.Close()
	outfits, err := operator.Outfits(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	mirren, err := operator.PersonCalled(t.Context(), outfits[0].ID, "Mirren")
	if err != nil {
		t.Fatal(err)
	}
	password = db.NewPassword()
	if err := operator.SetPassword(t.Context(), outfits[0].ID, mirren.ID, password); err != nil {
		t.Fatal(err)
	}
	return outfits[0].Name, password
}

// visitor is a browser that is signed in to the pages.
func visitor(t *testing.T, base, outfit, password string) *http.Client {
	t.Helper()
	jar, _ := cookiejar.New(nil) // never fails
	client := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	response, err := client.PostForm(base+"/sign-in", url.Values{"outfit": {outfit}, "name": {"Mirren"}, "password": {password}})
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusSeeOther {
		t.Fatalf("signing in was answered with %d", response.StatusCode)
	}
	return client
}

const asKnown = "Pullbook-As-Known-At"

// Everything that is read about the book is answered while PostgreSQL is away, and says
// as of when; nothing is recorded, and nobody signs in or out. With PostgreSQL back, all
// is as before.
func TestReadingGoesOnWhilePostgreSQLIsAway(t *testing.T) {
	t.Parallel()
	server := killableServer(t)
	execute(t, server.URL(), "CREATE DATABASE honey")
	database := server.URLFor(local.Superuser, "honey")
	must(t, "migrate", "--database-url", database)
	token := newOutfit(t, "--database-url", database)
	key := strings.TrimSpace(must(t, "feed-key", "add", "office spreadsheet", "--database-url", database))
	p := startGiven(t, database)
	h := setUp(t, reach(t, p.base, token))
	outfit, password := passwordOf(t, database)
	page, signedOut, program := visitor(t, p.base, outfit, password), visitor(t, p.base, outfit, password), http.DefaultClient
	signIn := []string{"Authorization", "Bearer " + token}
	html := func(language string) []string { return []string{"Accept", "text/html", "Accept-Language", language} }
	reads := []struct {
		client *http.Client
		path   string
		header []string
		says   string
	}{
		{program, "/v1/outfit", signIn, ""},
		{program, "/v1/reports/season", signIn, ""},
		{program, "/v1/reports/season?as_of=5", signIn, ""},
		{program, "/v1/hive-counts", signIn, ""},
		{program, "/v1/changes?since=0", signIn, ""},
		{program, "/feeds/yards.csv?key=" + key, nil, ""},
		{program, "/feeds/journal.jsonl?key=" + key, nil, ""},
		{program, "/feeds/season.xlsx?key=" + key, nil, ""},
		{page, "/", html("en"), "The book cannot be written just now. You see it as it was at "},
		{page, "/", html("es"), "En este momento no se puede escribir en el libro."},
		{page, "/season", html("en"), "You see it as it was at "},
		{page, "/journal", html("en"), "You see it as it was at "},
		{page, "/v1/reports/shed", nil, ""},
	}
	look := func(away bool) {
		t.Helper()
		for _, r := range reads {
			got := ask(t, r.client, http.MethodGet, p.base+r.path, r.header...)
			at, err := time.Parse(time.RFC3339, got.header.Get(asKnown))
			if got.status != http.StatusOK || away != (err == nil) || away && time.Since(at) > time.Hour {
				t.Errorf("PostgreSQL away: %v, %s: %d, as known at %q: %.300s", away, r.path, got.status, got.header.Get(asKnown), got.text)
			}
			if r.client == page && r.header != nil && !strings.Contains(got.text, "Mirren") {
				t.Errorf("PostgreSQL away: %v, and %s is not shown to Mirren: %.300s", away, r.path, got.text)
			}
			if r.says != "" && away != strings.Contains(got.text, r.says) {
				t.Errorf("PostgreSQL away: %v, and %s says %q: %v", away, r.path, r.says, !away)
			}
		}
	}
	look(false)
	if got := ask(t, signedOut, http.MethodGet, p.base+"/", html("en")...); got.status != http.StatusOK {
		t.Fatal(got.status)
	}
	book := outfitOf(t, h.client)

	if err := syscall.Kill(server.PID(), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	<-server.Done()
	look(true)
	look(true) // also what was kept
	if during := outfitOf(t, h.client); during != book {
		t.Errorf("the book is %+v, was %+v", during, book)
	}
	entry := h.count(uuid.New(), 8)
	if status, err := h.client.record(t.Context(), entry); status != http.StatusServiceUnavailable || err == nil || !strings.Contains(err.Error(), "The service cannot reach the book just now") {
		t.Errorf("an entry was answered with %d, %v", status, err)
	}
	if got := ask(t, program, http.MethodGet, p.base+"/v1/outfit", "Authorization", "Bearer "+token[:len(token)-2]+"xx"); got.status != http.StatusServiceUnavailable {
		t.Errorf("a token that was never seen: %d %s", got.status, got.text)
	}
	if got := ask(t, signedOut, http.MethodPost, p.base+"/sign-out"); got.status != http.StatusServiceUnavailable {
		t.Errorf("signing out: %d", got.status)
	}
	if got := ask(t, signedOut, http.MethodGet, p.base+"/", html("en")...); got.status != http.StatusServiceUnavailable || strings.Contains(got.text, "Alder Bend") {
		t.Errorf("who wanted to sign out is shown the book: %d", got.status)
	}
	if status := statusOf(t, p.base+"/readyz"); status != http.StatusServiceUnavailable {
		t.Errorf("/readyz: %d", status)
	}

	if err := server.Restart(t.Context()); err != nil {
		t.Fatal(err)
	}
	awaitAnswer(t, http.StatusCreated, func() int { status, _ := h.client.record(t.Context(), entry); return status })
	look(false)
	if after := outfitOf(t, h.client); after.LastEntry != book.LastEntry+1 {
		t.Errorf("the book ends with entry %d, want %d", after.LastEntry, book.LastEntry+1)
	}
	must(t, "audit", "--database-url", database)
	p.stop(t)
}
