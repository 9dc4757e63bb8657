package season

import (
	"fmt"
	"strings"

	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

// Reply is what the book answers to an entry: what it changed and what looks
// odd about it, in figures and in words.
type Reply struct {
	ledger.Effect
	// Sentence says what changed: "large tank 1 868 -> 2 173 kg, 48 % full".
	Sentence string
	// Odd says in words what each of Flags means, and Why what may lie behind it.
	Odd []string
	Why [][]string
}

// ReplyTo puts an entry's effect into words. b is the book right after it.
func ReplyTo(b *ledger.Book, effect ledger.Effect) Reply {
	r := Reply{Effect: effect, Odd: make([]string, len(effect.Flags)), Why: make([][]string, len(effect.Flags))}
	for i, f := range effect.Flags {
		r.Odd[i], r.Why[i] = Sentence(b, f), Explanations(b, f)
	}
	var changed []string
	for _, l := range effect.Levels {
		if l.BeforeG == l.AfterG {
			continue
		}
		text := fmt.Sprintf("%s %s -> %s kg", l.Name, amount(kg(l.BeforeG)), amount(kg(l.AfterG)))
		if l.CapacityG > 0 {
			text += fmt.Sprintf(", %.0f %% full", 100*float64(l.AfterG)/float64(l.CapacityG))
		}
		if l.Expected != nil && l.Place.Kind == ledger.PlaceTank {
			text += fmt.Sprintf(", expected moisture %.1f %%", l.Expected.Moisture.Mean)
		}
		changed = append(changed, text)
	}
	if says, ok := effect.Entry.Body.(interface{ Sentence() say.Text }); ok {
		changed = append(changed, says.Sentence().String())
	}
	r.Sentence = strings.Join(changed, "; ")
	return r
}

// ReplyAsRecorded is the reply that entry n had when it was recorded: the book
// of that moment is made again and the entry appended to it.
func ReplyAsRecorded(b *ledger.Book, n int64) (Reply, error) {
	then, err := b.AsKnown(n - 1)
	if err != nil {
		return Reply{}, err
	}
	effect, err := then.Append(b.Numbered(n))
	if err != nil {
		return Reply{}, err
	}
	return ReplyTo(then, effect), nil
}
