package season

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/chance"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Odd is one flag as the evening list shows it.
type Odd struct {
	ledger.Flag
	// OccurredAt and RecordedBy are of the entry that the flag is about.
	OccurredAt time.Time
	RecordedBy string
	Sentence   message.Text
	// Chance says how likely chance alone explains it; empty where nobody worked that out.
	Chance message.Text
	// Why says what may lie behind it, as Likely does.
	Why []message.Text
	// Reason and SettledBy say why and by whom it was settled, where it was.
	Reason, SettledBy string
	SettledAt         time.Time
}

// OddOf puts a flag into words.
func OddOf(b *ledger.Book, f *ledger.Flag) Odd {
	o := Odd{Flag: *f, Sentence: Sentence(b, *f), Chance: chance.InWords(f.Unlikely), Why: Explanations(b, *f)}
	if e := b.InForce(f.Entry); e != nil {
		o.OccurredAt, o.RecordedBy = e.OccurredAt, e.RecordedBy
	}
	if f.Accepted != nil {
		o.Reason, o.SettledBy, o.SettledAt = f.Accepted.Reason, f.Accepted.RecordedBy, f.Accepted.RecordedAt
	}
	return o
}

// InFull is the sentence with what may lie behind it.
func (o Odd) InFull() message.Text {
	return message.Join(append([]message.Text{o.Sentence}, o.Why...)...)
}

// EveningList is what is odd in the book, most honey first. OddOf puts those that
// are shown into words: the list may be very long.
type EveningList struct {
	Open, Settled []*ledger.Flag
	// OpenG is the honey in question on the open list.
	OpenG int64
}

// urgency puts what cannot be read first: nobody knows how much honey it is about.
func urgency(f *ledger.Flag) int {
	if f.Code == ledger.EntryUnreadable {
		return 1
	}
	return 0
}

// Evening collects what is odd. Of things that concern as much honey, the
// latest comes first.
func Evening(b *ledger.Book) EveningList {
	flags := b.State().Findings()
	slices.Reverse(flags)
	slices.SortStableFunc(flags, func(a, c *ledger.Flag) int {
		return cmp.Or(settledLast(a)-settledLast(c), cmp.Compare(urgency(c), urgency(a)), cmp.Compare(c.MassG, a.MassG))
	})
	var out EveningList
	open := 0
	for ; open < len(flags) && flags[open].Accepted == nil; open++ {
		out.OpenG += flags[open].MassG
	}
	out.Open, out.Settled = flags[:open:open], flags[open:]
	return out
}

func settledLast(f *ledger.Flag) int {
	if f.Accepted == nil {
		return 0
	}
	return 1
}

// At gives a place in the list, the settled ones after the open ones.
func (l EveningList) At(i int) *ledger.Flag {
	if i < len(l.Open) {
		return l.Open[i]
	}
	return l.Settled[i-len(l.Open)]
}

// Len counts the list.
func (l EveningList) Len() int { return len(l.Open) + len(l.Settled) }
