package books

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/hashicorp/golang-lru/v2/simplelru"
	"golang.org/x/sync/singleflight"

	"pullbook/db/gate"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// pastBooks opens books as they were known at earlier entries, for all outfits, in bounded
// memory. Others can record while a past book is opened or looked at.
type pastBooks struct {
	// places are mebibytes. A reader holds as many as the book takes, also while it is
	// opened.
	places  *gate.Gate
	opening singleflight.Group

	mu sync.Mutex
	// cached are the books last looked at, bytes what they take together.
	cached *simplelru.LRU[pastKey, cachedPast]
	bytes  int64
	// wanted counts who waits for a book or looks at it.
	wanted map[pastKey]int
}

type pastKey struct {
	outfit uuid.UUID
	number int64
	zone   string
}

type cachedPast struct {
	book  *ledger.Book
	bytes int64
}

// The memory of past books is bounded. Those that are opened and looked at take mostPlaces
// at most, of which one outfit has half. Those that are cached for the next reader take
// mostCachedPast at most. A book that takes more than an outfit's half is opened all the
// same, with no other of the outfit beside it.
const (
	mostPlaces      = 192 // MiB
	mostOfOutfit    = mostPlaces / 2
	mostByStrangers = mostPlaces / 4
	// leastPlaces bounds how many are opened at once, however small they are.
	leastPlaces    = mostPlaces / 8
	mostCachedPast = 64 << 20 // bytes
	// booksBeside is how many past books one reader may have open: the book, and two more
	// with which it is compared.
	booksBeside = 3

	// mostInLine is how many readers of one outfit may wait: fewer than its requests that
	// are served at once, so that those who record find a place.
	mostInLine  = 16
	waitForPast = 5 * time.Second
)

func newPastBooks() *pastBooks {
	s := &pastBooks{places: gate.New(mostPlaces), wanted: map[pastKey]int{}}
	s.places.MostInLine = mostInLine
	s.cached, _ = simplelru.NewLRU(1<<16, func(_ pastKey, k cachedPast) { s.bytes -= k.bytes }) // fails for no size at all only
	return s
}

// read lets f look at a past book of an outfit. f must not keep the book. read fails with
// fault.Busy where the outfit or others look at too many, and waits no longer than ctx.
func (s *pastBooks) read(ctx context.Context, outfit uuid.UUID, past ledger.Past, f func(*ledger.Book) error, beside ...gate.Share) error {
	leave, err := s.enter(ctx, outfit, past, beside...)
	if err != nil {
		return err
	}
	defer leave()
	book, err := s.book(ctx, pastKey{outfit, past.Number(), past.Location().String()}, past)
	if err != nil {
		return err
	}
	return f(book)
}

// enter takes the places that a past book of an outfit needs.
func (s *pastBooks) enter(ctx context.Context, outfit uuid.UUID, past ledger.Past, beside ...gate.Share) (leave func(), err error) {
	shares := append([]gate.Share{gate.Of(outfit.String(), mostOfOutfit)}, beside...)
	leave, err = s.places.EnterWith(ctx, waitForPast, placesOf(past, shares), shares...)
	switch err {
	case gate.ErrShare:
		err = errPastsOfOutfit
	case gate.ErrFull:
		err = errPasts
	}
	return leave, err
}

var (
	errPasts         = fault.New(fault.Busy, "People are looking at too many earlier moments of books just now. Ask again in a few seconds.")
	errPastsOfOutfit = fault.New(fault.Busy, "People are looking at too many earlier moments of this outfit's book just now. Ask again in a few seconds, and for one moment after the other.")
)

func placesOf(past ledger.Past, shares []gate.Share) int {
	n := max(leastPlaces, int(booksBeside*past.Bytes()>>20)+1)
	for _, s := range shares {
		n = min(n, s.Most)
	}
	return n
}

// book returns the cached book, or opens it, once for all who want it at the same time and
// for as long as one of them waits.
func (s *pastBooks) book(ctx context.Context, key pastKey, past ledger.Past) (*ledger.Book, error) {
	s.want(key, 1)
	for {
		if had, ok := s.get(key); ok {
			s.want(key, -1)
			return had, nil
		}
		flight := s.opening.DoChan(key.String(), func() (any, error) { return s.open(key, past) })
		select {
		case r := <-flight:
			if errors.Is(r.Err, ledger.ErrStopped) {
				continue // it was given up just before somebody wanted it again
			}
			s.want(key, -1)
			book, _ := r.Val.(*ledger.Book)
			return book, r.Err
		case <-ctx.Done():
			if s.want(key, -1) == 0 {
				<-flight // it stops at once; until then it takes memory
			}
			return nil, ctx.Err()
		}
	}
}

func (k pastKey) String() string { return fmt.Sprint(k.outfit, k.number, k.zone) }

// want counts one reader more or less who wants a book, and returns how many there are.
func (s *pastBooks) want(key pastKey, n int) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	left := s.wanted[key] + n
	if s.wanted[key] = left; left == 0 {
		delete(s.wanted, key)
	}
	return left
}

func (s *pastBooks) get(key pastKey) (*ledger.Book, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	had, ok := s.cached.Get(key)
	return had.book, ok
}

func (s *pastBooks) open(key pastKey, past ledger.Past) (book *ledger.Book, err error) {
	defer recovered(&err)
	if had, ok := s.get(key); ok {
		return had, nil // it was opened between the look for it and this
	}
	book, err = past.Open(func() bool { return s.want(key, 0) == 0 })
	if err == nil {
		s.cache(key, cachedPast{book, past.Bytes()})
	}
	return book, err
}

// cache keeps a book for the next reader, and drops those for which nobody asked longest.
func (s *pastBooks) cache(key pastKey, k cachedPast) {
	if k.bytes > mostCachedPast {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.cached.Remove(key)
	s.cached.Add(key, k)
	for s.bytes += k.bytes; s.bytes > mostCachedPast; {
		s.cached.RemoveOldest()
	}
}

// drop drops an outfit's past books from the cache, with the entries that they hold.
func (s *pastBooks) drop(outfit uuid.UUID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, key := range s.cached.Keys() {
		if key.outfit == outfit {
			s.cached.Remove(key)
		}
	}
}
