package importing

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// passedOver asks about a figure or name of the row at hand that stands in a column which is
// read and that nothing looked at, as a sample's temperature where the row has no moisture: it
// would be lost without a word.
func (k *taking) passedOver() {
	if k.wide != nil || k.bad {
		return
	}
	for _, c := range k.columns {
		if c.index < 0 || c.looked == k.row || c.info.measure == words || tables.Missing(k.itself(c)) {
			continue
		}
		k.problemOnce(MissingField, c, message.F("What column %s says here would not be stored, since the row is without what it belongs to: fill that in, empty the cell, or leave the column unread.", columnName(c.Column.Column, c.Heading)))
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
