package quality

import (
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// Day is the lots of a book as they are on one day, each looked at once however much is asked
// of it. It holds for as long as nothing is appended, and is for one goroutine.
type Day struct {
	book     *ledger.Book
	on       standard.Date
	climate  *Climate
	gathered map[ledger.ID]*Gathered
	evidence map[ledger.ID]*standard.Evidence
	// judged keeps answers from one day to the next that is looked at; nil keeps none.
	judged *Judged
	// lots and stores are digests of what is read of them.
	lots, stores map[ledger.ID][]byte
}

// DayOf begins to look at the lots of a book as they are on a day.
func DayOf(b *ledger.Book, on standard.Date) *Day {
	return &Day{book: b, on: on, climate: ClimateOf(b), gathered: map[ledger.ID]*Gathered{}, evidence: map[ledger.ID]*standard.Evidence{}, lots: map[ledger.ID][]byte{}, stores: map[ledger.ID][]byte{}}
}

// On is the day.
func (d *Day) On() standard.Date { return d.on }

// Gather is Gather for the day. Nobody may change what it returns.
func (d *Day) Gather(lot ledger.ID) (*Gathered, error) {
	root := d.book.Root(lot)
	if g := d.gathered[root]; g != nil {
		return g, nil
	}
	g, err := Gather(d.book, lot, d.on)
	if err == nil {
		d.gathered[root] = g
	}
	return g, err
}

// Evidence is what is known of a lot on the day, to be held against limits.
func (d *Day) Evidence(lot ledger.ID) (*standard.Evidence, error) {
	root := d.book.Root(lot)
	if e := d.evidence[root]; e != nil {
		return e, nil
	}
	g, err := d.Gather(lot)
	if err != nil {
		return nil, err
	}
	e, err := g.EvidenceOn(d.climate, d.on)
	if err == nil {
		d.evidence[root] = e
	}
	return e, err
}
