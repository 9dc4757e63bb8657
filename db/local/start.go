package local

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// staleRetry is how long a start is tried again while the lock of a server that
// was killed is still in the way: a dead process keeps its number until its
// parent takes notice, and the sessions of a killed server end by themselves.
const staleRetry = 15 * time.Second

// Start runs the private server and returns when it answers. A data folder
// without rows is made first; a server that an earlier program left behind is
// stopped first. Ctx bounds the start, crash recovery included, not the life of
// the server.
//
// It fails with ErrNotFound, ErrVersion, ErrInUse or ErrUnsupported, or as the
// file system or PostgreSQL say. It never removes rows.
func Start(ctx context.Context, opts Options) (*Server, error) {
	if !supported { // before PostgreSQL is looked for: it would not help
		return nil, ErrUnsupported
	}
	opts, err := opts.withDefaults()
	if err != nil {
		return nil, err
	}
	bin, err := Find(opts)
	if err != nil {
		return nil, err
	}
	acct, err := chooseAccount(opts.DataDir, opts.clusterDir())
	if err != nil {
		return nil, err
	}
	if opts.DataDir, err = makeDataDir(opts.DataDir, acct); err != nil {
		return nil, err
	}
	lock, err := lockDir(opts.DataDir)
	if err != nil {
		return nil, err
	}
	s := &Server{bin: bin, dataDir: opts.DataDir, lock: lock, log: &serverLog{to: opts.Log, quiet: true}}
	if err := s.start(ctx, opts, acct); err != nil {
		return nil, errors.Join(err, s.release())
	}
	return s, nil
}

// makeDataDir makes the folder and returns it free of links: a server left
// behind is recognised by its path.
func makeDataDir(dir string, acct *account) (string, error) {
	if _, err := os.Stat(filepath.Join(dir, "PG_VERSION")); err == nil {
		return "", fmt.Errorf("the folder %s is a PostgreSQL server's own; choose another data folder", dir)
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		return "", fmt.Errorf("cannot make the data folder: %w", err)
	}
	err := os.Mkdir(dir, 0o700)
	if err == nil && acct != nil {
		err = os.Chmod(dir, 0o711) // root keeps the folder, the account only passes through
	}
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return "", fmt.Errorf("cannot make the data folder: %w", err)
	}
	return filepath.EvalSymlinks(dir)
}

func (s *Server) start(ctx context.Context, opts Options, acct *account) (err error) {
	if s.socketDir, s.socketTemporary, err = makeSocketDir(s.dataDir, acct); err != nil {
		return err
	}
	if err := acct.tryReach(s.bin, s.socketDir); err != nil {
		return err
	}
	made, err := clusterMajor(opts.clusterDir())
	if err != nil {
		return err
	}
	if made == 0 {
		if err := makeCluster(ctx, opts, s.bin, acct, s.log); err != nil {
			return err
		}
	}
	s.opts, s.acct = opts, acct
	if err := s.launchUntil(ctx); err != nil {
		return err
	}
	return s.keepReserve()
}

// launch tries one start of the server.
func (s *Server) launch(ctx context.Context, opts Options, acct *account) error {
	if err := stopLeftover(ctx, opts.clusterDir(), opts.Log); err != nil {
		return err
	}
	s.log.lastLines()
	// SIGINT is PostgreSQL's fast shutdown: sessions are ended, rows are written.
	postgres, err := acct.spawn(s.bin, opts.clusterDir(), s.log, syscall.SIGINT, "postgres", s.arguments(opts)...)
	if err != nil {
		return fmt.Errorf("cannot run PostgreSQL: %w", err)
	}
	s.setPostgres(postgres)
	if err := s.waitReady(ctx); err != nil {
		postgres.signal(syscall.SIGINT)
		<-postgres.done
		return err
	}
	s.log.setQuiet(false)
	return nil
}

func (s *Server) arguments(opts Options) []string {
	settings := []string{
		"listen_addresses=",
		"port=" + socketPort,
		"unix_socket_directories=" + s.socketDir,
		"max_connections=100",
		"shared_buffers=128MB",
		"random_page_cost=1.1", // solid-state disks
		"jit=off",              // short statements: compiling costs more than it saves
		"timezone=UTC",
		// The log goes to the program's; statements and values stay out of it.
		"log_destination=stderr",
		"logging_collector=off",
		"log_line_prefix=",
		"log_error_verbosity=terse",
		"log_min_error_statement=panic",
	}
	if opts.NoFsync {
		settings = append(settings, "fsync=off", "synchronous_commit=off", "full_page_writes=off", "wal_level=minimal", "max_wal_senders=0")
	}
	args := []string{"-D", opts.clusterDir()}
	for _, setting := range settings {
		args = append(args, "-c", setting)
	}
	return args
}

// errStale marks a failed start that may succeed once a killed server is gone.
var errStale = errors.New("a server that was killed is still in the way")

var stalePattern = regexp.MustCompile(`lock file ".*" already exists|pre-existing shared memory block`)

// waitReady returns when the server answers, or says why it does not. It asks once
// PostgreSQL has noted that it is ready: each earlier question would cost the server
// a process, just while it redoes what a crash interrupted.
func (s *Server) waitReady(ctx context.Context) error {
	for {
		if notedReady(s.opts.clusterDir(), s.PID()) {
			err := ping(ctx, s.URL())
			if err == nil {
				return nil
			}
			// cannot_connect_now: PostgreSQL is ending already.
			if answer := new(pgconn.PgError); errors.As(err, &answer) && answer.Code != "57P03" {
				return fmt.Errorf("PostgreSQL started in %s but refuses its own account: %w", s.dataDir, err)
			}
			if errors.Is(err, fs.ErrPermission) {
				return fmt.Errorf("PostgreSQL started in %s but its socket is closed to this program: %w", s.dataDir, err)
			}
		}
		select {
		case <-s.Done():
			return s.explainEnd()
		case <-ctx.Done():
			return fmt.Errorf("PostgreSQL did not answer in time: %w\n%s", ctx.Err(), s.log.lastLines())
		case <-time.After(10 * time.Millisecond):
		}
	}
}

func (s *Server) explainEnd() error {
	lines := s.log.lastLines()
	err := fmt.Errorf("PostgreSQL did not start in %s: %w\n%s", s.dataDir, s.running().err, lines)
	if stalePattern.MatchString(lines) {
		return fmt.Errorf("%w: %w", errStale, err)
	}
	return err
}

func ping(ctx context.Context, url string) error {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	return conn.Close(ctx)
}
