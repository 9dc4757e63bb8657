package pages

import (
	"time"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/message"
)

// backupsView is what the first page says of the backups that are made by themselves. Folders
// are named to managers alone.
type backupsView struct {
	// Wrong is what somebody has to see to; Last and Notes are told without haste.
	Wrong []string
	Last  string
	Notes []string
}

func (p *pages) backupsSign() string {
	b, _ := p.BackupsMade()
	return b.Sign(p.Now())
}

func (p *pages) backupsView(who db.Principal, now time.Time) func(locale.Voice) backupsView {
	b, made := p.BackupsMade()
	manages := who.Role == db.Manager
	return func(f locale.Voice) (v backupsView) {
		if !made {
			return v
		}
		switch last := b.Last(); {
		case len(b.Folders) == 0 && manages:
			v.Notes = append(v.Notes, f.Say("No backup is made by itself. Name a folder for backups, and pullbook makes one every night."))
		case b.Late(now) && last.IsZero():
			v.Wrong = append(v.Wrong, f.Say("There is no good backup of the book. If this machine breaks, the book is lost: see to it that a backup is made."))
		case b.Late(now):
			v.Wrong = append(v.Wrong, f.Say("The last good backup is of %s. If this machine breaks, what came later is lost: see to it that one is made.", message.Minute(last)))
		case !last.IsZero() && manages:
			v.Last = f.Say("The last good backup is of %s.", message.Minute(last))
		}
		if manages {
			for _, folder := range b.Folders {
				v.ofFolder(f, folder)
			}
		}
		return v
	}
}

func (v *backupsView) ofFolder(f locale.Voice, b request.BackupFolder) {
	switch {
	case b.Gone:
		v.Wrong = append(v.Wrong, f.Say("The folder of the backups is not there: %s. Put the stick back in, or name another folder for pullbook.", b.Folder))
	case b.NoRoom:
		v.Wrong = append(v.Wrong, f.Say("The backup of %s failed, because a disk is full: into %s. Make room; the program's log says where.", message.Minute(b.Failed), b.Folder))
	case !b.Failed.IsZero():
		v.Wrong = append(v.Wrong, f.Say("The backup of %s failed: into %s. The program's log says why.", message.Minute(b.Failed), b.Folder))
	case b.SameDisk:
		v.Notes = append(v.Notes, f.Say("The backups lie on the same disk as the book: %s. A stick or another machine outlives that disk.", b.Folder))
	}
}
