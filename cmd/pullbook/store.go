package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/local"
	"pullbook/db/local/packages"
)

// bookDatabase is the private PostgreSQL's database with the books.
const bookDatabase = "pullbook"

// store is where the books are: a database that was given, or the private one.
type store struct {
	// server is the private PostgreSQL where this program runs it.
	server *local.Server
	// disk looks at the disk of the private PostgreSQL, also where another program runs
	// it; nil where the database was given.
	disk func() (local.Disk, error)
	// urlFor gives the address that signs in as a role. A database that was
	// given is always signed in to as its address says.
	urlFor func(role string) string
	// binaries finds PostgreSQL's programs that fit the database.
	binaries func() (local.Binaries, error)
	// folder is the private PostgreSQL's; "" where the database was given.
	folder string
	// backupTo are the folders for backups. Before a new schema one is made, unless
	// withoutBackup says otherwise. Had is the version of the schema before, zero where it
	// was not changed.
	backupTo      []string
	withoutBackup bool
	had           uint
	// backups is what is known of those that are made by themselves; nil where they are
	// somebody else's business.
	backups func() request.Backups
	// afterwards is what is to be done once the private PostgreSQL is stopped, or nil.
	afterwards func() error
	log        *slog.Logger
}

// open reaches the database, and has it alone where it is the private one.
func (s databaseSettings) open(ctx context.Context, term *terminal, log *slog.Logger) (*store, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if s.URL != "" {
		return s.given(log), nil
	}
	private, err := startPrivate(ctx, s.Data, s.postgresSettings, term, log)
	if err != nil {
		return nil, err
	}
	private.backupTo, private.withoutBackup = s.BackupTo, s.WithoutBackup
	return private, nil
}

// alone runs f on a database that nothing else serves from meanwhile, where it
// is the private one.
func alone(ctx context.Context, term *terminal, where databaseSettings, how logSettings, f func(*store) error) (err error) {
	log, err := how.logger(term.Err)
	if err != nil {
		return err
	}
	books, err := where.open(ctx, term, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, books.close()) }()
	if books.server != nil {
		if err := books.ready(ctx); err != nil {
			return err
		}
	}
	return f(books)
}

// openBeside reaches the database, also while another pullbook serves it.
func (s databaseSettings) openBeside(ctx context.Context, term *terminal, log *slog.Logger) (*store, error) {
	opened, err := s.open(ctx, term, log)
	if !errors.Is(err, local.ErrInUse) {
		return opened, err
	}
	running, err := local.Attach(local.Options{DataDir: s.Data, BinDir: s.BinDir})
	if err != nil {
		return nil, err
	}
	return &store{
		disk:     running.Disk,
		urlFor:   func(role string) string { return running.URLFor(role, bookDatabase) },
		binaries: func() (local.Binaries, error) { return running.Binaries(), nil },
		folder:   running.DataDir(),
		backupTo: s.BackupTo,
		log:      log,
	}, nil
}

func (s databaseSettings) given(log *slog.Logger) *store {
	return &store{
		urlFor:   func(string) string { return s.URL },
		binaries: func() (local.Binaries, error) { return local.Find(local.Options{BinDir: s.BinDir}) },
		backupTo: s.BackupTo, withoutBackup: s.WithoutBackup,
		log: log,
	}
}

// startPrivate runs the private PostgreSQL, installing it first where that is
// wanted.
func startPrivate(ctx context.Context, dataDir string, postgres postgresSettings, term *terminal, log *slog.Logger) (*store, error) {
	options := local.Options{DataDir: dataDir, BinDir: postgres.BinDir, Log: log}
	server, err := local.Start(ctx, options)
	if errors.Is(err, local.ErrNotFound) && postgres.BinDir == "" && (postgres.Install || agrees(term, err)) {
		if err := local.Install(ctx, term.Err); err != nil {
			return nil, err
		}
		server, err = local.Start(ctx, options)
	}
	if err != nil {
		return nil, err
	}
	private := privateStore(server)
	private.log = log
	return private, nil
}

// privateStore is the books of a private PostgreSQL that this program runs.
func privateStore(server *local.Server) *store {
	return &store{
		server:   server,
		disk:     server.Disk,
		urlFor:   func(role string) string { return server.URLFor(role, bookDatabase) },
		binaries: func() (local.Binaries, error) { return server.Binaries(), nil },
		folder:   server.DataDir(),
	}
}

// agrees asks whoever sits at the terminal whether PostgreSQL may be installed.
func agrees(term *terminal, missing error) bool {
	command := packages.Command(local.Needed)
	if !term.Asks || len(command.Steps) == 0 {
		return false
	}
	fmt.Fprintf(term.Err, "%v.\nRun `%s` now? [y/N] ", missing, command)
	answer, _ := bufio.NewReader(term.In).ReadString('\n') // no answer is no
	answer = strings.ToLower(strings.TrimSpace(answer))
	return answer == "y" || answer == "yes"
}

// owner signs in as the role that owns the tables.
func (s *store) owner() string { return s.urlFor(local.Superuser) }

// operator acts for the operator's own commands: it reads and sets up outfits,
// and can change no entry either.
func (s *store) operator(ctx context.Context) (*db.DB, error) {
	d, err := db.Open(ctx, s.owner(), db.OperatorRole, 2)
	if err != nil {
		return nil, err
	}
	d.Room = s.mayStore
	return d, nil
}

// stopWithin is how long the private PostgreSQL may take to end in order.
const stopWithin = 10 * time.Second

// close stops the private PostgreSQL if this program runs it.
func (s *store) close() error {
	if s.server == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), stopWithin)
	defer cancel()
	err := s.server.Stop(ctx)
	if s.afterwards != nil {
		err = errors.Join(err, s.afterwards())
	}
	return err
}
