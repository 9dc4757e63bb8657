package request

import (
	"fmt"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// Backups is what is known of the backups that are made by themselves.
type Backups struct {
	// Folders are where they go; none where nobody named one.
	Folders []BackupFolder
}

// BackupFolder is a folder for backups.
type BackupFolder struct {
	Folder string
	// Last is when the last good one was made, zero where there is none.
	Last time.Time
	// Gone: the folder is not there, as when a stick was pulled out.
	Gone bool
	// Failed is when the last try failed, zero where it did not; NoRoom says that a disk was full.
	Failed time.Time
	NoRoom bool
	// SameDisk: the book lies on the same disk.
	SameDisk bool
}

// backupTooOld is when whoever looks at the book is warned: two nights were missed. Common practice.
const backupTooOld = 50 * time.Hour

// Last is when the last good backup was made, zero where there is none.
func (b Backups) Last() (last time.Time) {
	for _, f := range b.Folders {
		if f.Last.After(last) {
			last = f.Last
		}
	}
	return last
}

// Late reports whether the last good backup is too long ago. Where there is none yet, the
// first is being made until a try of it has failed.
func (b Backups) Late(now time.Time) bool {
	if last := b.Last(); !last.IsZero() {
		return now.Sub(last) > backupTooOld
	}
	for _, f := range b.Folders {
		if f.Gone || !f.Failed.IsZero() {
			return true
		}
	}
	return false
}

// Sign changes when a page says something else of the backups.
func (b Backups) Sign(now time.Time) string {
	var sign strings.Builder
	fmt.Fprint(&sign, b.Late(now))
	for _, f := range b.Folders {
		fmt.Fprint(&sign, f.Last.Unix(), f.Gone, f.Failed.Unix(), f.NoRoom, f.SameDisk)
	}
	return sign.String()
}

// BackupsMade is what is known of backups; nothing, and not made, where they are somebody else's
// business.
func (s *Service) BackupsMade() (b Backups, made bool) {
	if s.Backups == nil {
		return Backups{}, false
	}
	return s.Backups(), true
}

// measureBackups has the metrics tell when the last good one was made.
func (s *Service) measureBackups() {
	if s.Backups == nil {
		return
	}
	s.Metrics.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{
		Name: "pullbook_last_good_backup_timestamp_seconds", Help: "When the last good backup was made that the program makes by itself; 0 where there is none.",
	}, func() float64 {
		if last := s.Backups().Last(); !last.IsZero() {
			return float64(last.Unix())
		}
		return 0
	}))
}
