package books

import (
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

// Reply is what the book answers to an entry.
type Reply struct {
	season.Reply
	// Superseded are the first of the dispatches, checks and sheets whose figures the entry
	// changed, each with the first of those, and MoreSuperseded says how many more there
	// are. SupersededUnfinished says that there was too much to look at for a reply.
	Superseded           []trace.Superseding
	MoreSuperseded       int
	SupersededUnfinished bool
	// First and Last are the numbers of the entries with which it was taken in together, so
	// that all else of the reply is what they changed together. They are zero for nearly all.
	First, Last int64
}

// How much of it a reply lists. The report of what is superseded has all.
const (
	mostSuperseded = 20
	mostFigures    = 10
	mostThrough    = 20
)

// fewWalked is how many facts of the line are walked again for an entry at most that is not
// late enough to be taken in together with those that come with it.
const fewWalked = 16

// latecomers are entries that are taken in together: the first of them is late, and all gather.
type latecomers struct {
	book *ledger.Book
	// of is nil before the first.
	of *ledger.Gathering
	n  int
}

func lateIn(b *ledger.Book) latecomers { return latecomers{book: b} }

// add reports whether an entry is one of them, and adds it if so.
func (l *latecomers) add(e *ledger.Entry) bool {
	if l.of == nil {
		if l.book.Walks(e) <= fewWalked {
			return false
		}
		l.of = l.book.Gather()
	}
	if !l.of.Add(e) {
		return false
	}
	l.n++
	return true
}

// gather reports whether entries are taken in together.
func gather(b *ledger.Book, entries []*ledger.Entry) bool {
	late := lateIn(b)
	for _, e := range entries {
		if !late.add(e) {
			return false
		}
	}
	return true
}

// atOneMoment reports whether two entries were recorded at one moment.
func atOneMoment(a, b *ledger.Entry) bool { return a.RecordedAt.Equal(b.RecordedAt) }

// taken takes the book's next entries in, which were recorded at one moment: together where
// they gather. The caller holds the book's lock. Where it fails, the first of them are in the
// book or it is of no use any more.
func taken(b *ledger.Book, entries ...*ledger.Entry) (replies []Reply, err error) {
	if len(entries) > 1 && !gather(b, entries) {
		return takenApart(b, entries)
	}
	resting := trace.RestingOn(b, entries...)
	effects, err := b.AppendTogether(entries...)
	if err != nil {
		return nil, err
	}
	return replied(b, effects, resting), nil
}

func takenApart(b *ledger.Book, entries []*ledger.Entry) (replies []Reply, err error) {
	for _, e := range entries {
		reply, err := taken(b, e)
		if err != nil {
			return nil, err
		}
		replies = append(replies, reply...)
	}
	return replies, nil
}

// replied puts the effects of entries that were taken in together into words. b is the book
// right after them.
func replied(b *ledger.Book, effects []ledger.Effect, resting *trace.Resting) []Reply {
	var all Reply
	superseded := resting.Superseded(b)
	all.Superseded = superseded[:min(len(superseded), mostSuperseded)]
	all.MoreSuperseded, all.SupersededUnfinished = len(superseded)-len(all.Superseded), resting.Unfinished
	for i := range all.Superseded {
		x := &all.Superseded[i]
		x.Changes, x.Through = x.Changes[:min(len(x.Changes), mostFigures)], x.Through[:min(len(x.Through), mostThrough)]
	}
	if n := len(effects); n > 1 {
		all.First, all.Last = effects[0].Entry.Number, effects[n-1].Entry.Number
	}
	out := make([]Reply, len(effects))
	for i, reply := range season.RepliesTo(b, effects) {
		out[i] = all
		out[i].Reply = reply
	}
	return out
}

// momentOf is the number of the first and the last entry of a book that were recorded at the
// moment of one of them; that one's own where there are more than are taken in together, as
// of an import.
func momentOf(b *ledger.Book, n int64) (first, last int64) {
	at := b.Numbered(n).RecordedAt
	for first = n; first > 1 && n-first < mostLate && b.Numbered(first-1).RecordedAt.Equal(at); {
		first--
	}
	for last = n; last < b.Len() && last-first < mostLate && b.Numbered(last+1).RecordedAt.Equal(at); {
		last++
	}
	if last-first >= mostLate {
		return n, n
	}
	return first, last
}

// repliedThen is the reply that entry n had when it was recorded: the book of that moment
// is made again, and what was taken in then is appended to it.
func repliedThen(b *ledger.Book, n int64) (Reply, error) {
	var entries []*ledger.Entry
	first, last := momentOf(b, n)
	for k := first; k <= last; k++ {
		entries = append(entries, b.Numbered(k))
	}
	if len(entries) > 1 {
		then, err := b.AsKnown(first - 1)
		if err != nil {
			return Reply{}, err
		}
		if gather(then, entries) {
			replies, err := taken(then, entries...)
			if err != nil {
				return Reply{}, err
			}
			return replies[n-first], nil
		}
	}
	then, err := b.AsKnown(n - 1)
	if err != nil {
		return Reply{}, err
	}
	replies, err := taken(then, b.Numbered(n))
	if err != nil {
		return Reply{}, err
	}
	return replies[0], nil
}
