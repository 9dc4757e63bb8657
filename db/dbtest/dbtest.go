// Package dbtest gives every test a PostgreSQL database of its own.
//
// A test binary runs one private server, started when the first test asks for
// a database. One template database is prepared (migrated) once; each test gets
// a copy, which takes a few hundredths of a second.
//
//	func TestMain(m *testing.M) { os.Exit(dbtest.Main(m, migrate)) }
//
//	func TestBook(t *testing.T) {
//		t.Parallel()
//		url := dbtest.New(t)
//		...
//	}
package dbtest

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/db/local"
)

const template = "template_test"

// Main runs the tests and returns the exit status. Prepare brings the template
// up to date through the superuser's URL and must close its connections; it is
// called once, or not at all when no test asks for a database.
func Main(m *testing.M, prepare func(ctx context.Context, superuserURL string) error) int {
	shared = &cluster{prepare: prepare}
	InMemory()
	code := m.Run()
	if err := shared.close(); err != nil {
		fmt.Fprintln(os.Stderr, "dbtest:", err)
		return max(code, 1)
	}
	return code
}

// InMemory keeps what a test binary writes in memory where Linux has a file system there
// with room to spare, and collects garbage less often: databases are made and dropped by
// the hundred. A fifth of the processor's time goes otherwise into ext4's lists of free
// blocks, and another into the collector. Benchmarks run as the program does.
func InMemory() {
	if flag.Parse(); flag.Lookup("test.bench").Value.String() != "" {
		return
	}
	const folder, room = "/dev/shm", 4 << 30
	if disk, err := local.DiskOf(folder); err == nil && disk.Free >= room && os.Getenv("TMPDIR") == "" {
		if tried, err := os.MkdirTemp(folder, dirPrefix); err == nil {
			err = errors.Join(os.Remove(tried), os.Setenv("TMPDIR", folder))
			if err != nil {
				panic(err)
			}
		}
	}
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
}

// Waiting runs three times as many tests at once as there are processors, unless -parallel
// says how many. It is for packages whose tests spend much of their time waiting: for other
// programs, for limits to pass, for readers that are slow on purpose.
func Waiting() {
	if flag.Parse(); slices.ContainsFunc(os.Args, func(arg string) bool { return strings.HasPrefix(arg, "-test.parallel") }) {
		return
	}
	if err := flag.Set("test.parallel", strconv.Itoa(3*runtime.GOMAXPROCS(0))); err != nil {
		panic(err)
	}
}

// New is the superuser's URL of a fresh copy of the template, which is dropped
// at the end of the test. A machine without PostgreSQL fails the test, with the
// command that installs it.
func New(tb testing.TB) string {
	tb.Helper()
	if shared == nil {
		tb.Fatal("dbtest.New needs a TestMain that calls dbtest.Main")
	}
	return shared.database(tb)
}

// As is databaseURL for another role, which must be allowed to log in. No
// password is asked.
func As(databaseURL, role string) string {
	u, err := url.Parse(databaseURL)
	if err != nil {
		panic(fmt.Sprintf("dbtest.As: %v", err)) // it did not come from New
	}
	u.User = url.User(role)
	return u.String()
}

var shared *cluster

// cluster is the private server of a test binary.
type cluster struct {
	opts    local.Options
	prepare func(context.Context, string) error

	once   sync.Once
	err    error
	dir    string
	server *local.Server
	copies atomic.Int64

	mu    sync.Mutex
	admin *pgx.Conn // stays open: each connection costs the server a process
}

func (c *cluster) database(tb testing.TB) string {
	tb.Helper()
	c.once.Do(func() { c.err = c.open() })
	if c.err != nil {
		tb.Fatalf("no database for the test: %v", c.err)
	}
	name := fmt.Sprintf("test_%d", c.copies.Add(1))
	// Copying files beats writing them through the log about three times here.
	if err := c.exec(tb.Context(), "CREATE DATABASE "+name+" TEMPLATE "+template+" STRATEGY FILE_COPY"); err != nil {
		tb.Fatalf("cannot copy the template database: %v", err)
	}
	tb.Cleanup(func() {
		if err := c.exec(context.Background(), "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			tb.Errorf("cannot drop the test's database: %v", err)
		}
	})
	return c.server.URLFor(local.Superuser, name)
}

func (c *cluster) open() (err error) {
	// A prepare that panics must not look like a success to the next test.
	c.err = errors.New("the template database was not prepared")
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	if err := sweep(os.TempDir()); err != nil {
		return err
	}
	if c.dir, err = os.MkdirTemp("", dirPrefix); err != nil {
		return err
	}
	// Under root the server runs as an account that has to pass through here.
	if err := os.Chmod(c.dir, 0o711); err != nil {
		return err
	}
	c.opts.DataDir = filepath.Join(c.dir, stateName)
	c.opts.NoFsync = true
	if c.opts.Search == nil {
		if err := Fresh(ctx, c.opts.DataDir); err != nil {
			return err
		}
	}
	if c.server, err = local.Start(ctx, c.opts); err != nil {
		return err
	}
	if err := c.exec(ctx, "CREATE DATABASE "+template); err != nil {
		return err
	}
	if err := c.prepare(ctx, c.server.URLFor(local.Superuser, template)); err != nil {
		return fmt.Errorf("preparing the template database: %w", err)
	}
	return nil
}

// exec runs a statement as the superuser.
func (c *cluster) exec(ctx context.Context, statement string) (err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.admin == nil || c.admin.IsClosed() { // as after a statement that was given up
		if c.admin, err = pgx.Connect(ctx, c.server.URL()); err != nil {
			return err
		}
	}
	_, err = c.admin.Exec(ctx, statement)
	return err
}

func (c *cluster) close() error {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	var err error
	if c.admin != nil {
		err = c.admin.Close(ctx)
	}
	if c.server != nil {
		err = errors.Join(err, c.server.Stop(ctx))
	}
	if c.dir != "" {
		err = errors.Join(err, os.RemoveAll(c.dir))
	}
	return err
}
