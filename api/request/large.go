package request

import (
	"context"
	"net/http"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/db/gate"
	"pullbook/domain/fault"
)

// Patience lets an answer go on for as long as its reader takes some of it
// within the time that a request may take. It is called after each part.
func (s *Service) Patience(ctx echo.Context) func() error {
	controller := http.NewResponseController(ctx.Response())
	return func() error {
		until := time.Now().Add(s.RequestTimeout)
		if err := controller.SetWriteDeadline(until); err != nil {
			return err
		}
		return controller.SetReadDeadline(time.Time{})
	}
}

// largeAnswers bounds how many large documents are made and sent at once: archives
// and workbooks. Each holds files or a connection to the database for as long as its
// reader takes, so that no outfit may have them all.
type largeAnswers struct{ places *gate.Gate }

const (
	mostLarge         = 4
	mostLargeOfOutfit = 2
	// waitForLarge is how long one waits for a place before it is asked to come again.
	waitForLarge = 5 * time.Second
)

func newLargeAnswers() largeAnswers { return largeAnswers{gate.New(mostLarge)} }

// Enter takes a place for an outfit's document, and gives the function that leaves
// it. An outfit that has all of its own is told so at once.
func (l largeAnswers) Enter(ctx context.Context, outfit uuid.UUID) (leave func(), err error) {
	own := gate.Of(outfit.String(), mostLargeOfOutfit)
	if leave, err = l.places.Enter(ctx, 0, own); err == gate.ErrFull {
		leave, err = l.places.Enter(ctx, waitForLarge, own)
	}
	switch err {
	case nil:
		return leave, nil
	case gate.ErrShare:
		return nil, fault.New(fault.Busy, "The service is already sending this outfit %s archives or workbooks. Ask again once one of them has arrived.", mostLargeOfOutfit)
	}
	return nil, fault.New(fault.Busy, "The service is sending too many archives and workbooks just now. Ask again in a while.")
}
