package db

import (
	"time"

	"pullbook/domain/ledger"
)

// An outfit's name, time zone and units are in its book, so that they change for a book
// that is open as they do for one that is opened: with an entry. At an earlier entry they
// are what they were then.

// as is the outfit with what its book says of it; nothing where told is nil.
func (o Outfit) as(told *ledger.OperatorOutfit) Outfit {
	if told != nil {
		o.Name, o.TimeZone, o.Units = told.Name, told.TimeZone, told.Units
	}
	return o
}

// lastTold is what the last of some entries that tells of the outfit itself says; nil
// where none does.
func lastTold(entries []*ledger.Entry) *ledger.OperatorOutfit {
	for i := len(entries) - 1; i >= 0; i-- {
		if o, ok := entries[i].Body.(*ledger.Operator); ok && o.Outfit != nil {
			return o.Outfit
		}
	}
	return nil
}

// zoneAfter is the time zone of a book's days once it has more entries. One that this
// machine does not know changes nothing.
func zoneAfter(loc *time.Location, more ...*ledger.Entry) *time.Location {
	if told := lastTold(more); told != nil && told.TimeZone != loc.String() {
		if other, err := time.LoadLocation(told.TimeZone); err == nil {
			return other
		}
	}
	return loc
}

// moves reports whether entries give the book's days another time zone, for which it has
// to be opened anew.
func (l *live) moves(more ...*ledger.Entry) bool {
	return zoneAfter(l.book.Location(), more...) != l.book.Location()
}

// settle takes over what the book's latest entries say of the outfit. The caller holds the
// book's lock. (The outfit's id stays, which others read without the lock.)
func (l *live) settle(more ...*ledger.Entry) {
	now := l.outfit.as(lastTold(more))
	l.outfit.Name, l.outfit.TimeZone, l.outfit.Units = now.Name, now.TimeZone, now.Units
}

// past gives the outfit and its book as they were at entry n. The caller holds the book's
// lock.
func (l *live) past(n int64) (Outfit, ledger.Past, error) {
	past, err := l.book.Past(n)
	if err != nil || n == l.book.Len() {
		return l.outfit, past, err
	}
	then := l.outfit.as(l.book.OutfitAsKnown(n))
	if then.TimeZone == past.Location().String() {
		return then, past, nil
	}
	if loc, err := then.Location(); err == nil {
		past = past.In(loc)
	}
	return then, past, nil
}
