package importing

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// wasElsewhere asks about a reading of a container before it was filled, or after it left: its
// number may have been another one's then. A sample that was kept is read later, which is said by
// the number itself.
func (k *taking) wasElsewhere(on ledger.Place, at time.Time) {
	if on.Kind != ledger.PlaceContainer || k.bad {
		return
	}
	c, day := k.columns[FieldContainer], k.dayOf(at)
	if e := k.book.InForce(on.ID); e != nil && k.dayOf(e.OccurredAt) > day {
		k.problem(TwoValues, c, message.F("The book's container %s was filled on %s, after this day: put right which one is wrong.", k.book.Name(on.ID), message.Day(e.OccurredAt.In(k.book.Location()))))
		return
	}
	h, _ := k.book.State().Holder(on.ID)
	if h.Gone == nil || k.dayOf(h.Gone.OccurredAt) >= day {
		return
	}
	if _, said := k.choices[NounContainer][sameName(k.text(FieldContainer))]; !said {
		name := k.book.Name(on.ID)
		k.problem(UnknownName, c, message.F("The book's container %s left on %s, before this day. Was a sample of it kept? Then say that it is this one%s; else put the number right.",
			name, message.Day(h.Gone.OccurredAt.In(k.book.Location())), message.Option("is")), name)
	}
}
