package books

import (
	"context"
	"errors"
	"runtime"
	"runtime/metrics"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db/gate"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

func bookOf(t *testing.T, entries []*ledger.Entry) *ledger.Book {
	t.Helper()
	b, err := ledger.Open(time.UTC, entries)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func pastOf(t *testing.T, b *ledger.Book, n int64) ledger.Past {
	t.Helper()
	p, err := b.Past(n)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// liveHeap is what the last collection found in use, in bytes.
func liveHeap() int64 {
	sample := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(sample)
	return int64(sample[0].Value.Uint64())
}

// watchHeap gives what ends the watching, and tells the most that was in use.
func watchHeap() (most func() int64) {
	ended, result := make(chan struct{}), make(chan int64)
	go func() {
		var most int64
		for {
			select {
			case <-ended:
				result <- most
				return
			case <-time.After(2 * time.Millisecond):
				most = max(most, liveHeap())
			}
		}
	}()
	return func() int64 { close(ended); return <-result }
}

// TestManyMomentsAtOnceStayWithinTheirMemory runs alone: it reads the memory of the whole
// process, in which other tests work too.
func TestManyMomentsAtOnceStayWithinTheirMemory(t *testing.T) {
	// Every 25th who is sent away asks again until there is an answer.
	const asked, length, insist = 500, 20_000, 25
	b := bookOf(t, ledgertest.Large(length, 1))
	s := newPastBooks()
	outfits := []uuid.UUID{uuid.New(), uuid.New(), uuid.New(), uuid.New()}
	runtime.GC()
	before := liveHeap()
	most := watchHeap()
	var all sync.WaitGroup
	answers := make(chan error, asked)
	for i := range asked {
		past := pastOf(t, b, length-int64(i)-1)
		all.Go(func() {
			read := func() error {
				return s.read(t.Context(), outfits[i%len(outfits)], past, func(then *ledger.Book) error {
					if then.Len() != past.Number() || !then.State().Totals().Balanced() {
						t.Errorf("as known at %d the book has %d entries", past.Number(), then.Len())
					}
					return nil
				})
			}
			err := read()
			for i%insist == 0 && fault.CodeOf(err) == fault.Busy {
				time.Sleep(100 * time.Millisecond)
				err = read()
			}
			answers <- err
		})
	}
	all.Wait()
	close(answers)
	grown, stated := most()-before, int64(mostPlaces<<20+mostCachedPast)
	served := 0
	for err := range answers {
		if err == nil {
			served++
		} else if fault.CodeOf(err) != fault.Busy {
			t.Errorf("one is told %v", err)
		}
	}
	t.Logf("%d of %d are served; %d MiB more are in use at most, %d MiB are stated", served, asked, grown>>20, stated>>20)
	if grown > stated {
		t.Errorf("%d MiB more are in use, and %d are stated", grown>>20, stated>>20)
	}
	if served < asked/insist {
		t.Errorf("%d of %d are served", served, asked)
	}
	s.allFree(t)
}

// allFree fails where a place is taken or more is kept than may be.
func (s *pastBooks) allFree(t *testing.T) {
	t.Helper()
	leave, err := s.places.EnterWith(t.Context(), 0, mostPlaces, gate.Of("all", mostPlaces))
	if err != nil {
		t.Fatalf("places are lost: %v", err)
	}
	leave()
	s.mu.Lock()
	defer s.mu.Unlock()
	var bytes int64
	for _, k := range s.cached.Values() {
		bytes += k.bytes
	}
	if bytes != s.bytes || bytes > mostCachedPast || len(s.wanted) != 0 {
		t.Errorf("kept are %d bytes, counted as %d; %d are wanted", bytes, s.bytes, len(s.wanted))
	}
}

func TestOneMomentIsOpenedOnceForAllWhoAsk(t *testing.T) {
	t.Parallel()
	b := bookOf(t, ledgertest.Large(2_000, 1))
	s, outfit := newPastBooks(), uuid.New()
	past := pastOf(t, b, 1_500)
	opened := make(chan *ledger.Book, mostInLine)
	var all sync.WaitGroup
	for range mostInLine {
		all.Go(func() {
			err := s.read(t.Context(), outfit, past, func(then *ledger.Book) error { opened <- then; return nil })
			if err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	first := <-opened
	for range mostInLine - 1 {
		if another := <-opened; another != first {
			t.Error("the same moment is opened twice")
		}
	}
	if another, err := s.open(pastKey{outfit, 1_500, "UTC"}, past); err != nil || another != first {
		t.Errorf("who looked for it just before it was there opens it again: %v", err)
	}
	s.drop(outfit)
	if _, kept := s.get(pastKey{outfit, 1_500, "UTC"}); kept || s.bytes != 0 {
		t.Errorf("a book that was let go is kept, or counted: %d bytes", s.bytes)
	}
	s.allFree(t)
}

func TestReadersOfOneOutfitLeavePlacesForOthers(t *testing.T) {
	t.Parallel()
	b := bookOf(t, ledgertest.Large(300, 1))
	s, greedy, other := newPastBooks(), uuid.New(), uuid.New()
	hold, inside := make(chan struct{}), make(chan struct{})
	var all sync.WaitGroup
	for i := range mostOfOutfit / leastPlaces {
		all.Go(func() {
			err := s.read(t.Context(), greedy, pastOf(t, b, int64(i)), func(*ledger.Book) error { inside <- struct{}{}; <-hold; return nil })
			if err != nil {
				t.Error(err)
			}
		})
		<-inside
	}
	read := func(*ledger.Book) error { return nil }
	if err := s.read(t.Context(), other, pastOf(t, b, 250), read); err != nil {
		t.Errorf("the other outfit is told %v", err)
	}
	// One that waits leaves, and so makes room in the line.
	leaving, leave := context.WithCancel(t.Context())
	left := make(chan error, mostInLine)
	for range mostInLine {
		go func() { left <- s.read(leaving, greedy, pastOf(t, b, 250), read) }()
	}
	err := s.read(t.Context(), greedy, pastOf(t, b, 251), read)
	if err != errPastsOfOutfit {
		t.Errorf("one more than its share of the same outfit: %v", err)
	}
	leave()
	for range mostInLine {
		if err := <-left; err != context.Canceled && err != errPastsOfOutfit {
			t.Errorf("who left is told %v", err)
		}
	}
	close(hold)
	all.Wait()
	s.allFree(t)
}

func TestABookThatNobodyWaitsForIsNotOpenedToTheEnd(t *testing.T) {
	t.Parallel()
	b := bookOf(t, ledgertest.Large(20_000, 1))
	past := pastOf(t, b, 19_999)
	if _, err := past.Open(func() bool { return true }); !errors.Is(err, ledger.ErrStopped) {
		t.Fatalf("it is opened all the same: %v", err)
	}
	s, outfit := newPastBooks(), uuid.New()
	for range 20 {
		ctx, leave := context.WithCancel(t.Context())
		answer := make(chan error)
		go func() { answer <- s.read(ctx, outfit, past, func(*ledger.Book) error { return nil }) }()
		leave()
		if err := <-answer; err != nil && !errors.Is(err, context.Canceled) {
			t.Fatal(err)
		}
	}
	s.allFree(t)
	if err := s.read(t.Context(), outfit, past, func(*ledger.Book) error { return nil }); err != nil {
		t.Errorf("after all who left, one who stays is told %v", err)
	}
}
