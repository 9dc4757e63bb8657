package bringin

import (
	"context"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// look keeps what is needed to find out what would be odd in a book with a sheet in it.
type look struct {
	loc   *time.Location
	book  []*ledger.Entry
	more  []importing.Taken
	count int  // of entries, as importing.CountsAs has it
	large bool // book and sheet are larger than what is looked at
}

func newLook(book *ledger.Book) *look {
	l := &look{loc: book.Location(), large: book.Len() > importing.MostLookedAt}
	if l.large {
		return l
	}
	l.book = make([]*ledger.Entry, 0, book.Len())
	for e := range book.Entries {
		if l.counts(e); l.large {
			break
		}
		l.book = append(l.book, e)
	}
	return l
}

// counts counts one more entry, and lets all go where that is too many.
func (l *look) counts(e *ledger.Entry) {
	if l.count += importing.CountsAs(e); l.large || l.count > importing.MostLookedAt {
		l.large, l.book, l.more = true, nil, nil
	}
}

func (l *look) each(t importing.Taken) {
	if l.counts(t.Entry); !l.large {
		l.more = append(l.more, t)
	}
}

// find finds it out of a sheet that has no problem and is not too large.
func (l *look) find(ctx context.Context, now time.Time, r *importing.Result) (err error) {
	if l.large || r.AllProblems > 0 || r.New() == 0 || ctx.Err() != nil {
		return ctx.Err()
	}
	r.Findings, err = importing.FindingsOf(l.loc, l.book, l.more, now)
	r.Looked = err == nil
	return err
}
