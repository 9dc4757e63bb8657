package books

import (
	"time"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// An outfit's name, time zone, units, decimal mark and weights of blends are in its book. So they change with
// an entry, for a book that is open and for one that is opened alike. As known at an earlier
// entry they are what they were then.

// withSettings returns the outfit with the settings that its book tells; unchanged where
// told is nil.
func withSettings(o db.Outfit, told *ledger.OperatorOutfit) db.Outfit {
	if told != nil {
		o.Name, o.TimeZone, o.Units, o.DecimalMark, o.BlendWeights = told.Name, told.TimeZone, told.Units, told.DecimalMark, told.BlendWeights
	}
	return o
}

// lastSettings returns the settings of the last entry that tells of them; nil where none
// does.
func lastSettings(entries []*ledger.Entry) *ledger.OperatorOutfit {
	for i := len(entries) - 1; i >= 0; i-- {
		if o, ok := entries[i].Body.(*ledger.Operator); ok && o.Outfit != nil {
			return o.Outfit
		}
	}
	return nil
}

// zoneAfter returns the time zone of a book's days once it has more entries. A zone that
// this machine does not know changes nothing.
func zoneAfter(loc *time.Location, more ...*ledger.Entry) *time.Location {
	if told := lastSettings(more); told != nil && told.TimeZone != loc.String() {
		if other, err := time.LoadLocation(told.TimeZone); err == nil {
			return other
		}
	}
	return loc
}

// changesZone reports whether entries give the book's days another time zone. The book has
// to be opened anew then.
func (l *live) changesZone(more ...*ledger.Entry) bool {
	return zoneAfter(l.book.Location(), more...) != l.book.Location()
}

// takeSettings takes over the settings that the book's latest entries tell. The caller
// holds the book's lock. (The outfit's id stays: others read it without the lock.)
func (l *live) takeSettings(more ...*ledger.Entry) {
	now := withSettings(l.outfit, lastSettings(more))
	l.outfit.Name, l.outfit.TimeZone, l.outfit.Units = now.Name, now.TimeZone, now.Units
	l.outfit.DecimalMark, l.outfit.BlendWeights = now.DecimalMark, now.BlendWeights
}

// past returns the outfit and its book as they were at entry n. The caller holds the
// book's lock.
func (l *live) past(n int64) (db.Outfit, ledger.Past, error) {
	past, err := l.book.Past(n)
	if err != nil || n == l.book.Len() {
		return l.outfit, past, err
	}
	then := withSettings(l.outfit, l.book.OutfitAsKnown(n))
	then.DecimalMark = l.outfit.DecimalMark // the spreadsheets are those that it has now
	if then.TimeZone == past.Location().String() {
		return then, past, nil
	}
	if loc, err := then.Location(); err == nil {
		past = past.In(loc)
	}
	return then, past, nil
}
