package local_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/db/dbtest"
	"pullbook/db/local"
)

// dataDirVariable turns the test binary into the program that the tests kill.
const dataDirVariable = "PULLBOOK_TEST_LOAD_DATA_DIR"

func TestMain(m *testing.M) {
	if dir := os.Getenv(dataDirVariable); dir != "" {
		if err := recordPulls(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	dbtest.InMemory()
	os.Exit(m.Run())
}

// recordPulls is the program under load: it runs the server on dir and stores
// numbered rows over several connections, one transaction each, printing every
// number once its row is acknowledged. It only ends when killed or when the
// server does.
func recordPulls(dir string) error {
	ctx := context.Background()
	server, err := local.Start(ctx, local.Options{DataDir: dir})
	if err != nil {
		return err
	}
	setup, err := pgx.Connect(ctx, server.URL())
	if err != nil {
		return err
	}
	var last int64
	_, err = setup.Exec(ctx, `CREATE TABLE IF NOT EXISTS pull (number bigint PRIMARY KEY)`)
	if err != nil {
		return err
	}
	err = setup.QueryRow(ctx, `SELECT coalesce(max(number), 0) FROM pull`).Scan(&last)
	if err != nil {
		return err
	}
	fmt.Printf("server %d %s\n", server.PID(), server.URL())
	const clients = 4
	failed := make(chan error)
	for client := range int64(clients) {
		go func() { failed <- recordEvery(ctx, server.URL(), last+1+client, clients) }()
	}
	return <-failed
}

func recordEvery(ctx context.Context, url string, first, step int64) error {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	for number := first; ; number += step {
		if _, err := conn.Exec(ctx, `INSERT INTO pull (number) VALUES ($1)`, number); err != nil {
			return err
		}
		fmt.Printf("stored %d\n", number)
	}
}

// folder is a temporary folder that PostgreSQL's account may pass through:
// testing's own is closed to all but the account of the test.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "pullbook-local-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "state")
}

func start(t *testing.T, opts local.Options) *local.Server {
	t.Helper()
	server, err := local.Start(t.Context(), opts)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stop(t, server) })
	return server
}

func stop(t *testing.T, server *local.Server) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	if err := server.Stop(ctx); err != nil {
		t.Error(err)
	}
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(context.Background()) }) // the server may be gone before it
	return conn
}
