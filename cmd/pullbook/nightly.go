package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"

	"pullbook/api/request"
)

// nightlySettings say when backups are made by themselves, and how many stay.
type nightlySettings struct {
	At string `name:"backup-at" env:"PULLBOOK_BACKUP_AT" default:"02:30" placeholder:"HH:MM" help:"When backups are made, by the machine's clock. One that was missed is made as soon as the machine runs and the folder is there."`
	keepSettings
}

// clockTime is the hour and minute of --backup-at.
func (s nightlySettings) clockTime() (hour, minute int, err error) {
	at, err := time.Parse("15:04", s.At)
	if err != nil {
		return 0, 0, fmt.Errorf("--backup-at is %q; an hour and a minute are needed, such as 02:30", s.At)
	}
	return at.Hour(), at.Minute(), nil
}

func (s nightlySettings) check() error {
	_, _, err := s.clockTime()
	return errors.Join(err, s.keepSettings.check())
}

// lookForBackupEvery is how often it is looked at whether a backup is due. The tests link a
// program that does not let them wait a minute.
var lookForBackupEvery = "1m"

const (
	// againAfter is how long after a failed backup the next is tried.
	againAfter = time.Hour
	// stopBackupWithin is how long a backup may take to leave nothing behind.
	stopBackupWithin = 20 * time.Second
)

// nightly makes a backup in each folder every night.
type nightly struct {
	settings nightlySettings
	// private is the folder of the private PostgreSQL; "" where the database was given.
	private string
	now     func() time.Time
	// make makes a good backup in a folder.
	make func(ctx context.Context, folder string) error
	log  *slog.Logger

	mu      sync.Mutex
	folders []request.BackupFolder
}

// nightlyFile is where the folder of the private PostgreSQL keeps, by folder, when the last good
// backup was made: after a start a stick that is not there cannot say it.
const nightlyFile = "backups.json"

func newNightly(folders []string, settings nightlySettings, private string, log *slog.Logger, make func(context.Context, string) error) *nightly {
	n := &nightly{settings: settings, private: private, now: time.Now, make: make, log: log}
	known := map[string]time.Time{}
	if private != "" {
		if text, err := os.ReadFile(filepath.Join(private, nightlyFile)); err == nil {
			_ = json.Unmarshal(text, &known) // nothing is known then
		}
	}
	for _, folder := range folders {
		n.folders = append(n.folders, request.BackupFolder{Folder: folder, Last: known[folder]})
	}
	return n
}

// run looks again and again, until ctx ends.
func (n *nightly) run(ctx context.Context) {
	every, err := time.ParseDuration(lookForBackupEvery)
	if err != nil {
		panic(err) // it was linked so
	}
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		n.look(ctx)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// look makes the backups that are due.
func (n *nightly) look(ctx context.Context) {
	for i := range n.folders {
		n.find(i)
		if !n.due(i) || ctx.Err() != nil {
			continue
		}
		folder, began := n.folders[i].Folder, n.now()
		err := n.make(ctx, folder)
		if err != nil && ctx.Err() != nil {
			return // asked to stop
		}
		n.change(i, func(f *request.BackupFolder) {
			f.Failed, f.NoRoom = time.Time{}, false
			if ended := new(withStatus); err != nil {
				f.Failed, f.NoRoom = began, errors.As(err, &ended) && ended.status == exitNoRoom
			}
		})
		n.find(i)
		n.remember()
		if err != nil {
			n.log.Error("a backup failed; it is tried again", "folder", folder, "after", againAfter, "error", err)
		} else {
			n.log.Info("a good backup was made", "folder", folder)
		}
	}
}

// find looks at what a folder holds. One in which backups were made and that has none now is
// the place where a stick is put in, without the stick.
func (n *nightly) find(i int) {
	n.change(i, func(f *request.BackupFolder) {
		last, err := lastGood(f.Folder, n.now())
		f.Gone = err != nil || last.IsZero() && !f.Last.IsZero()
		if !last.IsZero() {
			f.Last = last
		}
		f.SameDisk = n.private != "" && err == nil && sameDisk(f.Folder, n.private)
	})
}

func (n *nightly) change(i int, change func(*request.BackupFolder)) {
	n.mu.Lock()
	defer n.mu.Unlock()
	change(&n.folders[i])
}

// due reports whether a folder's last good backup is from before the last night.
func (n *nightly) due(i int) bool {
	f, now := n.folders[i], n.now()
	hour, minute, _ := n.settings.clockTime() // looked at before
	night := time.Date(now.Year(), now.Month(), now.Day(), hour, minute, 0, 0, now.Location())
	if night.After(now) {
		night = time.Date(now.Year(), now.Month(), now.Day()-1, hour, minute, 0, 0, now.Location())
	}
	tried := !f.Failed.IsZero() && now.Sub(f.Failed) < againAfter && !now.Before(f.Failed)
	return !f.Gone && !tried && f.Last.Before(night)
}

// remember keeps what the folders had for the next start.
func (n *nightly) remember() {
	if n.private == "" {
		return
	}
	known := map[string]time.Time{}
	for _, f := range n.folders {
		known[f.Folder] = f.Last
	}
	err := writeWhole(filepath.Join(n.private, nightlyFile), func(w io.Writer) error { return json.NewEncoder(w).Encode(known) })
	if err != nil {
		n.log.Warn("it cannot be kept when the last backup was made", "error", err)
	}
}

// told is what pages say of it.
func (n *nightly) told() request.Backups {
	n.mu.Lock()
	defer n.mu.Unlock()
	return request.Backups{Folders: slices.Clone(n.folders)}
}

// byProgram makes a good backup by this program's own command, in a process of its own: the
// memory that the audit takes is given back, and what goes wrong there leaves the service be.
func byProgram(program string, where databaseSettings, private string, keep keepSettings) func(context.Context, string) error {
	return func(ctx context.Context, folder string) error {
		args := []string{program, "backup", "--to", folder, "--keep-days", fmt.Sprint(keep.Days), "--keep-weeks", fmt.Sprint(keep.Weeks), "--keep-seasons", fmt.Sprint(keep.Seasons), "--log-level", "error"}
		if nice, err := exec.LookPath("nice"); err == nil { // whoever records goes first
			args = append([]string{nice, "-n", "10"}, args...)
		}
		cmd := exec.CommandContext(ctx, args[0], args[1:]...)
		cmd.Cancel = func() error { return cmd.Process.Signal(syscall.SIGTERM) }
		cmd.WaitDelay = stopBackupWithin
		cmd.Env = os.Environ()
		// An address may have a password, which arguments show to everybody.
		for name, value := range map[string]string{"PULLBOOK_DATABASE_URL": where.URL, "PULLBOOK_DATA": private, "PULLBOOK_PG_BINDIR": where.BinDir} {
			if value != "" {
				cmd.Env = append(cmd.Env, name+"="+value)
			}
		}
		var said bytes.Buffer
		cmd.Stderr = &said
		err := cmd.Run()
		if exit := new(exec.ExitError); errors.As(err, &exit) {
			return &withStatus{errors.New(strings.TrimPrefix(strings.TrimSpace(said.String()), "pullbook: ")), exit.ExitCode()}
		}
		return err
	}
}
