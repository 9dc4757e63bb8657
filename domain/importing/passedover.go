package importing

import (
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
