package dbtest_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/db/dbtest"
	"pullbook/db/local"
	"pullbook/db/local/packages"
)

func TestMain(m *testing.M) { os.Exit(dbtest.Main(m, prepare)) }

// endingVariable makes prepare report its server and come to a bad end.
const endingVariable = "PULLBOOK_TEST_ENDING"

func prepare(ctx context.Context, url string) error {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	if ending := os.Getenv(endingVariable); ending != "" {
		var lock string
		if err := conn.QueryRow(ctx, `SELECT pg_read_file('postmaster.pid')`).Scan(&lock); err != nil {
			return err
		}
		pid, _, _ := strings.Cut(lock, "\n")
		fmt.Printf("server %s\n", pid)
		if ending == "panic" {
			panic("as if a test had gone wrong")
		}
		time.Sleep(time.Minute)
	}
	_, err = conn.Exec(ctx, `
		CREATE TABLE yard (name text PRIMARY KEY);
		INSERT INTO yard VALUES ('Lower Meadow');
		CREATE ROLE reader LOGIN;
		GRANT SELECT ON yard TO reader`)
	return errors.Join(err, conn.Close(ctx))
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

func yards(t *testing.T, conn *pgx.Conn) []string {
	t.Helper()
	rows, err := conn.Query(t.Context(), `SELECT name FROM yard ORDER BY name`)
	if err != nil {
		t.Fatal(err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func TestEveryTestHasItsOwnPreparedDatabase(t *testing.T) {
	t.Parallel()
	for _, yard := range []string{"Quarry", "Orchard", "Weir"} {
		t.Run(yard, func(t *testing.T) {
			t.Parallel()
			conn := connect(t, dbtest.New(t))
			if _, err := conn.Exec(t.Context(), `INSERT INTO yard VALUES ($1)`, yard); err != nil {
				t.Fatal(err)
			}
			names := yards(t, conn)
			if len(names) != 2 || names[0] != "Lower Meadow" || names[1] != yard {
				t.Errorf("got yards %q, want the template's Lower Meadow and %s", names, yard)
			}
		})
	}
}

func TestAnotherRoleHasItsOwnRights(t *testing.T) {
	t.Parallel()
	conn := connect(t, dbtest.As(dbtest.New(t), "reader"))
	if names := yards(t, conn); len(names) != 1 {
		t.Errorf("got yards %q, want the template's one", names)
	}
	if _, err := conn.Exec(t.Context(), `DELETE FROM yard`); err == nil {
		t.Error("a role that may only read has deleted")
	}
}

func TestDatabaseIsDroppedAfterItsTest(t *testing.T) {
	t.Parallel()
	var name string
	t.Run("one", func(t *testing.T) {
		conn := connect(t, dbtest.New(t)) // its session is still open at the drop
		name = conn.Config().Database
	})
	var there bool
	err := connect(t, dbtest.New(t)).QueryRow(t.Context(),
		`SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, name).Scan(&there)
	if err != nil {
		t.Fatal(err)
	}
	if there {
		t.Errorf("database %q is still there", name)
	}
}

// failing stands for the test of a caller.
type failing struct {
	testing.TB
	message string
}

func (f *failing) Fatalf(format string, args ...any) {
	f.message = fmt.Sprintf(format, args...)
	panic(f)
}

func TestWithoutPostgreSQLTheTestFailsWithTheInstallCommand(t *testing.T) {
	t.Parallel()
	caller := &failing{TB: t}
	func() {
		defer func() {
			if stopped := recover(); stopped != caller {
				t.Errorf("the caller's test went on: %v", stopped)
			}
		}()
		dbtest.NewWithoutPostgreSQL(caller)
	}()
	if want := packages.Command(local.Needed).String(); !strings.Contains(caller.message, want) {
		t.Errorf("%q does not say %q", caller.message, want)
	}
}

func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		dbtest.New(b)
	}
}
