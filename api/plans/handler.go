// Package plans answers what to do next: which honey to blend with which, and which to sell to whom. It records nothing.
package plans

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"
	lru "github.com/hashicorp/golang-lru/v2"

	"pullbook/api/request"
	"pullbook/db/gate"
	"pullbook/domain/fault"
	"pullbook/domain/optimum"
)

// Handler answers the operations of the contract that are this room's.
type Handler struct {
	*request.Service
	// searching lets in one search at a time: each takes a processor for seconds, and up to 256 MiB.
	searching *gate.Gate
	// found are the latest answers that were searched for, by what was asked of which book (questionKey).
	found *lru.Cache[string, any]
}

const (
	// waitToSearch is how long a question waits for the one before it.
	waitToSearch = 15 * time.Second
	// mostWaiting is how many questions of one outfit wait.
	mostWaiting = 2
	// mostFound is how many answers are kept: a page, its picture, its sheet and its workbook show
	// one and the same.
	mostFound = 8
)

// New makes the room's handler.
func New(s *request.Service) Handler {
	found, err := lru.New[string, any](mostFound)
	if err != nil {
		panic(err) // the size is above 0
	}
	h := Handler{s, gate.New(1), found}
	h.searching.MostInLine = mostWaiting
	return h
}

// questionKey is the same for questions of the same answer: what is asked, of which entries, and when, to the hour,
// within which what the book expects of honey stays what it is.
func questionKey(outfit uuid.UUID, entries int64, at time.Time, what any) (string, error) {
	said, err := json.Marshal(what)
	return fmt.Sprintf("%T %s %d %s %s", what, outfit, entries, at.Truncate(time.Hour).Format(time.RFC3339), said), err
}

// searchOnce gives again what was found for a key, or searches for it in turn. What fails is not kept.
func searchOnce[T any](ctx context.Context, h Handler, outfit uuid.UUID, key string, find func(optimum.Effort) (*T, error)) (found *T, err error) {
	had := func() bool {
		kept, is := h.found.Get(key)
		if is {
			found = kept.(*T)
		}
		return is
	}
	if had() {
		return found, nil
	}
	err = h.search(ctx, outfit, func(most optimum.Effort) (err error) {
		if had() {
			return nil // worked out while this one waited
		}
		if found, err = find(most); err == nil {
			h.found.Add(key, found)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return found, nil
}

// search does something for an outfit that takes a processor for a while, in turn.
func (h Handler) search(ctx context.Context, outfit uuid.UUID, f func(optimum.Effort) error) error {
	if err := optimum.Ready(); err != nil {
		return err
	}
	leave, err := h.searching.Enter(ctx, waitToSearch, gate.Of(outfit.String(), 1))
	switch err {
	case nil:
		defer leave()
		from := h.Now()
		return f(optimum.Effort{Seconds: mostSeconds, Clock: func() float64 { return h.Now().Sub(from).Seconds() }})
	case gate.ErrFull, gate.ErrShare:
		return fault.New(fault.Busy, "Other plans are being worked out just now. Ask again in a minute.")
	}
	return err
}
