package importing

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// askNotThere asks about a reading of a container before it was filled, or after it left: its
// number may have been another one's then. A sample that was kept is read later, which is said by
// the number itself.
func (k *taking) askNotThere(on ledger.Place, at time.Time) {
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

// measuredOn is what a reading is of. A row may name a container with its own lot and tank;
// of others that it names, which one was measured is asked.
func (k *taking) measuredOn(at time.Time) (on ledger.Place, err error) {
	var first *column
	for _, place := range [...]struct {
		field Field
		kind  ledger.PlaceKind
	}{{FieldContainer, ledger.PlaceContainer}, {FieldLot, ledger.PlaceLot}, {FieldTank, ledger.PlaceTank}} {
		id, given, err := k.name(place.field, at)
		if err != nil {
			return on, err
		}
		c := k.columns[place.field]
		switch {
		case !given, first != nil && (c.index < 0 || first.index < 0 || k.wide != nil):
		case on.Kind == "":
			on, first = ledger.Place{Kind: place.kind, ID: id}, c
		case on.Kind != ledger.PlaceContainer || !k.isOfContainer(on.ID, id):
			k.problemOnce(TwoValues, c, message.F("Columns %s and %s both say what was measured, and a reading is of one thing: say which of the two columns is not to be read.",
				columnName(first.Column.Column, first.Heading), columnName(c.Column.Column, c.Heading)))
		}
	}
	return on, nil
}

// isOfContainer reports whether a container was filled from a tank, or is of a lot.
func (k *taking) isOfContainer(container, other ledger.ID) bool {
	f := ledger.Named[ledger.Fill](k.book, container)
	return f != nil && (k.book.Root(f.LotID) == other || k.book.Root(f.TankID) == other)
}
