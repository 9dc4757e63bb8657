package main

import (
	"context"
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"pullbook/db/dbtest"
	"pullbook/db/local"
)

// namesIn lists the names of the files in a folder of backups.
func namesIn(t *testing.T, folder string) (names []string) {
	t.Helper()
	there, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, entry := range there {
		names = append(names, entry.Name())
	}
	return names
}

// digestOf is the last digest of the one book in a folder, as an audit says it.
func digestOf(t *testing.T, dir string) string {
	t.Helper()
	_, digest, found := strings.Cut(strings.TrimSpace(must(t, "audit", "--data", dir)), "last digest ")
	if !found || len(digest) != 64 {
		t.Fatalf("the audit says no digest: %q", digest)
	}
	return digest
}

// oneGood is the one file of a folder, which is a good backup.
func oneGood(t *testing.T, folder string) string {
	t.Helper()
	names := namesIn(t, folder)
	if len(names) != 1 || !strings.HasSuffix(names[0], goodEnd) || !backupName.MatchString(names[0]) {
		t.Fatalf("the folder has %v, want one good backup", names)
	}
	return filepath.Join(folder, names[0])
}

// The whole way: the service makes a backup by itself, the data folder is lost, and the book
// comes back with its digest.
func TestABookComesBackFromANightsBackupAfterItsFolderIsLost(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	stick := t.TempDir()
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	if status, err := h.client.record(t.Context(), h.count(uuid.New(), 31)); status != http.StatusCreated {
		t.Fatal(err)
	}
	before, digest := outfitOf(t, h.client), digestOf(t, dir)
	p.stop(t)

	p = start(t, "serve", dir, "--backup-to", stick)
	p.await(t, "a good backup was made")
	if metrics := ask(t, http.DefaultClient, http.MethodGet, p.base+"/metrics").text; !strings.Contains(metrics, "pullbook_last_good_backup_timestamp_seconds 1.") {
		t.Error("no metric tells when the last good backup was made")
	}
	p.stop(t)
	file := oneGood(t, stick)
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the backup: %v, %v", info, err)
	}
	if left, err := filepath.Glob(filepath.Join(dir, scratchMark+"*")); err != nil || len(left) > 0 {
		t.Errorf("scratch databases are left: %v, %v", left, err)
	}
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	must(t, "restore", file, "--data", dir)
	if after := digestOf(t, dir); after != digest {
		t.Errorf("after the loss the digest is %s, was %s", after, digest)
	}
	p = start(t, "serve", dir)
	if after := outfitOf(t, reach(t, p.base, token)); after != before {
		t.Errorf("after the loss the outfit is %+v, was %+v", after, before)
	}
	p.stop(t)
}

// nights is a nightly whose clock the test moves.
type nights struct {
	*nightly
	clock time.Time
	made  int
	err   error
}

func nightsOf(t *testing.T, private string, folders ...string) *nights {
	n := &nights{clock: time.Date(2026, 11, 25, 12, 0, 0, 0, time.Local)}
	settings := nightlySettings{At: "02:30", keepSettings: keepSettings{Days: 2, Weeks: 2, Seasons: 2}}
	n.nightly = newNightly(folders, settings, private, quiet, func(_ context.Context, folder string) error {
		if n.err != nil {
			return n.err
		}
		n.made++
		return os.WriteFile(filepath.Join(folder, "pullbook-"+n.clock.UTC().Format(backupStamp)+goodEnd), []byte("honey"), 0o600)
	})
	n.now = func() time.Time { return n.clock }
	return n
}

// after moves the clock, has the nightly look, and gives how many backups that made.
func (n *nights) after(t *testing.T, d time.Duration) int {
	t.Helper()
	had := n.made
	n.clock = n.clock.Add(d)
	n.look(t.Context())
	return n.made - had
}

func TestABackupIsMadeEachNightAndOneThatWasMissedAsSoonAsMayBe(t *testing.T) {
	t.Parallel()
	n := nightsOf(t, "", t.TempDir())
	for _, step := range []struct {
		after time.Duration
		want  int
		why   string
	}{
		{0, 1, "there is none yet"},
		{time.Minute, 0, "it was made a minute ago"},
		{14 * time.Hour, 0, "it is before half past two"},
		{30 * time.Minute, 1, "it is night"},
		{23 * time.Hour, 0, "the night is not there yet"},
		{80 * time.Hour, 1, "the machine was off for three nights"},
		{time.Minute, 0, "one is enough for all that were missed"},
	} {
		if made := n.after(t, step.after); made != step.want {
			t.Errorf("at %s %d backups were made, want %d: %s", n.clock.Format(time.DateTime), made, step.want, step.why)
		}
	}
}

func TestABackupThatFailsIsTriedAgainAnHourLater(t *testing.T) {
	t.Parallel()
	n := nightsOf(t, "", t.TempDir())
	n.err = &withStatus{errors.New("the disk is full"), exitNoRoom}
	n.look(t.Context())
	if f := n.told().Folders[0]; f.Failed != n.clock || !f.NoRoom || !n.told().Late(n.clock) {
		t.Errorf("it is told %+v", f)
	}
	n.err = nil
	if n.after(t, 59*time.Minute) != 0 || n.after(t, time.Minute) != 1 {
		t.Error("it was not tried again after an hour")
	}
	if f := n.told().Folders[0]; !f.Failed.IsZero() || f.NoRoom || f.Last.IsZero() || n.told().Late(n.clock) {
		t.Errorf("it is told %+v", f)
	}
}

// A stick that was pulled out leaves the folder that it is mounted on, or none: nothing goes
// there, it is told, also after a start, and a backup is made when the stick is back.
func TestAStickThatIsPulledOutIsMissedAndUsedAgain(t *testing.T) {
	t.Parallel()
	for _, left := range []bool{true, false} {
		private, place, pocket := t.TempDir(), filepath.Join(t.TempDir(), "stick"), filepath.Join(t.TempDir(), "pocket")
		if err := os.Mkdir(place, 0o700); err != nil {
			t.Fatal(err)
		}
		n := nightsOf(t, private, place)
		n.look(t.Context())
		first := n.clock
		move := func(from, to string) {
			t.Helper()
			if err := os.Rename(from, to); err != nil {
				t.Fatal(err)
			}
		}
		move(place, pocket)
		if left {
			if err := os.Mkdir(place, 0o700); err != nil {
				t.Fatal(err)
			}
		}
		again := nightsOf(t, private, place) // the program was started anew
		again.clock = first
		if made := again.after(t, 24*time.Hour); made != 0 {
			t.Error("a backup went to where the stick is not")
		}
		if f := again.told().Folders[0]; !f.Gone || !f.Last.Equal(first.Truncate(time.Second)) {
			t.Errorf("without the stick it is told %+v", f)
		}
		if again.told().Late(again.clock) || !again.told().Late(first.Add(51*time.Hour)) {
			t.Error("the last backup is late after two missed nights, and not before")
		}
		if left {
			if err := os.Remove(place); err != nil {
				t.Fatal(err)
			}
		}
		move(pocket, place)
		if made := again.after(t, time.Hour); made != 1 || again.told().Folders[0].Gone {
			t.Errorf("with the stick back %d backups were made, and it is told %+v", made, again.told().Folders[0])
		}
	}
}

// Real backups of a real book, night after night by the test's clock: what need not stay goes,
// and each that stays is restored.
func TestNightsOfBackupsAreEachGood(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	folder := t.TempDir()
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	n := nightsOf(t, dir, folder)
	n.settings.keepSettings = keepSettings{Days: 2}
	n.make = func(ctx context.Context, folder string) error {
		books, err := databaseSettings{Data: dir}.openBeside(ctx, &terminal{Out: os.Stderr, Err: os.Stderr}, quiet)
		if err != nil {
			return err
		}
		good, err := books.makeGood(ctx, folder, "", n.clock, quiet)
		if err != nil {
			return err
		}
		n.made++
		if len(good.seasons) != 1 {
			t.Errorf("the book has one season, and the backup tells of %v", good.seasons)
		}
		return n.settings.tidy(folder, n.clock, good.seasons)
	}
	want := map[string]string{}
	for night := range 3 {
		if status, err := h.client.record(t.Context(), h.count(uuid.New(), 30+night)); status != http.StatusCreated {
			t.Fatal(err)
		}
		if made := n.after(t, 24*time.Hour); made != 1 {
			t.Fatalf("night %d: %d backups, %+v", night, made, n.told())
		}
		want["pullbook-"+n.clock.UTC().Format(backupStamp)+goodEnd] = digestOf(t, dir)
	}
	p.stop(t)
	names := namesIn(t, folder)
	if len(names) != 2 {
		t.Fatalf("of three nights two stay, and there are %v", names)
	}
	for _, name := range names {
		fresh := filepath.Join(filepath.Dir(dir), name)
		if said := must(t, "restore", filepath.Join(folder, name), "--data", fresh); want[name] == "" || !strings.Contains(said, want[name]) {
			t.Errorf("%s was restored: %s, want the digest %s", name, said, want[name])
		}
	}
}

// A book that somebody altered gives no good backup. What there is of it is kept, and said.
func TestABackupOfABrokenBookIsCalledDoubtful(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	folder := t.TempDir()
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	if status, err := h.client.record(t.Context(), h.count(uuid.New(), 8)); status != http.StatusCreated {
		t.Fatal(err)
	}
	must(t, "backup", "--to", folder, "--data", dir)
	good := oneGood(t, folder)
	running, err := local.Attach(local.Options{DataDir: dir})
	if err != nil {
		t.Fatal(err)
	}
	execute(t, running.URLFor(local.Superuser, bookDatabase), "SET session_replication_role = replica",
		`UPDATE entry SET content = replace(content::text, '8', '9')::json WHERE kind = 'hive_count'`)
	for range 2 {
		time.Sleep(1100 * time.Millisecond) // the names go by seconds
		refused(t, exitFailed, []string{"the backup is not good", "BROKEN", "was altered", doubtfulEnd}, "backup", "--to", folder, "--data", dir)
	}
	names := namesIn(t, folder)
	if len(names) != 2 || !slices.Contains(names, filepath.Base(good)) || !strings.HasSuffix(names[1], doubtfulEnd) {
		t.Errorf("the folder has %v, want the good one and one that is doubtful", names)
	}
	p.stop(t)
}

func TestAKilledGoodBackupLeavesNothingThatLooksGood(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	folder := t.TempDir()
	for _, program := range []string{"pg_dump", "pg_restore"} {
		h := haltingAt(t, program)
		p := launch(t, "backup", "--to", folder, "--data", dir, "--pg-bindir", h.dir)
		h.await(t, p)
		kill(t, p.cmd.Process.Pid)
		p.ended(t)
		requireFolder(t, folder, "", "")
	}
	must(t, "backup", "--to", folder, "--data", dir)
	oneGood(t, folder)
}

func TestAFolderThatIsNotThereOrIsFullGetsNoBackup(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	refused(t, exitFailed, []string{"the folder of the backups is not there", "put the stick in"}, "backup", "--to", filepath.Join(t.TempDir(), "stick"), "--data", dir)
	refused(t, exitFailed, []string{"name either the file to write, or with --to the folder"}, "backup", "--data", dir)
	full := filepath.Dir(smallDisk(t, "1m"))
	fill(t, filepath.Join(full, "photographs"))
	refused(t, exitNoRoom, []string{"the disk is full", "nothing of it is left", "write to another disk"}, "backup", "--to", full, "--data", dir)
	if names := namesIn(t, full); len(names) != 1 {
		t.Errorf("the full disk has %v", names)
	}
}

// What is kept is found again by another way: a backup stays if it is the newest of all, or the
// last of its day, week or season, and that day, week or season is among the last so many.
func TestOfEachDayWeekAndSeasonTheLastBackupStays(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		zone := time.FixedZone("", rapid.IntRange(-12, 12).Draw(t, "zone")*3600)
		moment := rapid.Custom(func(t *rapid.T) time.Time {
			return time.Unix(1_700_000_000+rapid.Int64Range(0, 100_000_000).Draw(t, "second"), 0).In(zone)
		})
		made := rapid.SliceOfNDistinct(moment, 0, 40, time.Time.Unix).Draw(t, "made")
		slices.SortFunc(made, func(a, b time.Time) int { return b.Compare(a) })
		seasons := rapid.SliceOfN(moment, 0, 4).Draw(t, "seasons")
		slices.SortFunc(seasons, time.Time.Compare)
		few := rapid.IntRange(0, 5)
		k := keepSettings{few.Draw(t, "days"), few.Draw(t, "weeks"), few.Draw(t, "seasons kept")}
		kept := k.keeps(made, seasons)

		stays := func(i, most int, period func(time.Time) string) bool {
			later := map[string]bool{}
			for _, t := range made[:i] {
				later[period(t)] = true
			}
			return !later[period(made[i])] && len(later) < most
		}
		for i, at := range made {
			want := i == 0 ||
				stays(i, k.Days, func(t time.Time) string { return t.Format(time.DateOnly) }) ||
				stays(i, k.Weeks, func(t time.Time) string { return t.AddDate(0, 0, -(int(t.Weekday())+6)%7).Format(time.DateOnly) }) ||
				stays(i, k.Seasons, func(t time.Time) string {
					season := "before any"
					for _, s := range seasons {
						if !s.After(t) {
							season = s.String()
						}
					}
					return season
				})
			if kept[i] != want {
				t.Fatalf("the backup of %s stays: %v, want %v", at, kept[i], want)
			}
		}
	})
}

// Files of others, and of a clock that ran ahead, are never removed; of the backups from before
// new schemas the last of each stays.
func TestOnlyBackupsThatNeedNotStayAreRemoved(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	stay := []string{
		"pullbook-20261125T023000Z.backup", "pullbook-20261124T023000Z.backup", "pullbook-20990101T000000Z.backup", "honey.backup", "pullbook-20261301T023000Z.backup",
		"pullbook-20261101T090000Z-before-schema-11.backup", "pullbook-20261102T090000Z-before-schema-12.backup", "pullbook.txt",
	}
	for _, name := range append(stay, "pullbook-20261124T010000Z.backup", "pullbook-20261123T023000Z.backup", "pullbook-20261001T090000Z-before-schema-11.backup", "pullbook-20261124T023000Z.doubtful") {
		if err := os.WriteFile(filepath.Join(folder, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if last, err := lastGood(folder, now); err != nil || !last.Equal(time.Date(2026, 11, 25, 2, 30, 0, 0, time.UTC)) {
		t.Errorf("the last good one is of %v, %v", last, err)
	}
	if err := (keepSettings{Days: 2}).tidy(folder, now, nil); err != nil {
		t.Fatal(err)
	}
	slices.Sort(stay)
	if names := namesIn(t, folder); !slices.Equal(names, stay) {
		t.Errorf("there are\n%v, want\n%v", names, stay)
	}
}

// Before a new schema a backup is made, with what the new schema makes of it; a service whose
// backup fails leaves the book as it is.
func TestANewSchemaComesAfterAGoodBackup(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	before, digest := outfitOf(t, h.client), digestOf(t, dir)
	p.stop(t)
	must(t, "migrate", "--down-to", "10", "--lose-books", "--data", dir)
	broken := haltingAt(t, "pg_restore").dir
	if err := os.WriteFile(filepath.Join(broken, "pg_restore"), []byte("#!/bin/sh\nexit 1\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	refused(t, exitFailed, []string{"nothing of the books was changed", "--without-backup"}, "serve", "--data", dir, "--addr", "127.0.0.1:0", "--pg-bindir", broken)
	backups := filepath.Join(dir, "backups")
	if names := namesIn(t, backups); len(names) != 1 || !strings.HasSuffix(names[0], doubtfulEnd) {
		t.Errorf("the folder has %v, want the one that could not be restored", names)
	}
	plain := filepath.Join(filepath.Dir(dir), "copy")
	if err := dbtest.Copy(dir, plain); err != nil {
		t.Fatal(err)
	}
	if said := must(t, "migrate", "--without-backup", "--data", plain); said != "The database has schema version "+newest(t)+"; before it was 10.\n" {
		t.Errorf("without a backup it says %q", said)
	}
	if names := namesIn(t, filepath.Join(plain, "backups")); len(names) != 1 {
		t.Errorf("without a backup there are %v", names)
	}
	stick := t.TempDir()
	p = start(t, "serve", dir, "--backup-to", filepath.Join(stick, "away")+","+stick)
	if after := outfitOf(t, reach(t, p.base, token)); after != before {
		t.Errorf("with the new schema the outfit is %+v, was %+v", after, before)
	}
	p.stop(t)
	names := namesIn(t, stick)
	at := slices.IndexFunc(names, func(name string) bool { return strings.Contains(name, "-before-schema-"+newest(t)+".backup") })
	if at < 0 {
		t.Fatalf("the folder has %v, want one from before the new schema", names)
	}
	fresh := folder(t)
	if said := must(t, "restore", filepath.Join(stick, names[at]), "--data", fresh); !strings.Contains(said, digest) {
		t.Errorf("restored it says %s, want %s", said, digest)
	}
}
