package season

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

// Odd is one flag as the evening list shows it.
type Odd struct {
	ledger.Flag
	// OccurredAt and RecordedAt are of the entry that the flag is about.
	OccurredAt, RecordedAt time.Time
	RecordedBy             string
	Sentence               say.Text
	// Why says what may lie behind it, as Likely does.
	Why []say.Text
	// Reason and SettledBy say why and by whom it was settled, where it was.
	Reason, SettledBy string
	SettledAt         time.Time
}

// InFull is the sentence with what may lie behind it.
func (o Odd) InFull() say.Text { return say.Join(append([]say.Text{o.Sentence}, o.Why...)...) }

// EveningList is what is odd in the book, most honey first.
type EveningList struct {
	Open, Settled []Odd
	// OpenG is the honey in question on the open list.
	OpenG int64
}

// Evening collects what is odd. Of things that concern as much honey, the
// latest comes first.
func Evening(b *ledger.Book) EveningList {
	flags := b.State().Findings()
	slices.Reverse(flags)
	slices.SortStableFunc(flags, func(a, c ledger.Flag) int { return cmp.Compare(c.MassG, a.MassG) })
	var out EveningList
	for _, f := range flags {
		o := Odd{Flag: f, Sentence: Sentence(b, f), Why: Explanations(b, f)}
		if e := b.Standing(f.Entry); e != nil {
			o.OccurredAt, o.RecordedAt, o.RecordedBy = e.OccurredAt, e.RecordedAt, e.RecordedBy
		}
		if f.Accepted == nil {
			out.Open = append(out.Open, o)
			out.OpenG += f.MassG
			continue
		}
		o.Reason, o.SettledBy, o.SettledAt = f.Accepted.Reason, f.Accepted.RecordedBy, f.Accepted.RecordedAt
		out.Settled = append(out.Settled, o)
	}
	return out
}
