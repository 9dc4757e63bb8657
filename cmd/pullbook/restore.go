package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/progress"
	"pullbook/domain/ledger"
	"pullbook/migrations"
)

type restoreCommand struct {
	File string `arg:"" type:"existingfile" help:"A file that pullbook backup wrote; - reads standard input."`
	Mend bool   `name:"mend" help:"Put right what protects the books, if it was not as this program sets it up when the backup was made. The command says what it runs."`
	databaseSettings
	logSettings `set:"log_level=warn"`
}

func (c *restoreCommand) Help() string {
	return `Checks every byte of the file first. Then it reads the file into a database that holds no outfit, brings the database up to date with this program, audits every book and compares what protects the books with what this program sets up. All of that is one transaction: if anything fails, or anything is killed, the database is as empty as before, and the command can be run again.

Pullbook must not be serving from that database. To go back to a backup while there is a newer book, restore into another folder (--data) or another database, look at it, and then serve from there. Nothing is ever overwritten.`
}

func (c *restoreCommand) Run(ctx context.Context, term *terminal) (err error) {
	file, err := openBackup(c.File, term.In)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	return alone(ctx, term, c.databaseSettings, c.logSettings, func(books *store) error {
		if !file.sealed {
			fmt.Fprintf(term.Err, "Caution: %s was made by an older pullbook, whose backups carry no checksum. Damage to it may go unnoticed, except in the entries of the books, which are audited. Make a new backup afterwards.\n", file.name)
		}
		var whole []string
		held, err := books.restore(ctx, term, file, c.Mend, func(o db.Outfit, book *ledger.Book) error {
			whole = append(whole, wholeBook(o, book))
			return nil
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "Restored from %s:\n", file.name)
		for _, line := range whole {
			fmt.Fprintln(term.Out, line)
		}
		if held > 0 {
			fmt.Fprintf(term.Out, "Mails and web hooks that wait: %d. The book that the backup was made of may go on sending, so this one sends nothing until a manager says on the page, under Settings, \"The evening's page by itself\", that this is the book that sends now.\n", held)
		}
		return nil
	})
}

// restore reads a backup into an empty database, whole or not at all. It hands each book
// that passed its audit to each, and keeps none. It returns how many deliveries it held back.
func (s *store) restore(ctx context.Context, term *terminal, file *backup, mending bool, each func(db.Outfit, *ledger.Book) error) (held int64, err error) {
	if err := s.mayStore(); err != nil {
		return 0, err
	}
	if err := s.isBackup(ctx, file); err != nil {
		return 0, err
	}
	conn, err := pgx.Connect(ctx, s.owner())
	if err != nil {
		return 0, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	tx, err := conn.Begin(ctx)
	if err != nil {
		return 0, err
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) // after a commit it does nothing
	held, err = s.restoreWithin(ctx, term, tx, file, each)
	if err == nil && mending {
		err = mend(ctx, term, tx)
	}
	if err == nil {
		if err = protected(ctx, tx); err != nil {
			err = fmt.Errorf("it was so when the backup was made: %w. To restore this backup nevertheless, give --mend here", err)
		}
	}
	if err == nil {
		err = file.unchanged()
	}
	if err != nil {
		return 0, fmt.Errorf("nothing was restored, and the database is as it was: %w", err)
	}
	if err := tx.Commit(ctx); err != nil {
		return 0, fmt.Errorf("the database did not confirm the restored books: %w. `pullbook outfit list` shows whether they are there: all of them are, or none", err)
	}
	return held, nil
}

// restoringLock is the advisory lock of a restore: two at once would each find
// the database empty.
const restoringLock = 0x70756c6c626f6f6b

func (s *store) restoreWithin(ctx context.Context, term *terminal, tx pgx.Tx, file *backup, each func(db.Outfit, *ledger.Book) error) (held int64, err error) {
	var alone bool
	if err := tx.QueryRow(ctx, `SELECT pg_try_advisory_xact_lock($1)`, int64(restoringLock)).Scan(&alone); err != nil {
		return 0, err
	}
	if !alone {
		return 0, errors.New("another restore into this database is under way")
	}
	if err := emptyWithin(ctx, tx); err != nil {
		return 0, fmt.Errorf("%w, and a backup is only restored into an empty one: give another folder with --data, or another database", err)
	}
	// The backup names the roles that the first migration makes. What else that
	// makes gives way to what the backup holds.
	if err := migrations.MoveWithin(ctx, tx, 1); err != nil {
		return 0, err
	}
	watched, done := term.watch(ctx, "Restoring", progress.Restore)
	err = s.load(watched, tx, file)
	done()
	if err != nil {
		return 0, err
	}
	if err := upgradeWithin(ctx, tx); err != nil {
		return 0, err
	}
	var outfits []uuid.UUID
	err = auditWithin(ctx, term, tx, func(o db.Outfit, book *ledger.Book) error {
		outfits = append(outfits, o.ID)
		return each(o, book)
	})
	if err != nil {
		return 0, err
	}
	return db.HoldDeliveriesWithin(ctx, tx, outfits)
}

// load runs what pg_restore makes of a backup.
func (s *store) load(ctx context.Context, tx pgx.Tx, file *backup) error {
	read := &toldReader{Reader: file.dump(), tell: progress.From(ctx).Of(file.to - file.from)}
	script, into := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		err := s.runTool(ctx, read, into, "", "pg_restore", "--file=-", "--clean", "--if-exists", "--no-owner", "--exit-on-error")
		into.CloseWithError(err) // so that a script that broke off is no script
		ended <- err
	}()
	err := runScript(ctx, tx.Conn().PgConn(), script)
	script.CloseWithError(err)
	if told := <-ended; err == nil {
		err = told
	}
	if err != nil {
		return err
	}
	// A script changes the settings of its session.
	_, err = tx.Exec(ctx, `RESET ALL`)
	return err
}

// toldReader tells how many bytes of a backup were read.
type toldReader struct {
	io.Reader
	tell progress.Tell
	read int64
}

func (r *toldReader) Read(p []byte) (int, error) {
	n, err := r.Reader.Read(p)
	r.read += int64(n)
	r.tell(progress.Loaded, r.read, 0)
	return n, err
}

func upgradeWithin(ctx context.Context, tx pgx.Tx) error {
	_, want, err := versionsOf(migrations.VersionWithin(ctx, tx))
	if err != nil {
		return err
	}
	return migrations.MoveWithin(ctx, tx, want)
}

// asOperator has f look at all outfits in a transaction of the tables' owner, who
// may see no row of them.
func asOperator(ctx context.Context, tx pgx.Tx, f func() error) error {
	if _, err := tx.Exec(ctx, `SET LOCAL ROLE `+pgx.Identifier{db.OperatorRole}.Sanitize()); err != nil {
		return err
	}
	if err := f(); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `RESET ROLE`)
	return err
}

// auditWithin audits every book, and fails where one is broken.
func auditWithin(ctx context.Context, term *terminal, tx pgx.Tx, each func(db.Outfit, *ledger.Book) error) error {
	return asOperator(ctx, tx, func() error {
		outfits, err := db.OutfitsWithin(ctx, tx)
		if err != nil {
			return err
		}
		for _, o := range outfits {
			watched, done := term.watch(ctx, "Auditing "+brief(o.Name), progress.Audit)
			book, err := books.AuditWithin(watched, tx, o)
			done()
			if found := new(ledger.Break); errors.As(err, &found) {
				return fmt.Errorf("%s: BROKEN: %w", o.Name, found)
			}
			if err != nil {
				return err
			}
			if err := each(o, book); err != nil {
				return err
			}
		}
		return nil
	})
}

// isBackup refuses a file that is no backup of books before anything is changed.
func (s *store) isBackup(ctx context.Context, file *backup) error {
	var list bytes.Buffer
	if err := s.runTool(ctx, file.dump(), &list, "", "pg_restore", "--list"); err != nil {
		return fmt.Errorf("%s is not a file that pullbook backup wrote: %w", file.name, err)
	}
	for _, table := range []string{"schema_migrations", "outfit", "book", "entry", "claim"} {
		if !bytes.Contains(list.Bytes(), []byte(" TABLE DATA public "+table+" ")) {
			return fmt.Errorf("%s is not a file that pullbook backup wrote: it has no table %s", file.name, table)
		}
	}
	return nil
}

const sqlOtherTables = `
SELECT count(*)
  FROM pg_class c
  JOIN pg_namespace n ON n.oid = c.relnamespace
 WHERE c.relkind IN ('r', 'p', 'v', 'm', 'f')
   AND c.relname <> 'schema_migrations'
   AND n.nspname NOT IN ('pg_catalog', 'information_schema')
   AND n.nspname NOT LIKE 'pg\_%'`

// emptyWithin refuses a database that holds anything that could be lost.
func emptyWithin(ctx context.Context, tx pgx.Tx) error {
	have, _, err := versionsOf(migrations.VersionWithin(ctx, tx))
	if err != nil {
		return err
	}
	if have == 0 {
		return noTablesWithin(ctx, tx)
	}
	// Nobody adds an outfit from here on.
	if _, err := tx.Exec(ctx, `LOCK TABLE outfit`); err != nil {
		return err
	}
	return asOperator(ctx, tx, func() error {
		outfits, err := db.OutfitsWithin(ctx, tx)
		if err == nil && len(outfits) > 0 {
			err = fmt.Errorf("the database holds the books of %s", names(outfits))
		}
		return err
	})
}

func noTablesWithin(ctx context.Context, tx pgx.Tx) error {
	var count int
	if err := tx.QueryRow(ctx, sqlOtherTables).Scan(&count); err != nil {
		return err
	}
	if count > 0 {
		return fmt.Errorf("the database holds tables of something else (%d)", count)
	}
	return nil
}
