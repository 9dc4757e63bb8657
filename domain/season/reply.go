package season

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Reply is what the book answers to an entry: what it changed and what looks
// odd about it, in figures and in words.
type Reply struct {
	ledger.Effect
	// Sentence says what changed: "large tank 1 868 kg -> 2 173 kg, 48 % full".
	Sentence message.Text
	// Odd says in words what each of Flags means, and Why what may lie behind it.
	Odd []message.Text
	Why [][]message.Text
}

// ReplyTo puts an entry's effect into words. b is the book right after it.
func ReplyTo(b *ledger.Book, effect ledger.Effect) Reply {
	r := Reply{Effect: effect, Odd: make([]message.Text, len(effect.Flags)), Why: make([][]message.Text, len(effect.Flags))}
	for i, f := range effect.Flags {
		r.Odd[i], r.Why[i] = Sentence(b, f), Explanations(b, f)
	}
	var changed []message.Text
	for _, l := range effect.Levels {
		if l.BeforeG != l.AfterG {
			changed = append(changed, levelChange(l))
		}
	}
	if says, ok := effect.Entry.Body.(interface{ Sentence() message.Text }); ok && !says.Sentence().IsEmpty() {
		changed = append(changed, says.Sentence())
	}
	if len(changed) > 0 {
		r.Sentence = message.F("%s", message.Series{Between: "; ", Items: changed})
	}
	return r
}

func levelChange(l ledger.Level) message.Text {
	text := message.F("%s %s -> %s", l.Name, message.Kg(kg(l.BeforeG)), message.Kg(kg(l.AfterG)))
	if l.CapacityG > 0 {
		text = message.F("%s, %s %% full", text, message.Number{V: 100 * float64(l.AfterG) / float64(l.CapacityG)})
	}
	if l.Expected != nil && l.Place.Kind == ledger.PlaceTank {
		text = message.F("%s, expected moisture %s %%", text, tenth(l.Expected.Moisture.Mean))
	}
	return text
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
