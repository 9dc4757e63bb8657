package ledger

import (
	"strings"
	"time"

	"pullbook/domain/message"
)

// begins notes the first entry of something that happened which somebody recorded rather
// than brought in: the book began with it. No later entry changes that, since the service's
// clock says when an entry was recorded.
func (b *Book) begins(f *fact) {
	if b.began == nil && f.Via != ViaImport && !f.Kind.SetUp() && f.Kind != KindWithdrawal && f.Kind != KindAcceptance && !f.unreadable() {
		b.began = f
	}
}

// BeforeTheBook says why what happened at an instant was not before the book began; empty
// where it was. What left before then was judged by nobody here, and the book judges it no
// more: what left in the season that is going on, or since the book is kept, it does.
func (b *Book) BeforeTheBook(at, now time.Time) message.Text {
	if b.began != nil && !at.Before(b.began.RecordedAt) {
		return message.F("your book began on %s (entry %s), and what left since is judged as it leaves", message.Day(b.began.RecordedAt.In(b.loc)), b.began.Number)
	}
	season := b.SeasonOf(now)
	switch {
	case !at.Before(now), season != nil && season.Holds(at, b.loc):
		return message.F("it is of the season that is going on")
	case season == nil && at.In(b.loc).Year() == now.In(b.loc).Year():
		return message.F("it is of this year")
	}
	return message.Text{}
}

// beforeBook checks a dispatch of which it is said that it left before the book began.
// Nobody judges it, so that a note says how that is known. A sheet alone takes nothing out
// of a lot that is held since.
func (c *checker) beforeBook(d *Dispatch, added map[int]*fact, now time.Time) {
	if why := c.book.BeforeTheBook(c.entry.OccurredAt, now); !why.IsEmpty() {
		c.wrong("/before_book", true, "This did not leave before the book began: %s. Leave this out, and what leaves is judged.", why)
	}
	if d.PreparedID != (ID{}) {
		c.wrong("/before_book", true, "What was prepared in the book did not leave before it began: leave this out.")
	}
	if strings.TrimSpace(d.Note) == "" {
		c.wrong("/note", d.Note, "What left before the book began is not judged: say in a few words how it is known that it left. The dispatch shows it.")
	}
	for i := range d.Containers {
		if f := added[i]; f != nil {
			c.mayLeave(pointerTo(i), d.Containers[i], f, c.stayed(f))
		}
	}
}

// stayed says why a container did not leave before the book began: its lot was held when it
// is said to have left, or is held since and a sheet alone says that it left; empty where it
// may have.
func (c *checker) stayed(fill *fact) message.Text {
	lot := c.book.rootID(fill.lot())
	if then := c.decided(lot); then.Status == StatusHeld {
		return c.saidHeld(then)
	}
	if since := c.book.standing(lot, c.ownChain, all); since.Status == StatusHeld && c.entry.Via == ViaImport {
		return message.F("%s, and no sheet takes it out. If it left before that, leave it out of the sheet and record by hand that it left", c.saidHeld(since))
	}
	return message.Text{}
}
