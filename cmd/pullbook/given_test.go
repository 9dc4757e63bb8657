package main

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/dbtest"
	"pullbook/db/local"
	"pullbook/migrations"
)

// givenServer is a PostgreSQL that is not the program's own.
func givenServer(t *testing.T) *local.Server {
	t.Helper()
	return startServer(t, local.Options{DataDir: folder(t), NoFsync: true})
}

// killableServer is givenServer that keeps what it acknowledged when it is killed.
func killableServer(t *testing.T) *local.Server {
	t.Helper()
	return startServer(t, local.Options{DataDir: folder(t)})
}

func startServer(t *testing.T, options local.Options) *local.Server {
	t.Helper()
	if err := dbtest.Fresh(t.Context(), options.DataDir); err != nil {
		t.Fatal(err)
	}
	server, err := local.Start(t.Context(), options)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		if err := server.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	return server
}

// execute runs statements as the superuser.
func execute(t *testing.T, url string, statements ...string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	for _, statement := range statements {
		if _, err := conn.Exec(t.Context(), statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
}

func startGiven(t *testing.T, url string) *running {
	t.Helper()
	p := launch(t, "serve", "--database-url", url, "--addr", "127.0.0.1:0")
	p.await(t, "pullbook serves on ")
	return p
}

func TestAGivenDatabaseIsMigratedOnlyWhenAsked(t *testing.T) {
	t.Parallel()
	server := givenServer(t)
	execute(t, server.URL(), "CREATE DATABASE honey")
	url := server.URLFor(local.Superuser, "honey")

	refused(t, exitFailed, []string{"no books yet", "pullbook migrate"}, "serve", "--database-url", url, "--addr", "127.0.0.1:0")
	refused(t, exitFailed, []string{"pullbook migrate"}, "outfit", "list", "--database-url", url)
	must(t, "migrate", "--database-url", url)
	must(t, "migrate", "--database-url", url) // again is no error
	token := newOutfit(t, "--database-url", url)
	p := startGiven(t, url)
	h := setUp(t, reach(t, p.base, token))
	if status, err := h.client.record(t.Context(), h.count(uuid.New(), 8)); status != http.StatusCreated {
		t.Fatal(err)
	}
	must(t, "audit", "--database-url", url)
	p.stop(t)

	// The service's own role may sign in itself.
	p = startGiven(t, server.URLFor(db.ServiceRole, "honey"))
	if got := outfitOf(t, reach(t, p.base, token)).LastEntry; got != founded+3 {
		t.Errorf("the book has %d entries, want %d", got, founded+3)
	}
	p.stop(t)

	latest, err := migrations.Latest()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		set   string
		words []string
	}{
		{"version = version + 1", []string{"newer than this program"}},
		{"version = version - 2", []string{"older than this program", "pullbook migrate"}},
		{"version = version + 1, dirty = true", []string{"interrupted"}},
	} {
		execute(t, url, "UPDATE schema_migrations SET "+tt.set)
		refused(t, exitFailed, tt.words, "serve", "--database-url", url, "--addr", "127.0.0.1:0")
	}
	execute(t, url, "UPDATE schema_migrations SET dirty = false")

	refused(t, exitFailed, []string{"Fern Gully Honey", "--lose-books"}, "migrate", "--down-to", "0", "--database-url", url)
	refused(t, exitFailed, []string{"takes a lower one"}, "migrate", "--down-to", "99", "--database-url", url)
	must(t, "migrate", "--down-to", "0", "--lose-books", "--database-url", url)
	if version, _, err := migrations.Version(t.Context(), url); version != 0 || err != nil {
		t.Errorf("gone down from %d to 0, the schema has version %d, %v", latest, version, err)
	}
}

func TestAGivenDatabaseIsBackedUpAndRestored(t *testing.T) {
	t.Parallel()
	server := givenServer(t)
	execute(t, server.URL(), "CREATE DATABASE honey", "CREATE DATABASE empty", "CREATE DATABASE letters")
	from, to := server.URLFor(local.Superuser, "honey"), server.URLFor(local.Superuser, "empty")
	must(t, "migrate", "--database-url", from)
	token := newOutfit(t, "--database-url", from)
	p := startGiven(t, from)
	before := setUp(t, reach(t, p.base, token))
	was := outfitOf(t, before.client)
	p.stop(t)
	file := filepath.Join(t.TempDir(), "honey.backup")
	must(t, "backup", file, "--database-url", from)

	other := server.URLFor(local.Superuser, "letters")
	execute(t, other, "CREATE TABLE letter (letter_id int)")
	refused(t, exitFailed, []string{"tables of something else (1)"}, "restore", file, "--database-url", other)

	if said := must(t, "restore", file, "--database-url", to); !strings.Contains(said, "Fern Gully Honey: whole") {
		t.Errorf("restored, it says %s", said)
	}
	p = startGiven(t, to)
	if is := outfitOf(t, reach(t, p.base, token)); is != was {
		t.Errorf("restored, the outfit is %+v, was %+v", is, was)
	}
	p.stop(t)
}

// Who owns a database and is no superuser backs it up and restores it with BYPASSRLS, and
// is told so without.
func TestAnOwnerWhoIsNoSuperuserBacksUpWithBYPASSRLS(t *testing.T) {
	t.Parallel()
	server := givenServer(t)
	execute(t, server.URL(), "CREATE ROLE odell LOGIN CREATEROLE", "CREATE DATABASE honey OWNER odell", "CREATE DATABASE empty OWNER odell")
	from, to := server.URLFor("odell", "honey"), server.URLFor("odell", "empty")
	must(t, "migrate", "--database-url", from)
	newOutfit(t, "--database-url", from)
	file := filepath.Join(t.TempDir(), "honey.backup")
	refused(t, exitFailed, []string{"owning the tables is not enough", "ALTER ROLE name BYPASSRLS"}, "backup", file, "--database-url", from)
	if _, err := os.Stat(file); err == nil {
		t.Error("a backup that failed left a file")
	}
	execute(t, server.URL(), "ALTER ROLE odell BYPASSRLS")
	must(t, "backup", file, "--database-url", from)
	if said := must(t, "restore", file, "--database-url", to); !strings.Contains(said, "Fern Gully Honey: whole") {
		t.Errorf("restored, it says %s", said)
	}
	into := t.TempDir()
	must(t, "backup", "--to", into, "--database-url", from)
	oneGood(t, into)
}

// newest is the number of the schema that this program works with.
func newest(t *testing.T) string {
	t.Helper()
	latest, err := migrations.Latest()
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprint(latest)
}
