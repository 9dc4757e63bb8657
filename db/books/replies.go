package books

import (
	"context"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// replies remembers the replies to the latest entries, so that a phone that sends again is
// answered without walking the book.
type replies struct {
	byID  map[ledger.ID]Reply
	order []ledger.ID
}

const mostReplies = 4096

func (r *replies) add(id ledger.ID, reply Reply) {
	if _, has := r.byID[id]; has {
		return
	}
	if r.byID == nil {
		r.byID = make(map[ledger.ID]Reply)
	}
	if len(r.order) == mostReplies {
		delete(r.byID, r.order[0])
		r.order = r.order[1:]
	}
	r.byID[id] = reply
	r.order = append(r.order, id)
}

// answerAgain answers an entry that is in the book already.
func (b *Books) answerAgain(ctx context.Context, l *live, p db.Principal, e *ledger.Entry) (Recorded, error) {
	if err := b.CheckAccess(ctx, p); err != nil {
		return Recorded{}, err
	}
	l.mu.RLock()
	had, _ := l.book.Entry(e.ID)
	l.mu.RUnlock()
	reply, err := b.replyTo(ctx, l, had)
	return Recorded{Entry: had, Reply: reply, Again: true}, err
}

// replyTo returns the reply that an entry of the book got when it was recorded.
func (b *Books) replyTo(ctx context.Context, l *live, e *ledger.Entry) (reply Reply, err error) {
	l.mu.RLock()
	reply, known := l.replies.byID[e.ID]
	_, last := momentOf(l.book, e.Number)
	_, past, err := l.past(last)
	l.mu.RUnlock()
	if known || err != nil {
		return reply, err
	}
	err = b.past.read(ctx, l.outfit.ID, past, func(then *ledger.Book) (err error) {
		reply, err = repliedThen(then, e.Number)
		return err
	})
	if err != nil {
		return reply, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.replies.add(e.ID, reply)
	return reply, nil
}

// Reply returns the reply that an entry of the outfit's book got when it was recorded; an
// empty one where the book has no such entry.
func (b *Books) Reply(ctx context.Context, p db.Principal, id ledger.ID) (Reply, error) {
	l, err := b.current(ctx, p.Outfit, &p, false)
	if err != nil {
		return Reply{}, err
	}
	l.mu.RLock()
	e, _ := l.book.Entry(id)
	l.mu.RUnlock()
	if e == nil {
		return Reply{}, nil
	}
	return b.replyTo(ctx, l, e)
}
