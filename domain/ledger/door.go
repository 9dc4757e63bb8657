package ledger

import (
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// leaves holds the containers that a dispatch adds to what left against the door: their
// lots are released, on the day and by all that the book knows now, and they meet what
// they are held to. What the entry corrects had left already.
func (c *checker) leaves(d *Dispatch, added map[int]*fact) {
	if d.Override && strings.TrimSpace(d.Note) == "" {
		c.wrong("/note", d.Note, "Sending what does not pass needs its reason, in a few words: the sheet shows it.")
	}
	for i := range d.Containers {
		if f := added[i]; f != nil {
			c.mayLeave(pointerTo(i), d.Containers[i], f, c.stays(f, d.Override))
		}
	}
	if d.Override {
		return
	}
	for i := range d.Judged {
		if x := &d.Judged[i]; !x.Passes() {
			c.clash("/containers", nil, "Lot %s does not meet %s on %s: %s. Nothing of this dispatch was stored. Leave out what does not pass, or send it on a manager's word (override, with the reason in note).",
				c.book.Name(x.LotID), x.SaidName(), string(c.day()), x.WhyNot())
			if old := x.tooOld(); old != nil {
				last := &c.conflict[len(c.conflict)-1]
				last.Message = message.Join(last.Message, message.F("What was measured of %s is too old to say how it is now: have the lot measured again.", old))
			}
		}
	}
}

// mayLeave refuses a container for a reason why its lot may not leave; empty lets it go.
func (c *checker) mayLeave(pointer string, sent ID, fill *fact, why message.Text) {
	if !why.IsEmpty() {
		c.clash(pointer, sent, "Container %s belongs to lot %s, which may not leave: %s. Nothing of this dispatch was stored.", c.book.Name(fill.ID), c.book.Name(fill.lot()), why)
	}
}

// stays says why a container's lot may not leave: it was not released when it left, or is
// not by what the book learned since; empty where it may. A manager's word lets go what had
// left before the book learned it.
func (c *checker) stays(fill *fact, override bool) message.Text {
	lot := c.book.rootID(fill.lot())
	at := c.entry.OccurredAt.UnixMicro()
	arrived := func(f *fact) bool { return f.at <= at }
	then, now := c.decided(lot), c.book.standing(lot, c.ownChain, arrived)
	switch {
	case then.Status == StatusHeld:
		return c.saidHeld(then)
	case then.Status != StatusReleased && then.Opened != nil:
		return message.F("entry %s came after its release", then.Opened.Number)
	case then.Status != StatusReleased:
		return message.F("it has not been released")
	case override:
		return message.Text{}
	case now.Status == StatusHeld:
		return c.saidHeld(now)
	case now.Status != StatusReleased && now.Opened != nil:
		return message.F("entry %s came after its release", now.Opened.Number)
	}
	if late := c.book.unreleased(lot, arrived, arrived); late != 0 {
		return message.F("entry %s came after its release", late)
	}
	return message.Text{}
}

// saidHeld says why a held lot may not leave.
func (c *checker) saidHeld(d Decided) message.Text {
	if d.Of != (ID{}) {
		return message.F("honey of lot %s is in it, which is held (%s, entry %s)", c.book.Name(d.Of), d.Why.Text(), d.By.Number)
	}
	return message.F("it is held (%s, entry %s)", d.Why.Text(), d.By.Number)
}

// Passes reports whether the containers meet the rule set, or nothing of it applies to them.
func (l *Leaving) Passes() bool {
	return l.Outcome == standard.Meets.String() || l.Outcome == standard.DoesNotApply.String()
}

// WhyNot names the lines that are not met, with the containers that are outside.
func (l *Leaving) WhyNot() message.Text {
	var parts []message.Text
	for _, line := range l.NotMet {
		parts = append(parts, line.Said())
	}
	if parts == nil {
		return standard.SayOutcome(l.Outcome)
	}
	return message.F("%s", message.Series{Between: ", ", Items: parts})
}

// tooOld names what was measured, but so long ago that it may have passed its limit since.
func (l *Leaving) tooOld() (out message.List) {
	for _, line := range l.NotMet {
		if line.MeasureAgain {
			out = append(out, standard.SayLabelled(line.Parameter, line.Label))
		}
	}
	return out
}

// Said is what a line came to, with the containers that are outside.
func (l *LeavingLine) Said() message.Text {
	said := message.F("%s %s", standard.SayLabelled(l.Parameter, l.Label), standard.SayOutcome(l.Outcome))
	if len(l.Containers) > 0 {
		return message.F("%s (%s)", said, strings.Join(l.Containers, ", "))
	}
	return said
}

// SaidName is the rule set's title in a sentence.
func (l *Leaving) SaidName() message.Text {
	return (&RuleSetResult{Name: l.Name, Version: l.Version}).SaidName()
}

// Leaves lists the containers that a dispatch adds to what left: all of a new one, and of a
// correction those that the entry it replaces did not send to the same buyer and market.
// What left before the book began did not leave since.
func (b *Book) Leaves(e *Entry) []ID {
	d := e.Body.(*Dispatch)
	before := map[ID]bool{}
	if old, _ := b.Entry(e.Replaces); old != nil {
		if was, ok := old.Body.(*Dispatch); ok && b.rootID(was.BuyerID) == b.rootID(d.BuyerID) && was.Market == d.Market && (d.BeforeBook || !was.BeforeBook) {
			for _, id := range was.Containers {
				before[b.rootID(id)] = true
			}
		}
	}
	var out []ID
	for _, id := range d.Containers {
		if !before[b.rootID(id)] {
			out = append(out, id)
		}
	}
	return out
}
