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
}

// How much of it a reply lists. The report of what is superseded has all.
const (
	mostSuperseded = 20
	mostFigures    = 10
)

// taken takes the book's next entry in. The caller holds the book's lock.
func taken(b *ledger.Book, e *ledger.Entry) (Reply, error) {
	resting := trace.RestingOn(b, e)
	effect, err := b.Append(e)
	if err != nil {
		return Reply{}, err
	}
	return replied(b, effect, resting), nil
}

// replied puts an entry's effect into words. b is the book right after it.
func replied(b *ledger.Book, effect ledger.Effect, resting *trace.Resting) Reply {
	r := Reply{Reply: season.ReplyTo(b, effect)}
	superseded := resting.Superseded(b)
	r.Superseded = superseded[:min(len(superseded), mostSuperseded)]
	r.MoreSuperseded, r.SupersededUnfinished = len(superseded)-len(r.Superseded), resting.Unfinished
	for i := range r.Superseded {
		x := &r.Superseded[i]
		x.Changes = x.Changes[:min(len(x.Changes), mostFigures)]
	}
	return r
}

// repliedThen is the reply that entry n had when it was recorded: the book of that moment
// is made again and the entry appended to it.
func repliedThen(b *ledger.Book, n int64) (Reply, error) {
	then, err := b.AsKnown(n - 1)
	if err != nil {
		return Reply{}, err
	}
	return taken(then, b.Numbered(n))
}
