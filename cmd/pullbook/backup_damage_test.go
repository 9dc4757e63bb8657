package main

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

// aBackup is a backup of an outfit's book, as the program writes it. The tests share
// it, and change copies.
func aBackup(t *testing.T) []byte {
	t.Helper()
	backedUp.once.Do(func() {
		dir, _ := foundedFolder(t)
		file := filepath.Join(filepath.Dir(dir), "honey.backup")
		must(t, "backup", file, "--data", dir)
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		backedUp.text = text
	})
	if len(backedUp.text) == 0 {
		t.Fatal("there is no backup to damage")
	}
	return backedUp.text
}

var backedUp struct {
	once sync.Once
	text []byte
}

func flipped(text []byte, at int, bits byte) []byte {
	text = slices.Clone(text)
	text[at] ^= bits
	return text
}

// damages are ways in which a file goes wrong on its way.
var damages = map[string]func(text []byte, dice *rand.Rand) []byte{
	"a flipped byte": func(text []byte, dice *rand.Rand) []byte {
		return flipped(text, dice.IntN(len(text)), byte(1+dice.IntN(255)))
	},
	"a flipped bit of the first line": func(text []byte, dice *rand.Rand) []byte {
		return flipped(text, dice.IntN(len(backupHead)), 1<<dice.IntN(8))
	},
	"a flipped bit of the last line": func(text []byte, dice *rand.Rand) []byte {
		return flipped(text, len(text)-1-dice.IntN(int(tailLength)), 1<<dice.IntN(8))
	},
	"an end cut off":      func(text []byte, dice *rand.Rand) []byte { return text[:dice.IntN(len(text))] },
	"a beginning cut off": func(text []byte, dice *rand.Rand) []byte { return text[1+dice.IntN(len(text)-1):] },
	"a beginning and more": func(text []byte, dice *rand.Rand) []byte {
		return append(text[:len(text):len(text)], text[:dice.IntN(len(text))]...)
	},
	"a line added":        func(text []byte, dice *rand.Rand) []byte { return append(text[:len(text):len(text)], '\n') },
	"the same twice":      func(text []byte, dice *rand.Rand) []byte { return append(text[:len(text):len(text)], text...) },
	"something before it": func(text []byte, dice *rand.Rand) []byte { return append([]byte{byte(dice.IntN(256))}, text...) },
	"a piece gone": func(text []byte, dice *rand.Rand) []byte {
		from := dice.IntN(len(text))
		return slices.Delete(slices.Clone(text), from, min(len(text), from+1+dice.IntN(4096)))
	},
	"a piece of zeros": func(text []byte, dice *rand.Rand) []byte {
		text, from := slices.Clone(text), dice.IntN(len(text)-512)
		clear(text[from : from+512])
		return text
	},
	"the first line alone": func(text []byte, dice *rand.Rand) []byte { return text[:len(backupHead)] },
	"the last line alone":  func(text []byte, dice *rand.Rand) []byte { return text[len(text)-int(tailLength):] },
	"the two lines alone": func(text []byte, dice *rand.Rand) []byte {
		return append([]byte(backupHead), text[len(text)-int(tailLength):]...)
	},
	"nothing": func([]byte, *rand.Rand) []byte { return nil },
	"a newer version": func(text []byte, dice *rand.Rand) []byte {
		return bytes.Replace(text, []byte(backupHead), []byte("pullbook backup 2\n"), 1)
	},
}

// A damaged backup is refused before anything else is looked at: openBackup knows
// no database.
func TestADamagedBackupIsRefused(t *testing.T) {
	t.Parallel()
	whole := aBackup(t)
	file := filepath.Join(t.TempDir(), "damaged.backup")
	dice := rand.New(rand.NewPCG(7, 11))
	for what, damage := range damages {
		for range 40 {
			text := damage(whole, dice)
			if bytes.Equal(text, whole) {
				continue
			}
			if err := os.WriteFile(file, text, 0o600); err != nil {
				t.Fatal(err)
			}
			_, err := openBackup(file, nil)
			if err == nil {
				// Only the bare dump, without both its lines, may pass for an old backup.
				t.Fatalf("%s: a file of %d bytes, made of one of %d, was taken for a whole one", what, len(text), len(whole))
			}
			if !strings.Contains(err.Error(), file) || !strings.Contains(err.Error(), "Nothing was changed") {
				t.Fatalf("%s: %v", what, err)
			}
		}
	}
}

func TestADamagedBackupTouchesNoDatabase(t *testing.T) {
	t.Parallel()
	whole := aBackup(t)
	dir := folder(t)
	file := filepath.Join(filepath.Dir(dir), "damaged.backup")
	for _, tt := range []struct {
		text  []byte
		words string
	}{
		{flipped(whole, len(whole)/2, 4), "at least one of its"},
		{whole[:len(whole)/2], "is cut short"},
		{append(whole[:len(whole):len(whole)], whole...), "too many"},
		{nil, "is empty"},
	} {
		if err := os.WriteFile(file, tt.text, 0o600); err != nil {
			t.Fatal(err)
		}
		refused(t, exitFailed, []string{"damaged.backup", tt.words, "Nothing was changed"}, "restore", file, "--data", dir)
		if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) {
			t.Fatalf("%s: the data folder was made: %v", tt.words, err)
		}
	}
}

func TestABackupGoesThroughPipes(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	fresh := blank(t)
	text := must(t, "backup", "-", "--data", dir)
	got := pullbookWith(t, strings.NewReader(text), "restore", "-", "--data", fresh)
	if got.status != exitDone || !strings.Contains(got.out, "Fern Gully Honey: whole") || strings.Contains(got.err, "checksum") {
		t.Errorf("restored from a pipe: %+v", got)
	}
	got = pullbookWith(t, strings.NewReader(text[:len(text)-1]), "restore", "-", "--data", fresh)
	if got.status != exitFailed || !strings.Contains(got.err, "standard input is cut short") {
		t.Errorf("a pipe that broke off: %+v", got)
	}
}

// TestABackupFromBeforeThereWereChecksumsIsRestored takes the two lines off.
func TestABackupFromBeforeThereWereChecksumsIsRestored(t *testing.T) {
	t.Parallel()
	whole := aBackup(t)
	dir := blank(t)
	file := filepath.Join(filepath.Dir(dir), "old.backup")
	old := whole[len(backupHead) : len(whole)-int(tailLength)]
	if err := os.WriteFile(file, old, 0o600); err != nil {
		t.Fatal(err)
	}
	got := pullbook(t, "restore", file, "--data", dir)
	if got.status != exitDone || !strings.Contains(got.out, "Fern Gully Honey: whole") || !strings.Contains(got.err, "carry no checksum") {
		t.Errorf("restored: %+v", got)
	}
	// Of a damaged one nothing stays either.
	fresh := blank(t)
	if err := os.WriteFile(file, old[:len(old)*2/3], 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, exitFailed, nil, "restore", file, "--data", fresh)
	if list := must(t, "outfit", "list", "--data", fresh); strings.Contains(list, "Fern Gully") {
		t.Errorf("half a backup left %s", list)
	}
}

func TestAFileThatCannotBeFinishedLeavesNothing(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	name := filepath.Join(dir, "honey.backup")
	for _, had := range []string{"", "last week's"} {
		if had != "" {
			if err := os.WriteFile(name, []byte(had), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		broken := errors.New("the line went dead")
		err := writeWhole(name, func(out io.Writer) error {
			_, err := io.WriteString(out, "half of it")
			return errors.Join(err, broken)
		})
		if !errors.Is(err, broken) {
			t.Errorf("got %v", err)
		}
		requireFolder(t, dir, name, had)
	}
	if err := writeWhole(name, func(out io.Writer) error { _, err := io.WriteString(out, "today's"); return err }); err != nil {
		t.Fatal(err)
	}
	requireFolder(t, dir, name, "today's")
}

// requireFolder wants one file with a text in a folder; none where it is "".
func requireFolder(t *testing.T, dir, name, text string) {
	t.Helper()
	there, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if text == "" {
		if len(there) > 0 {
			t.Errorf("the folder has %v", there)
		}
		return
	}
	got, err := os.ReadFile(name)
	if err != nil || string(got) != text || len(there) != 1 {
		t.Errorf("the folder has %v, and the file %q, %v; want %q alone", there, got, err, text)
	}
}

// Where files need a name from the start, what a killed program left is removed
// by the next that writes a file of that name, and by nobody else.
func TestWhatAKilledProgramLeftIsRemovedNextTime(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	name := filepath.Join(dir, "honey.backup")
	left := name + unfinishedMark + "123"
	if err := os.WriteFile(left, []byte("half of it"), 0o600); err != nil {
		t.Fatal(err)
	}
	beside, err := namedFile(name)
	if err != nil {
		t.Fatal(err)
	}
	defer beside.Close()
	if err := writeWhole(name, func(out io.Writer) error { _, err := io.WriteString(out, "today's"); return err }); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(left); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("what was left is still there: %v", err)
	}
	if _, err := beside.WriteString("another backup"); err != nil {
		t.Fatal(err)
	}
	if err := beside.keep(name); err != nil {
		t.Errorf("the one that is being written was taken away: %v", err)
	}
	requireFolder(t, dir, name, "another backup")
}
