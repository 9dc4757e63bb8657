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
	// Opened, Closed and Outdated are the first of those of Effect, and More says how many
	// more there are of each.
	Opened, Closed                       []OddElsewhere
	Outdated                             []OutdatedLot
	MoreOpened, MoreClosed, MoreOutdated int
}

// OddElsewhere is a finding that an entry opened or closed, with what it says.
type OddElsewhere struct {
	Flag ledger.Flag
	Says message.Text
}

// OutdatedLot is a check that an entry made outdated, with its lot and that lot's code.
type OutdatedLot struct {
	ledger.OutdatedCheck
	Lot  ledger.ID
	Code string
}

// mostElsewhere bounds each list of what an entry changed elsewhere: one may change
// thousands.
const mostElsewhere = 50

// RepliesTo puts the effects of entries that were taken in together into words. b is the
// book right after them.
func RepliesTo(b *ledger.Book, effects []ledger.Effect) []Reply {
	out := make([]Reply, len(effects))
	var all Reply
	all.elsewhere(b, effects[0].Elsewhere)
	for i, effect := range effects {
		effect.Elsewhere = ledger.Elsewhere{}
		r := all
		r.reply(b, effect)
		out[i] = r
	}
	return out
}

// ReplyTo puts an entry's effect into words. b is the book right after it.
func ReplyTo(b *ledger.Book, effect ledger.Effect) Reply {
	return RepliesTo(b, []ledger.Effect{effect})[0]
}

// reply puts into words what an entry changed of what it is about.
func (r *Reply) reply(b *ledger.Book, effect ledger.Effect) {
	r.Effect, r.Odd, r.Why = effect, make([]message.Text, len(effect.Flags)), make([][]message.Text, len(effect.Flags))
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
}

// elsewhere puts into words what entries changed elsewhere, and lets go of the rest.
func (r *Reply) elsewhere(b *ledger.Book, e ledger.Elsewhere) {
	said := func(flags []*ledger.Flag) (out []OddElsewhere, more int) {
		for _, f := range flags[:min(len(flags), mostElsewhere)] {
			out = append(out, OddElsewhere{*f, Sentence(b, *f)})
		}
		return out, len(flags) - len(out)
	}
	r.Opened, r.MoreOpened = said(e.Opened)
	r.Closed, r.MoreClosed = said(e.Closed)
	for _, x := range e.Outdated[:min(len(e.Outdated), mostElsewhere)] {
		lot := b.Root(x.Check.Body.(*ledger.Check).LotID)
		r.Outdated = append(r.Outdated, OutdatedLot{x, lot, b.Name(lot)})
	}
	r.MoreOutdated = len(e.Outdated) - len(r.Outdated)
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
