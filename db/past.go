package db

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

// pasts opens books as they were known at earlier entries, for all outfits, in bounded
// memory. While one is opened or looked at, nobody is kept from recording.
type pasts struct {
	// places are mebibytes. Who looks at a book holds as many as it takes, also while it
	// is opened.
	places  *gate.Gate
	opening singleflight.Group

	mu sync.Mutex
	// kept are the books last looked at, bytes what they take together.
	kept  *simplelru.LRU[pastKey, keptPast]
	bytes int64
	// wanted counts who waits for a book or looks at it.
	wanted map[pastKey]int
}

type pastKey struct {
	outfit uuid.UUID
	number int64
	zone   string
}

type keptPast struct {
	book  *ledger.Book
	bytes int64
}

// What earlier books take is bounded: those that are opened and looked at by mostPlaces,
// of which one outfit has half, and those that are kept for the next who asks by
// mostKeptPast. A book that takes more than an outfit's half is opened all the same, with
// no other of the outfit beside it.
const (
	mostPlaces   = 192 // MiB
	mostOfOutfit = mostPlaces / 2
	mostBySheets = mostPlaces / 4
	// leastPlaces bounds how many are opened at once, however small they are.
	leastPlaces  = mostPlaces / 8
	mostKeptPast = 64 << 20 // bytes
	// booksBeside is how many books one who looks at an earlier one may have open: the
	// book, and two more that it is compared with.
	booksBeside = 3

	// pastsInLine is how many of one outfit may wait, fewer than its requests that are
	// served at once, so that those who record find a place.
	pastsInLine = 16
	waitForPast = 5 * time.Second
)

func newPasts() *pasts {
	s := &pasts{places: gate.New(mostPlaces), wanted: map[pastKey]int{}}
	s.places.MostInLine = pastsInLine
	s.kept, _ = simplelru.NewLRU(1<<16, func(_ pastKey, k keptPast) { s.bytes -= k.bytes }) // fails for no size at all only
	return s
}

// read lets f look at an earlier book of an outfit. f must not keep it. It fails with
// fault.Busy where too many are looked at, by the outfit or by others, and ends to wait
// when ctx does.
func (s *pasts) read(ctx context.Context, outfit uuid.UUID, past ledger.Past, f func(*ledger.Book) error, beside ...gate.Share) error {
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

// enter takes the places that an earlier book of an outfit needs.
func (s *pasts) enter(ctx context.Context, outfit uuid.UUID, past ledger.Past, beside ...gate.Share) (leave func(), err error) {
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
	errPasts         = fault.New(fault.Busy, "Too many earlier moments of books are being looked at just now. Ask again in a few seconds.")
	errPastsOfOutfit = fault.New(fault.Busy, "Too many earlier moments of this outfit's book are being looked at just now. Ask again in a few seconds, and for one moment after the other.")
)

func placesOf(past ledger.Past, shares []gate.Share) int {
	n := max(leastPlaces, int(booksBeside*past.Bytes()>>20)+1)
	for _, s := range shares {
		n = min(n, s.Most)
	}
	return n
}

// book gives the book that is kept, or opens it, once for all who want it at the same
// time and for as long as one of them waits.
func (s *pasts) book(ctx context.Context, key pastKey, past ledger.Past) (*ledger.Book, error) {
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

// want counts one who wants a book more or less, and gives how many there are.
func (s *pasts) want(key pastKey, n int) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	left := s.wanted[key] + n
	if s.wanted[key] = left; left == 0 {
		delete(s.wanted, key)
	}
	return left
}

func (s *pasts) get(key pastKey) (*ledger.Book, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	had, ok := s.kept.Get(key)
	return had.book, ok
}

func (s *pasts) open(key pastKey, past ledger.Past) (book *ledger.Book, err error) {
	defer unpanicked(&err)
	book, err = past.Open(func() bool { return s.want(key, 0) == 0 })
	if err == nil {
		s.keep(key, keptPast{book, past.Bytes()})
	}
	return book, err
}

// keep keeps a book for the next who asks, and lets go of those that nobody asked for
// longest.
func (s *pasts) keep(key pastKey, k keptPast) {
	if k.bytes > mostKeptPast {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.kept.Remove(key)
	s.kept.Add(key, k)
	for s.bytes += k.bytes; s.bytes > mostKeptPast; {
		s.kept.RemoveOldest()
	}
}

// drop lets go of an outfit's earlier books, with the entries that they hold.
func (s *pasts) drop(outfit uuid.UUID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, key := range s.kept.Keys() {
		if key.outfit == outfit {
			s.kept.Remove(key)
		}
	}
}
