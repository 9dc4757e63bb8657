package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/local"
	"pullbook/domain/ledger"
)

// noRoom is what cannot be done for want of room on a disk.
type noRoom struct{ error }

func (n *noRoom) Unwrap() error { return n.error }

// goodBackup is a backup that came back whole.
type goodBackup struct {
	file string
	size int64
	// books says of each book what the audit found of it.
	books []string
	// seasons are when the seasons of the books began, the earliest first.
	seasons []time.Time
}

// makeGood makes a backup in a folder that is there. The file gets the name of a good one once
// it was read back from its disk, restored into a scratch database and audited, and every
// book in it has the digest that it had when the backup began. One that does not come back so
// is kept under a name that says it. An interrupted one leaves no name behind.
func (s *store) makeGood(ctx context.Context, folder, mark string, now time.Time, log *slog.Logger) (good goodBackup, err error) {
	if err := isFolder(folder); err != nil {
		return good, err
	}
	var heads map[uuid.UUID]db.Head
	var needed int64
	err = within(ctx, s.owner(), func(tx pgx.Tx) (err error) {
		if heads, err = db.HeadsWithin(ctx, tx); err != nil {
			return err
		}
		return tx.QueryRow(ctx, `SELECT pg_database_size(current_database())`).Scan(&needed)
	})
	if err != nil {
		return good, err
	}
	stem := filepath.Join(folder, "pullbook-"+now.UTC().Format(backupStamp))
	good.file = stem + mark + goodEnd
	passing := filepath.Join(folder, "pullbook"+goodEnd)
	if err := sweepUnfinished(passing); err != nil {
		return good, err
	}
	file, err := newFile(passing)
	if err != nil {
		return good, err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	keep := func(name string) error {
		return errors.Join(file.keep(name), belongsAs(name, folder), syncFolder(folder))
	}
	if good.size, err = s.dump(ctx, file); err == nil {
		err = file.Sync()
	}
	if err != nil {
		return good, inWordsOfDisk(good.file, errors.Join(err, file.discard()))
	}
	if err := s.checkBackup(ctx, file.File, heads, needed, &good, log); err != nil {
		if ctx.Err() != nil {
			return good, errors.Join(err, file.discard())
		}
		doubtful := stem + doubtfulEnd
		if kept := keep(doubtful); kept != nil {
			return good, errors.Join(err, kept)
		}
		removeOtherDoubtful(folder, filepath.Base(doubtful))
		return good, fmt.Errorf("the backup is not good, and is kept as %s: %w", doubtful, err)
	}
	return good, keep(good.file)
}

func isFolder(folder string) error {
	info, err := os.Stat(folder)
	switch {
	case err != nil:
		return fmt.Errorf("the folder of the backups is not there (%w). If it is on a stick, put the stick in; else make the folder", err)
	case !info.IsDir():
		return fmt.Errorf("%s is no folder: backups go into a folder of their own", folder)
	}
	return nil
}

// removeOtherDoubtful leaves one doubtful backup: what is wrong with them is the same.
func removeOtherDoubtful(folder, but string) {
	all, _ := backupsIn(folder) // what cannot be listed stays
	for _, b := range all {
		if b.doubtful && b.name != but {
			_ = os.Remove(filepath.Join(folder, b.name))
		}
	}
}

// checkBackup restores a backup into a scratch database, and notes what it found.
func (s *store) checkBackup(ctx context.Context, file *os.File, heads map[uuid.UUID]db.Head, needed int64, good *goodBackup, log *slog.Logger) error {
	if err := forgetCached(file); err != nil {
		return err
	}
	b := &backup{name: "the backup", file: file}
	if err := b.check(); err != nil {
		return fmt.Errorf("%s, read back from its disk, %w", good.file, err)
	}
	scratch, err := s.startScratch(ctx, needed, log)
	if err != nil {
		return err
	}
	_, err = scratch.restore(ctx, &terminal{Out: io.Discard, Err: io.Discard}, b, false, func(o db.Outfit, book *ledger.Book) error {
		good.books = append(good.books, wholeBook(o, book))
		good.seasons = append(good.seasons, seasonsOf(book)...)
		head := heads[o.ID]
		delete(heads, o.ID)
		if head.Number > book.Len() || head.Number > 0 && !bytes.Equal(head.Digest, book.Numbered(head.Number).Digest[:]) {
			return fmt.Errorf("%s: restored, the book does not have the entry %d with the digest %x, which the book had when the backup began", o.Name, head.Number, head.Digest)
		}
		return nil
	})
	slices.SortFunc(good.seasons, time.Time.Compare)
	if err == nil && len(heads) > 0 {
		err = fmt.Errorf("restored, %d of the books are missing", len(heads))
	}
	return errors.Join(err, scratch.close())
}

// seasonsOf is when the seasons of a book began.
func seasonsOf(book *ledger.Book) (began []time.Time) {
	book.InForceOf(ledger.KindSeason, func(_ ledger.ID, e *ledger.Entry) bool {
		if first, err := e.Body.(*ledger.Season).First.On(book.Location()); err == nil {
			began = append(began, first)
		}
		return true
	})
	return began
}

const (
	// scratchMark begins the names of folders with a scratch database.
	scratchMark = "check-"
	// scratchLeast is what an empty PostgreSQL takes on the disk, with some to spare.
	scratchLeast = 256 << 20
)

// startScratch runs a PostgreSQL of its own in a new folder, which is removed when the store
// is closed. It proves that a backup can be restored on a machine that has nothing of the
// books, and its log takes no room from theirs. Needed is the size of the books' database.
func (s *store) startScratch(ctx context.Context, needed int64, log *slog.Logger) (_ *store, err error) {
	binaries, err := s.binaries()
	if err != nil {
		return nil, err
	}
	parent := s.folder
	if parent == "" {
		parent = os.TempDir()
	} else {
		sweepScratch(parent)
	}
	disk, err := local.DiskOf(parent)
	if err != nil {
		return nil, err
	}
	if room := uint64(2*needed + scratchLeast); disk.Free < room {
		return nil, &noRoom{fmt.Errorf("there is no room to check the backup: to restore it takes up to %d MB in %s, and %d MB are free. Move other files away", room/1e6, parent, disk.Free/1e6)}
	}
	dir, err := os.MkdirTemp(parent, scratchMark)
	if err != nil {
		return nil, err
	}
	removed := func() error { return os.RemoveAll(dir) }
	if err := errors.Join(os.Chmod(dir, 0o711), belongsAs(dir, parent)); err != nil { // PostgreSQL's account passes through
		return nil, errors.Join(err, removed())
	}
	server, err := local.Start(ctx, local.Options{DataDir: dir, BinDir: binaries.Dir, Log: log, NoFsync: true})
	if err != nil {
		return nil, errors.Join(err, removed())
	}
	scratch := privateStore(server)
	scratch.afterwards = removed
	err = scratch.atServer(ctx, func(c *pgx.Conn) error {
		_, err := c.Exec(ctx, `CREATE DATABASE `+bookDatabase)
		return err
	})
	if err != nil {
		return nil, errors.Join(err, scratch.close())
	}
	return scratch, nil
}

// sweepScratch removes scratch databases of programs that were killed.
func sweepScratch(parent string) {
	left, _ := filepath.Glob(filepath.Join(parent, scratchMark+"*"))
	for _, dir := range left {
		if info, err := os.Stat(dir); err != nil || time.Since(info.ModTime()) < time.Minute {
			continue // one that is being made
		}
		if _, held := local.Holder(dir); !held {
			_ = os.RemoveAll(dir)
		}
	}
}

// backupBefore makes a good backup of a database with books before its schema becomes
// another. What the new schema makes of it is tried in the scratch database.
func (s *store) backupBefore(ctx context.Context, schema uint, log *slog.Logger) error {
	folder, err := s.folderBefore(log)
	if err != nil || folder == "" {
		return err
	}
	now := time.Now()
	good, err := s.makeGood(ctx, folder, beforeSchema+strconv.FormatUint(uint64(schema), 10), now, log)
	if err != nil {
		return fmt.Errorf("nothing of the books was changed. They need schema version %d, and the backup that comes before it failed: %w. `pullbook migrate --without-backup` does it all the same", schema, err)
	}
	log.Info("a backup from before the new schema was made, restored with it into a scratch database, and audited", "file", good.file, "schema", schema)
	return nil
}

// folderBefore is where the backup from before a new schema goes: the first of the folders for
// backups that is there, else a folder beside the private PostgreSQL's rows. "" where the
// database was given and no folder was.
func (s *store) folderBefore(log *slog.Logger) (string, error) {
	for _, folder := range s.backupTo {
		err := isFolder(folder)
		if err == nil {
			return folder, nil
		}
		log.Warn("no backup goes there", "folder", folder, "error", err)
	}
	if s.folder == "" {
		return "", nil
	}
	folder := filepath.Join(s.folder, "backups")
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", err
	}
	return folder, belongsAs(folder, s.folder)
}
