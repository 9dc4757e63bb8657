package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"time"
)

// A folder of backups has nothing about them but the files themselves. A file has the name of
// a good backup only once it was restored into a scratch database and audited there:
//
//	pullbook-20261125T083000Z.backup                     a good one, of that moment (UTC)
//	pullbook-20261125T083000Z-before-schema-12.backup    a good one from before a new schema
//	pullbook-20261125T083000Z.doubtful                   one that did not come back whole
//	pullbook.backup.unfinished-1234                      one that is being written
const (
	backupStamp  = "20060102T150405Z"
	goodEnd      = ".backup"
	doubtfulEnd  = ".doubtful"
	beforeSchema = "-before-schema-"
)

var backupName = regexp.MustCompile(`^pullbook-(\d{8}T\d{6}Z)(` + beforeSchema + `\d+)?(\` + goodEnd + `|\` + doubtfulEnd + `)$`)

// backupIn is a backup in a folder.
type backupIn struct {
	name string
	made time.Time
	// before is the end of the name that tells which schema came after it; "" for one that
	// is not from before a new schema.
	before   string
	doubtful bool
}

// backupsIn lists the backups in a folder, the newest first.
func backupsIn(folder string) (all []backupIn, err error) {
	there, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	for _, entry := range there {
		part := backupName.FindStringSubmatch(entry.Name())
		if part == nil || !entry.Type().IsRegular() {
			continue
		}
		made, err := time.Parse(backupStamp, part[1])
		if err != nil {
			continue // no day of the calendar: somebody else's file
		}
		all = append(all, backupIn{entry.Name(), made, part[2], part[3] == doubtfulEnd})
	}
	slices.SortFunc(all, func(a, b backupIn) int { return cmp.Or(b.made.Compare(a.made), cmp.Compare(a.name, b.name)) })
	return all, nil
}

// lastGood is when the newest good backup in a folder was made, zero where there is none. One
// that a wrong clock dated later than now counts for nothing.
func lastGood(folder string, now time.Time) (last time.Time, err error) {
	all, err := backupsIn(folder)
	for _, b := range all {
		if !b.doubtful && !b.made.After(now) {
			return b.made, err
		}
	}
	return last, err
}

// keepSettings say how many backups stay in a folder.
type keepSettings struct {
	Days    int `name:"keep-days" env:"PULLBOOK_KEEP_DAYS" default:"7" help:"Of so many days that have a backup the last one stays."`
	Weeks   int `name:"keep-weeks" env:"PULLBOOK_KEEP_WEEKS" default:"8" help:"Of so many weeks that have a backup the last one stays."`
	Seasons int `name:"keep-seasons" env:"PULLBOOK_KEEP_SEASONS" default:"10" help:"Of so many seasons of the books that have a backup the last one stays."`
}

func (k keepSettings) check() error {
	for _, s := range []struct {
		flag  string
		value int
	}{{"days", k.Days}, {"weeks", k.Weeks}, {"seasons", k.Seasons}} {
		if s.value < 0 {
			return fmt.Errorf("--keep-%s is %d; 0 is the least, which keeps none of that sort", s.flag, s.value)
		}
	}
	return nil
}

// keeps says which of the backups made at those moments stay, the newest first. The newest
// stays always. Seasons are when the seasons of the books began, the earliest first.
func (k keepSettings) keeps(made, seasons []time.Time) []bool {
	kept := make([]bool, len(made))
	if len(made) > 0 {
		kept[0] = true
	}
	last := func(most int, period func(time.Time) int) {
		had := map[int]bool{}
		for i, t := range made {
			if p := period(t); !had[p] && len(had) < most {
				had[p], kept[i] = true, true
			}
		}
	}
	last(k.Days, func(t time.Time) int { return t.Year()*1000 + t.YearDay() })
	last(k.Weeks, func(t time.Time) int { year, week := t.ISOWeek(); return year*100 + week })
	last(k.Seasons, func(t time.Time) int {
		begun, _ := slices.BinarySearchFunc(seasons, t, func(s, t time.Time) int {
			if s.After(t) {
				return 1
			}
			return -1
		})
		return begun
	})
	return kept
}

// tidy removes the backups that need not stay, after a good one was made. Backups from before
// a new schema stay, of each schema the last.
func (k keepSettings) tidy(folder string, now time.Time, seasons []time.Time) error {
	all, err := backupsIn(folder)
	if err != nil {
		return err
	}
	var names []string
	var made []time.Time
	var gone []string
	had := map[string]bool{}
	for _, b := range all {
		switch {
		case b.made.After(now): // a wrong clock's: it is looked at when its time has come
		case b.doubtful || b.before != "" && had[b.before]:
			gone = append(gone, b.name)
		case b.before != "":
			had[b.before] = true
		default:
			names, made = append(names, b.name), append(made, b.made.In(now.Location()))
		}
	}
	for i, kept := range k.keeps(made, seasons) {
		if !kept {
			gone = append(gone, names[i])
		}
	}
	for _, name := range gone {
		if err := os.Remove(filepath.Join(folder, name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}
