package books

import (
	"context"
	"time"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
)

// Sent is one of several entries that come together. Entry is nil where it was refused
// already, with Err; ID is the id that it came with, if any.
type Sent struct {
	ID    ledger.ID
	Entry *ledger.Entry
	Err   error
}

// Answer is what became of one of several entries.
type Answer struct {
	Recorded
	Err error
}

// AppendTogether is Append for several entries in their order, each of which is recorded or
// refused by itself. One that names an entry refused before it is not tried. Some tens of
// entries share a commit, and some hundreds of late ones, which are taken in together. Those that are left at the time until are refused as Busy.
func (b *Books) AppendTogether(ctx context.Context, p db.Principal, sent []Sent, until time.Time) []Answer {
	t := &together{Books: b, ctx: ctx, p: p, answers: make([]Answer, 0, len(sent)), refused: map[ledger.ID]bool{}}
	for len(t.answers) < len(sent) {
		next := sent[len(t.answers):]
		if time.Now().After(until) || ctx.Err() != nil {
			t.answer(next[0], Recorded{}, errNotBegun)
			continue
		}
		if t.several(next) == 0 {
			t.one(next[0])
		}
	}
	return t.answers
}

var errNotBegun = fault.New(fault.Busy, "There was no time left for this entry, and it was not stored. Send it again with the same id.")

// together is a request with several entries.
type together struct {
	*Books
	ctx     context.Context
	p       db.Principal
	answers []Answer
	refused map[ledger.ID]bool
}

func (t *together) answer(x Sent, r Recorded, err error) {
	if err != nil {
		t.refused[x.ID] = true
	}
	t.answers = append(t.answers, Answer{r, err})
}

// hopeless is why an entry is not tried; nil where it is.
func (t *together) hopeless(x Sent) error {
	if x.Err != nil {
		return x.Err
	}
	for id := range t.refused {
		if id != (ledger.ID{}) && id != x.ID && x.Entry.Mentions(id) {
			return fault.New(fault.RestsOnRefused, "This entry names another one sent with it (%s) that was refused. It was not tried; send it again once the other is in the book.", id.String())
		}
	}
	return nil
}

// one brings the next entry to the book by itself.
func (t *together) one(x Sent) {
	if err := t.hopeless(x); err != nil {
		t.answer(x, Recorded{}, err)
		return
	}
	r, err := t.Append(t.ctx, t.p, x.Entry)
	t.answer(x, r, err)
}

// several brings entries to the book in one commit, as far as that goes, and returns how
// many of them are answered. The book is held meanwhile, so that nobody reads what is not on
// the disk yet. Where the commit fails the book is as before, and none is answered.
func (t *together) several(sent []Sent) (answered int) {
	l, err := t.live(t.ctx, t.p.Outfit)
	if err != nil || t.db.CheckRoom() != nil || l.waitForImport(t.ctx, allOfImporting) != nil {
		return 0
	}
	defer l.importing.Release(allOfImporting)
	if t.p, err = t.refresh(t.ctx, l, t.p); err != nil {
		return 0
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	ahead := &ahead{together: t, live: l, from: l.book.Len(), answers: len(t.answers), was: map[ledger.ID]bool{}}
	if !ahead.all(sent) || !ahead.commit() {
		ahead.back()
		return 0
	}
	return len(t.answers) - ahead.answers
}

// ahead is a live book that has entries which are not stored yet.
type ahead struct {
	*together
	live    *live
	from    int64 // entries that are stored
	answers int
	was     map[ledger.ID]bool // refused before
	drafts  []*db.Draft
}

// all takes entries into the book until one has to come by itself. It returns false where
// the book cannot go on.
func (a *ahead) all(sent []Sent) (ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	for id := range a.refused {
		a.was[id] = true
	}
	for len(sent) > 0 && len(a.drafts) < mostTogether {
		if err := a.hopeless(sent[0]); err != nil {
			a.answer(sent[0], Recorded{}, err)
			sent = sent[1:]
			continue
		}
		of, err := a.next(sent)
		switch {
		case err != nil:
			a.answer(sent[0], Recorded{}, err)
			sent = sent[1:]
		case len(of) == 0:
			return true
		case !a.take(sent[:len(of)], of):
			return false
		default:
			sent = sent[len(of):]
		}
	}
	return true
}

// mostLate bounds how many late entries are taken in together: a day of a large crew.
const mostLate = 512

// next drafts the next entry, and those after it that are taken in together with it. None is
// drafted where the next one has to come by itself, and err says why it is refused.
func (a *ahead) next(sent []Sent) (of []*db.Draft, err error) {
	book, before := a.live.book, a.live.book.Last()
	if had, _ := book.Entry(sent[0].Entry.ID); had != nil {
		return nil, nil
	}
	walked := mostWalkedHeld * min(len(sent), 4) // others wait for several as long as for each of some
	late := lateIn(book)
	for i, x := range sent[:min(len(sent), mostLate)] {
		if i > 0 && (a.hopeless(x) != nil || late.n < i || !late.add(x.Entry)) {
			break
		}
		if book.Walks(x.Entry) > walked {
			break // it takes long: others read meanwhile
		}
		draft, err := a.draft(x.Entry, before, i > 0)
		if err != nil && i == 0 {
			return nil, err
		} else if err != nil {
			break // it is looked at again once those before it are in the book
		}
		if of, before = append(of, draft), draft.Entry; i == 0 {
			late.add(before)
		}
	}
	return of, nil
}

// take takes drafts in together, and reports whether the book can go on.
func (a *ahead) take(sent []Sent, of []*db.Draft) bool {
	entries := make([]*ledger.Entry, len(of))
	for i, d := range of {
		entries[i] = d.Entry
	}
	replies, err := taken(a.live.book, entries...)
	if err != nil {
		return false
	}
	a.drafts = append(a.drafts, of...)
	for i, e := range entries {
		a.answer(sent[i], Recorded{Entry: e, Reply: replies[i]}, nil)
	}
	return true
}

// draft checks an entry against the book and makes it the next one after another: recorded
// with that at one moment, or at a moment of its own.
func (a *ahead) draft(e, before *ledger.Entry, with bool) (*db.Draft, error) {
	book := a.live.book
	e.OccurredAt, e.RecordedBy = db.Microseconds(e.OccurredAt), a.p.Name
	if err := quality.Complete(book, e); err != nil {
		return nil, err
	}
	if err := allowed(book, a.p, e, a.db.Now()); err != nil {
		return nil, err
	}
	claims := book.Claims(e)
	e, content, err := ledger.ReadBack(e)
	if err != nil {
		return nil, err
	}
	e.RecordedAt, e.Number = db.Microseconds(a.db.Now()), before.Number+1
	if with {
		e.RecordedAt = before.RecordedAt
	} else if e.RecordedAt.Equal(before.RecordedAt) {
		e.RecordedAt = e.RecordedAt.Add(time.Microsecond)
	}
	e.Digest = ledger.Chain(before.Digest, e.Number, e.Canonical(content))
	return &db.Draft{Outfit: a.p.Outfit, Access: a.p.Access, Entry: e, Content: content, Claims: claims, After: e.Number - 1, Chained: true}, nil
}

// commit stores what was taken in, and reports whether all of it is stored.
func (a *ahead) commit() bool {
	if len(a.drafts) == 0 {
		return true
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(a.ctx), storeWithin)
	defer cancel()
	stored, err := a.db.Append(ctx, a.drafts)
	if err != nil {
		return false
	}
	for _, is := range stored {
		if !is {
			return false
		}
	}
	for _, answer := range a.together.answers[a.answers:] {
		if answer.Entry != nil {
			a.live.replies.add(answer.Entry.ID, answer.Reply)
		}
	}
	return true
}

// back opens the book anew as it is stored, and forgets what was answered.
func (a *ahead) back() {
	a.together.answers, a.refused = a.together.answers[:a.answers], a.was
	if a.live.book.Len() == a.from {
		return
	}
	var stored []*ledger.Entry
	for e := range a.live.book.Entries {
		if e.Number <= a.from {
			stored = append(stored, e)
		}
	}
	if book, err := ledger.Restore(a.live.book.Location(), stored); err == nil {
		a.live.turnTo(book)
		return
	}
	a.forget(a.live)
}
